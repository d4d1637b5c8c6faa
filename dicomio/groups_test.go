package dicomio

import (
	"encoding/binary"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// itemOf encodes elements of an item in explicit little endian.
func itemOf(els ...el) (b []byte) {
	for _, e := range els {
		b = appendElement(b, e.tag, e.vr, e.value)
	}
	return b
}

// grouped is a film of 4 x 3 pixels and some frames, pixels of frame n all n, with
// elements before and after the image's own.
func grouped(frames int, before, after []el) []byte {
	le := binary.LittleEndian
	els := append([]el{}, before...)
	els = append(els, image16(le, 3, 4, 16, 12, 11, 0, "MONOCHROME2")...)
	els = append(els, text(0x00280008, "IS", string(rune('0'+frames))))
	els = append(els, after...)
	var pixels []byte
	for n := range frames {
		for range 3 * 4 {
			pixels = le.AppendUint16(pixels, uint16(n+1))
		}
	}
	return dicomFile(explicitLittle, dataSet(le, false, append(els, el{pixelDataTag, "OW", pixels})...))
}

func TestFunctionalGroups(t *testing.T) {
	ds := func(tag uint32, s string) el { return text(tag, "DS", s) }
	shared := sq(0x52009229, itemOf(
		sq(0x00189476, itemOf(ds(0x00181110, "1150"), ds(0x00181111, "1000"))),
		sq(0x00209071, itemOf(text(0x00209072, "CS", "R"), sq(0x00082218, codeOf("29836001", "SCT", "Hip")))),
		sq(0x00209450, itemOf(text(0x00200020, "CS", `R\F`))),
		sq(0x00289132, itemOf(ds(0x00281050, "2000"), ds(0x00281051, "1000"), text(0x00281056, "CS", "SIGMOID"))),
		sq(0x00289145, itemOf(ds(0x00281052, "-5"), ds(0x00281053, "2"))),
		sq(0x00289443, itemOf(ds(0x00181164, `0.143\0.143`), el{0x00281041, "SS", []byte{1, 0}})),
	))
	each := sq(0x52009230,
		itemOf(sq(0x00289110, itemOf(ds(0x00280030, `0.12\0.12`)))),
		itemOf(sq(0x00289110, itemOf(ds(0x00280030, `0.125\0.125`))), sq(0x00189476, itemOf(ds(0x00181110, "1200")))),
	)
	b := grouped(2, nil, []el{shared, each})
	for frame, c := range map[int]struct{ pixel, source, patient float64 }{1: {0.12, 1150, 1000}, 2: {0.125, 1200, 1000}} {
		f, err := decodeFrame(append([]byte{}, b...), frame)
		require.NoError(t, err)
		assert.Equal(t, frame, f.Stored(0, 0), "of its own frame")
		assert.Equal(t, Geometry{Imager: [2]float64{0.143, 0.143}, Pixel: [2]float64{c.pixel, c.pixel}, SourceImage: c.source, SourcePatient: c.patient}, f.Geometry)
		assert.Equal(t, []Window{{Center: 2000, Width: 1000, Function: "SIGMOID"}}, f.Greys.Windows)
		assert.Equal(t, []float64{2, -5}, []float64{f.Greys.Slope, f.Greys.Intercept})
		assert.Equal(t, 1, f.Greys.Sign)
		assert.Equal(t, "R", f.Laterality)
		assert.Equal(t, [2]string{"R", "F"}, f.Orientation)
		assert.Equal(t, []Shown{{"Anatomic Region Sequence (0008,2218)", "Hip SCT 29836001", true}}, f.Parts)
		assert.Len(t, f.Warnings, 1, "of the sign")
	}
}

// A group counts before the plain place, and is named where they differ; one that a frame
// should have and has not is named, too.
func TestGroupsThatDiffer(t *testing.T) {
	distance := func(mm string) el { return sq(0x00189476, itemOf(text(0x00181110, "DS", mm))) }
	f, err := decode(grouped(1, []el{text(0x00181110, "DS", "1000")}, []el{sq(0x52009229, itemOf(distance("1150")))}))
	require.NoError(t, err)
	assert.Equal(t, 1150.0, f.Geometry.SourceImage)
	assert.Equal(t, []string{`Distance Source to Detector (0018,1110) is "1150" for this frame and "1000" elsewhere: the former counts`}, said(f.Warnings))

	f, err = decodeFrame(grouped(3, nil, []el{sq(0x52009230, itemOf(distance("1150")), itemOf(distance("1160")))}), 3)
	require.NoError(t, err)
	assert.Zero(t, f.Geometry.SourceImage)
	assert.Equal(t, []string{"functional groups of 2 frames: what holds for frame 3 alone is not known"}, said(f.Warnings))

	f, err = decode(grouped(1, nil, []el{sq(0x52009229, itemOf(distance("115")))}))
	require.NoError(t, err)
	assert.Zero(t, f.Geometry.SourceImage, "its bounds are the same")
	assert.Len(t, f.Warnings, 1)
}

// A film that states its scale in its groups has it without its identity, too, frame by
// frame; what else stands in them goes by the table as everywhere.
func TestDeidentifyKeepsGroups(t *testing.T) {
	ds := func(tag uint32, s string) el { return text(tag, "DS", s) }
	lo := func(tag uint32, s string) el { return text(tag, "LO", s) }
	shared := sq(0x52009229, itemOf(
		sq(0x00189476, itemOf(lo(0x00081030, "MARK-1"), ds(0x00181110, "1150"), ds(0x00181111, "1000"))),
		sq(0x00189477, itemOf(lo(0x00181030, "MARK-2"))), // no group that is read
		sq(0x00209071, itemOf(text(0x00209072, "CS", "R"), sq(0x00082218, codeOf("29836001", "SCT", "MARK-3"), codeOf("MARK-4", "99X", "MARK")))),
		sq(0x00209450, itemOf(text(0x00200020, "CS", `R\F`))),
		sq(0x00289132, itemOf(ds(0x00281050, "2000"), ds(0x00281051, "1000"), lo(0x00281055, "MARK-5"), text(0x00281056, "CS", "SIGMOID"))),
		sq(0x00289145, itemOf(ds(0x00281052, "-5"), ds(0x00281053, "2"), lo(0x00281054, "MARK-6"))),
		sq(0x00289443, itemOf(ds(0x00181164, `0.143\0.143`), el{0x00281041, "SS", []byte{0xFF, 0xFF}})),
	))
	each := sq(0x52009230,
		itemOf(sq(0x00209111, itemOf(text(0x00189074, "DT", "20040503MARK")))), // Frame Content Sequence
		itemOf(sq(0x00289110, itemOf(ds(0x00280030, `0.125\0.125`))), sq(0x00189476, itemOf(ds(0x00181110, "MARK-7")))),
	)
	b := grouped(2, []el{text(0x00080016, "UI", "1.2.840.10008.5.1.4.1.1.12.1.1"), text(0x00080018, "UI", "2.25.1"), lo(0x00100020, "HOSP-1")}, []el{shared, each})
	d, err := NewDeidentifier(secret)
	require.NoError(t, err)
	out, done, err := d.film(append([]byte{}, b...))
	require.NoError(t, err)
	requireGone(t, out, []string{"MARK"})
	assert.Contains(t, said(done.Warnings), "Anatomic Region Sequence (0008,2218) has a code that is not known here and was left out")
	for frame := 1; frame <= 2; frame++ {
		was, err := decodeFrame(append([]byte{}, b...), frame)
		require.NoError(t, err)
		is, err := decodeFrame(append([]byte{}, out...), frame)
		require.NoError(t, err)
		assert.Equal(t, was.Geometry, is.Geometry)
		was.Greys.Windows[0].Name = "" // which is a word of the file
		assert.Equal(t, was.Greys, is.Greys)
		assert.Equal(t, []any{was.Pixels, was.Laterality, was.Orientation}, []any{is.Pixels, is.Laterality, is.Orientation})
		assert.Equal(t, []Shown{{"Anatomic Region Sequence (0008,2218)", "Hip joint SCT 29836001", true}}, is.Parts)
	}
}
