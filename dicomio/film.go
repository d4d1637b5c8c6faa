package dicomio

import (
	"image"
	"time"
)

// Film is one radiograph: pixels and what the file says of them.
type Film struct {
	Path   string
	SHA256 string // of the file's bytes, lower-case hex
	Key    string // PixelKey of the picture as the file holds it, where it was taken before the picture was changed
	Format string // "DICOM", "PNG", "TIFF", "JPEG", "JPEG 2000" or "BMP"

	Pixels      *image.Gray16 // the stored values, mirrored in their range where the file wants the higher ones darker
	Rows        int
	Columns     int
	Frames      int    // in the file
	Frame       int    // the one in Pixels, from 1
	Bits        int    // bits stored
	Allocated   int    // bits that a pixel takes in the file, DICOM only
	HighBit     int    // the highest bit stored, DICOM only
	Signed      bool   // stored values are two's complement; Pixels holds value + 2^(Bits-1)
	Photometric string // "MONOCHROME1" or "MONOCHROME2"

	TransferSyntax string // UID, DICOM only
	Lossy          bool   // compressed with loss, now or once
	Modality       string
	PatientCode    string    // Patient ID (0010,0020)
	Date           time.Time // acquisition date, else study date, else content date, else zero; UTC midnight
	DateSource     string    // "acquisition", "study", "content" or ""
	Dates          []Dated   // every usable date, Date first
	Laterality     string    // "R", "L" or ""
	View           string    // View Position (0018,5101)
	Views          []Viewed  // what else it says of how it was taken; see Projection
	Parts          []Shown   // every statement of what it shows
	Orientation    [2]string // Patient Orientation (0020,0020): where rows and columns run to; see Upright
	BurnedIn       string    // Burned In Annotation (0028,0301): "YES", "NO" or ""
	Geometry       Geometry
	Field          Field // what the collimator left open
	Greys          Greys
	CharacterSets  []string // Specific Character Set (0008,0005), as stated

	Turned string // the Patient Orientation by which Upright turned or mirrored it, "" where it did not

	turned    int  // orientation that Pixels were turned by, 0 for none
	moved     bool // the dates were, to hide them
	inColours bool // a PNG or JPEG is not stored as plain grey
	moving    bool // Frames are no films of their own

	Warnings []*Fault // statements of the file that could not be used
}

// Dated is one date of a file.
type Dated struct {
	Date   time.Time
	Source string // as Film.DateSource
}

// Stored returns the stored value of the pixel in column x and row y.
func (f *Film) Stored(x, y int) int {
	return signed(f.Pixels.Gray16At(x, y).Y^f.flip(), f.Bits, f.Signed)
}

// flip is the pattern that turns a stored value into a grey value and back.
// Mirroring in the range of the bits is the exclusive or with all of them, and
// the offset of a signed value is the exclusive or with its sign.
func (f *Film) flip() uint16 { return flip(f.Bits, f.mirrored(), f.Signed) }

func flip(bits int, mirrored, signed bool) (p uint16) {
	if mirrored {
		p = mask(bits)
	}
	if signed {
		p ^= 1 << (bits - 1)
	}
	return p
}

// mask has the low bits set.
func mask(bits int) uint16 { return uint16(1<<bits - 1) }

// signed reads a bit pattern as the number it stands for.
func signed(pattern uint16, bits int, twos bool) int {
	if twos && pattern>>(bits-1) != 0 {
		return int(pattern) - 1<<bits
	}
	return int(pattern)
}
