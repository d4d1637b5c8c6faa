package dicomio

import (
	"context"
	"errors"
	"image"
	"io"
	"time"
)

// The two kinds of fault, for errors.Is: a file that breaks its own format, and
// a file that is in order but of a kind this package does not read.
var (
	ErrMalformed   = errors.New("malformed")
	ErrUnsupported = errors.New("unsupported")
)

// Film is one radiograph: pixels and what the file says of them.
type Film struct {
	Path   string
	SHA256 string // of the file's bytes, lower-case hex
	Format string // "DICOM", "PNG" or "TIFF"

	Pixels      *image.Gray16 // bone bright; the stored values, mirrored in their range for MONOCHROME1
	Bits        int           // bits stored
	Photometric string        // "MONOCHROME1" or "MONOCHROME2"

	TransferSyntax string // UID, DICOM only
	Modality       string
	PatientCode    string    // Patient ID (0010,0020)
	Date           time.Time // acquisition date, else study date, else zero; UTC midnight
	DateSource     string    // "acquisition", "study", "content" or ""
	Laterality     string    // "R", "L" or ""
	View           string    // View Position (0018,5101)
	Geometry       Geometry
}

// Geometry holds every statement of scale in the file, kept apart. Zero means
// not stated. Pairs are row spacing (between rows), column spacing, in mm.
type Geometry struct {
	Imager        [2]float64 // Imager Pixel Spacing (0018,1164), at the detector
	Pixel         [2]float64 // Pixel Spacing (0028,0030)
	PixelKind     string     // Pixel Spacing Calibration Type (0028,0A02): "GEOMETRY", "FIDUCIAL" or ""
	Scan          [2]float64 // resolution of a scanned film (PNG pHYs, TIFF 282/283)
	SourceImage   float64    // Distance Source to Detector (0018,1110)
	SourcePatient float64    // Distance Source to Patient (0018,1111)
	Magnification float64    // Estimated Radiographic Magnification Factor (0018,1114)
}

// Spacing returns the best statement of mm per pixel and its name: "imager",
// "pixel", "scan", or 0 and "".
func (g Geometry) Spacing() (mm float64, kind string) { return 0, "" }

// Open reads a film. Errors are one line, name the file, and wrap ErrMalformed
// or ErrUnsupported where the content is at fault.
func Open(path string) (*Film, error) { return nil, errors.New("dicomio: Open is being written") }

// OpenAll opens films in parallel. films[i] or errs[i] is set for paths[i].
// progress may be nil; it is called with the number done, from one goroutine at a time.
func OpenAll(ctx context.Context, paths []string, progress func(done int)) (films []*Film, errs []error) {
	return nil, nil
}

// Expand replaces folders by the files in them that may be films, in name order.
func Expand(paths []string) ([]string, error) { return paths, nil }

// Write writes f as an uncompressed explicit little endian Digital X-Ray object.
func Write(w io.Writer, f *Film) error { return errors.New("dicomio: Write is being written") }

// WriteStoredPNG writes the stored values, bit for bit, as a 16-bit grey PNG.
func (f *Film) WriteStoredPNG(w io.Writer) error {
	return errors.New("dicomio: WriteStoredPNG is being written")
}
