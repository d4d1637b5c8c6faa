package source

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
	"linerwatch/dicomio"
)

// Which statement of scale is used, and why (PS3.3 10.7.1.3).
func TestSpacings(t *testing.T) {
	at := func(mm float64) [2]float64 { return [2]float64{mm, mm} }
	imager := func(used bool) study.Spacing {
		return study.Spacing{Kind: "imager", Name: imagerName, Row: 0.15, Column: 0.15, Used: used}
	}
	pixel := func(mm float64, kind string, used bool) study.Spacing {
		return study.Spacing{Kind: kind, Name: pixelName, Row: mm, Column: mm, Used: used}
	}
	for _, c := range []struct {
		name    string
		g       dicomio.Geometry
		want    []study.Spacing
		reason  string
		checked string
	}{
		{"none", dicomio.Geometry{}, nil, "the file states no spacing", ""},
		{"imager alone", dicomio.Geometry{Imager: at(0.15)}, []study.Spacing{imager(true)},
			"at the detector; not corrected for magnification", imagerName},
		{"repeated", dicomio.Geometry{Imager: at(0.15), Pixel: at(0.15)}, []study.Spacing{imager(true), pixel(0.15, "pixel", false)},
			"at the detector; Pixel Spacing only repeats it", imagerName},
		{"by distances", dicomio.Geometry{Imager: at(0.15), Pixel: at(0.13), PixelKind: "GEOMETRY"},
			[]study.Spacing{pixel(0.13, "pixel, GEOMETRY", true), imager(false)},
			"calibrated by distances for the depth of the patient", imagerName},
		{"by an object", dicomio.Geometry{Pixel: at(0.13), PixelKind: "FIDUCIAL"}, []study.Spacing{pixel(0.13, "pixel, FIDUCIAL", true)},
			"calibrated by an object of known size at the depth of the patient", ""},
		{"different", dicomio.Geometry{Imager: at(0.15), Pixel: at(0.13)}, []study.Spacing{pixel(0.13, "pixel", true), imager(false)},
			"differs from the spacing at the detector, so that it was calibrated for the depth of the patient", imagerName},
		{"pixel alone", dicomio.Geometry{Pixel: at(0.13)}, []study.Spacing{pixel(0.13, "pixel", true)},
			"the only one; the file does not say whether it was calibrated", pixelName},
		{"scanned", dicomio.Geometry{Scan: at(0.1)}, []study.Spacing{{Kind: "scan", Name: "resolution of the PNG", Row: 0.1, Column: 0.1, Used: true}},
			"the resolution of the scanned film; nothing tells its scale at the patient", "resolution of the PNG"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := &dicomio.Film{Format: "DICOM", Geometry: c.g}
			if c.g.Scan[0] > 0 {
				f.Format = "PNG"
			}
			require.Equal(t, c.want, spacings(f))
			require.Equal(t, c.reason, spacingReason(c.g))
			checked := ""
			if c.g.Detector() > 0 {
				checked = checkedAgainst(f)
			}
			require.Equal(t, c.checked, checked)
		})
	}
}
