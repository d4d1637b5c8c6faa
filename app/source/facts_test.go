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
		{"none", dicomio.Geometry{}, nil, "scale.none", ""},
		{"imager alone", dicomio.Geometry{Imager: at(0.15)}, []study.Spacing{imager(true)},
			"scale.imager", imagerName},
		{"repeated", dicomio.Geometry{Imager: at(0.15), Pixel: at(0.15)}, []study.Spacing{imager(true), pixel(0.15, "pixel", false)},
			"scale.repeated", imagerName},
		{"by distances", dicomio.Geometry{Imager: at(0.15), Pixel: at(0.13), PixelKind: "GEOMETRY"},
			[]study.Spacing{pixel(0.13, "pixel, GEOMETRY", true), imager(false)},
			"scale.geometry", imagerName},
		{"by an object", dicomio.Geometry{Pixel: at(0.13), PixelKind: "FIDUCIAL"}, []study.Spacing{pixel(0.13, "pixel, FIDUCIAL", true)},
			"scale.fiducial", ""},
		{"different", dicomio.Geometry{Imager: at(0.15), Pixel: at(0.13)}, []study.Spacing{pixel(0.13, "pixel", true), imager(false)},
			"scale.differs", imagerName},
		{"pixel alone", dicomio.Geometry{Pixel: at(0.13)}, []study.Spacing{pixel(0.13, "pixel", true)},
			"scale.only", pixelName},
		{"scanned", dicomio.Geometry{Scan: at(0.1)}, []study.Spacing{{Kind: "scan", Name: "resolution of the PNG", Row: 0.1, Column: 0.1, Used: true}},
			"scale.scan", "resolution of the PNG"},
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
