package dicomio

import (
	"math"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// Geometry holds every statement of scale in the file, kept apart. Zero means
// not stated. Pairs are row spacing (between rows), column spacing, in mm.
type Geometry struct {
	Imager        [2]float64 // Imager Pixel Spacing (0018,1164), at the detector
	Pixel         [2]float64 // Pixel Spacing (0028,0030)
	PixelKind     string     // Pixel Spacing Calibration Type (0028,0A02): "GEOMETRY", "FIDUCIAL" or ""
	Ratio         [2]float64 // Pixel Aspect Ratio (0028,0034): vertical, horizontal; no lengths
	Scan          [2]float64 // resolution of a scanned film (PNG pHYs, TIFF 282/283, JFIF density, Nominal Scanned Pixel Spacing (0018,2010))
	SourceImage   float64    // Distance Source to Detector (0018,1110)
	SourcePatient float64    // Distance Source to Patient (0018,1111)
	Magnification float64    // Estimated Radiographic Magnification Factor (0018,1114)

	shape [2]float64 // of the pixels, by a spacing that cannot be true
}

// Spacing returns the best statement of mm per pixel and its name: "imager",
// "pixel", "scan", or 0 and "".
//
// Pixel Spacing comes first where it was calibrated for the depth of the
// patient, that is where it has a calibration type or differs from the spacing
// at the detector (PS3.3 10.7.1.3). For pixels that are not square the value is
// the column spacing, along a row; see Aspect.
func (g Geometry) Spacing() (mm float64, kind string) {
	pair, kind := g.best()
	return pair[1], kind
}

// Detector returns mm per pixel at the detector, 0 where it is not known or was
// calibrated for the depth of the patient.
func (g Geometry) Detector() float64 {
	mm, kind := g.Spacing()
	switch {
	case kind != "pixel":
		return mm
	case g.Imager[1] > 0:
		return g.Imager[1]
	case g.PixelKind == "":
		return mm
	}
	return 0
}

// Aspect returns row spacing over column spacing of the statement that Spacing
// uses, or else Ratio, or that of a spacing which is not used; 1 for square pixels and
// where nothing is stated.
func (g Geometry) Aspect() float64 {
	pair, kind := g.best()
	if kind == "" {
		pair = g.Ratio
		if !stated(pair) {
			pair = g.shape
		}
	}
	if !stated(pair) {
		return 1
	}
	return pair[0] / pair[1]
}

func (g Geometry) best() (pair [2]float64, kind string) {
	calibrated := g.PixelKind != "" || stated(g.Imager) && g.Pixel != g.Imager
	switch {
	case stated(g.Pixel) && calibrated:
		return g.Pixel, "pixel"
	case stated(g.Imager):
		return g.Imager, "imager"
	case stated(g.Pixel):
		return g.Pixel, "pixel"
	case stated(g.Scan):
		return g.Scan, "scan"
	}
	return pair, ""
}

// spacing is one of the spacings of a film and the attribute that states it.
type spacing struct {
	name string
	pair *[2]float64
}

// spacings are those of a film of a format, stated or not.
func (g *Geometry) spacings(format string) []spacing {
	scan := name(tag.NominalScannedPixelSpacing)
	if format != "DICOM" {
		scan = "resolution of the " + format
	}
	return []spacing{
		{name(tag.ImagerPixelSpacing), &g.Imager},
		{name(tag.PixelSpacing), &g.Pixel},
		{scan, &g.Scan},
	}
}

// pairs are all statements of the shape of the pixels.
func (g *Geometry) pairs() []*[2]float64 {
	return []*[2]float64{&g.Imager, &g.Pixel, &g.Ratio, &g.Scan, &g.shape}
}

// flat is the spacing at the plane of the film, which Pixel Spacing is compared with.
func (g *Geometry) flat(format string) (s spacing, ok bool) {
	all := g.spacings(format)
	for _, s := range []spacing{all[0], all[2]} {
		if stated(*s.pair) {
			return s, true
		}
	}
	return s, false
}

func stated(pair [2]float64) bool { return pair[0] > 0 && pair[1] > 0 }

// usable reports whether v can be a length or a factor.
func usable(v float64) bool { return v > 0 && !math.IsInf(v, 0) }
