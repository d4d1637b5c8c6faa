package dicomio

import (
	"encoding/binary"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// scaled is a film of 20 x 30 pixels that states elements, in the order of their tags, and
// nothing else.
func scaled(t testing.TB, els ...el) *Film {
	t.Helper()
	le := binary.LittleEndian
	var all []el
	pixels := image16(le, 20, 30, 16, 12, 11, 0, "MONOCHROME2")
	for _, e := range els {
		if e.tag > 0x00280011 && pixels != nil {
			all, pixels = append(all, pixels[:4]...), pixels[4:]
			all, pixels = append(all, e), append([]el{}, pixels...)
			continue
		}
		all = append(all, e)
	}
	all = append(all, pixels...)
	all = append(all, el{0x7FE00010, "OW", make([]byte, 20*30*2)})
	f, err := decode(dicomFile(explicitLittle, dataSet(le, false, all...)))
	require.NoError(t, err)
	return f
}

// What a file says of its scale is taken as it stands, or is named and left out.
func TestScaleThatCannotBe(t *testing.T) {
	const (
		source, patient, factor = 0x00181110, 0x00181111, 0x00181114
		imager, pixel, scan     = 0x00181164, 0x00280030, 0x00182010
		kind                    = 0x00280A02
		detectorName            = "Distance Source to Detector (0018,1110)"
		patientName             = "Distance Source to Patient (0018,1111)"
		factorName              = "Estimated Radiographic Magnification Factor (0018,1114)"
		imagerName              = "Imager Pixel Spacing (0018,1164)"
		pixelName               = "Pixel Spacing (0028,0030)"
	)
	type pairs = [2]float64
	ds := func(tag uint32, s string) el { return text(tag, "DS", s) }
	at := pairs{0.143, 0.143}
	for name, c := range map[string]struct {
		els  []el
		want Geometry
		says []string
	}{
		"all in order": {[]el{ds(source, "1150"), ds(patient, "1000"), ds(factor, "1.17"), ds(imager, `.143\.143`), ds(pixel, `.12\.12`), text(kind, "CS", "GEOMETRY")},
			Geometry{Imager: at, Pixel: pairs{0.12, 0.12}, PixelKind: "GEOMETRY", SourceImage: 1150, SourcePatient: 1000, Magnification: 1.17}, nil},
		"centimetres":  {[]el{ds(source, "115")}, Geometry{}, []string{detectorName + " is 115 mm, not from 500 to 4000: not used"}},
		"tenths":       {[]el{ds(source, "11500")}, Geometry{}, []string{detectorName + " is 11500 mm, not from 500 to 4000: not used"}},
		"metres":       {[]el{ds(source, "1.15")}, Geometry{}, []string{detectorName + " is 1.15 mm, not from 500 to 4000: not used"}},
		"patient's cm": {[]el{ds(source, "1150"), ds(patient, "100")}, Geometry{SourceImage: 1150}, []string{patientName + " is 100 mm, not from 250 to 4000: not used"}},
		"patient behind the detector": {[]el{ds(source, "1000"), ds(patient, "1150")}, Geometry{},
			[]string{detectorName + " is 1000 mm and " + patientName + " is 1150 mm, behind the detector: neither is used"}},
		"patient at the source": {[]el{ds(source, "1150"), ds(patient, "300")}, Geometry{},
			[]string{detectorName + " over " + patientName + " would magnify 3.83 times, not 1 to 2: not used"}},
		"factor below 1": {[]el{ds(factor, "0.8")}, Geometry{}, []string{factorName + " is 0.8, not over 1 and up to 2: not used"}},
		"factor of 1":    {[]el{ds(factor, "1")}, Geometry{}, []string{factorName + " is 1, not over 1 and up to 2: not used"}},
		"factor of 5":    {[]el{ds(factor, "5.0")}, Geometry{}, []string{factorName + " is 5, not over 1 and up to 2: not used"}},
		"factor against distances": {[]el{ds(source, "1150"), ds(patient, "1000"), ds(factor, "1.4")}, Geometry{},
			[]string{detectorName + " over " + patientName + " magnifies 1.15 times, " + factorName + " 1.4 times: none of them is used"}},
		"micrometres": {[]el{ds(imager, `143\143`)}, Geometry{shape: pairs{143, 143}}, []string{imagerName + " is 143 x 143 mm, not from 0.01 to less than 1: not used"}},
		"metres of a pixel": {[]el{ds(imager, `.000143\.000143`)}, Geometry{shape: pairs{0.000143, 0.000143}},
			[]string{imagerName + " is 0.000143 x 0.000143 mm, not from 0.01 to less than 1: not used"}},
		"nothing filled in": {[]el{ds(imager, `.143\.143`), ds(pixel, `1\1`)}, Geometry{Imager: at, shape: pairs{1, 1}},
			[]string{pixelName + " is 1 x 1 mm, not from 0.01 to less than 1: not used"}},
		"only a filler": {[]el{ds(pixel, `1\1`), text(kind, "CS", "GEOMETRY")}, Geometry{shape: pairs{1, 1}},
			[]string{pixelName + " is 1 x 1 mm, not from 0.01 to less than 1: not used"}},
		"patient smaller than shown": {[]el{ds(imager, `.143\.143`), ds(pixel, `.17\.17`), text(kind, "CS", "GEOMETRY")}, Geometry{},
			[]string{pixelName + " against " + imagerName + " would magnify 0.841 times, not 1 to 2: not used"}},
		"against a scan": {[]el{ds(scan, `.08\.08`), ds(pixel, `.03\.03`)}, Geometry{},
			[]string{pixelName + " against Nominal Scanned Pixel Spacing (0018,2010) would magnify 2.67 times, not 1 to 2: not used"}},
		"calibrated against a factor": {[]el{ds(factor, "1.05"), ds(imager, `.143\.143`), ds(pixel, `.12\.12`)}, Geometry{},
			[]string{pixelName + " against " + imagerName + " magnifies 1.19 times, " + factorName + " 1.05 times: none of them is used"}},
		"hexadecimal": {[]el{ds(imager, `0x1p-3\0x1p-3`)}, Geometry{}, []string{imagerName + ` is "0x1p-3\\0x1p-3", not two lengths`}},
		"underscore":  {[]el{ds(source, "1_150")}, Geometry{}, []string{detectorName + ` is "1_150", not a positive number`}},
		"a word":      {[]el{ds(source, "inf")}, Geometry{}, []string{detectorName + ` is "inf", not a positive number`}},
		"long": {[]el{ds(imager, `0.1430000000000000\0.1430000000000000`)}, Geometry{Imager: at},
			[]string{imagerName + ` is "0.1430000000000000\\0.1430000000000000", longer than a decimal string may be: read all the same`}},
		"exponent and sign": {[]el{ds(source, "+1.15E3"), ds(imager, `143e-3\.143`)}, Geometry{Imager: at, SourceImage: 1150}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			f := scaled(t, c.els...)
			assert.Equal(t, c.want, f.Geometry)
			assert.Equal(t, c.says, said(f.Warnings))
		})
	}
}

// The shape of pixels counts though their size is not believed.
func TestShapeOfASizeThatCannotBe(t *testing.T) {
	f := scaled(t, text(0x00181164, "DS", `143\200`))
	assert.Zero(t, f.Geometry.Imager)
	assert.InDelta(t, 143.0/200, f.Geometry.Aspect(), 1e-12)
	square, err := f.Square()
	require.NoError(t, err)
	assert.Equal(t, 42, square.Columns)
	assert.InDelta(t, 1, square.Geometry.Aspect(), 1e-12)
}

// No film is longer than those of whole legs.
func TestFilmTooLong(t *testing.T) {
	f := &Film{Format: "TIFF", Rows: 3000, Columns: 2000, Geometry: Geometry{Scan: [2]float64{0.7, 0.7}}}
	f.weigh()
	assert.Zero(t, f.Geometry.Scan)
	assert.Equal(t, []string{"resolution of the TIFF would make the film 2100 mm long, more than 2000: not used"}, said(f.Warnings))
}
