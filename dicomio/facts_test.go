package dicomio

import (
	"encoding/binary"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What is told beside what measuring needs.
func TestFacts(t *testing.T) {
	le := binary.LittleEndian
	els := []el{
		text(0x00080005, "CS", `ISO 2022 IR 6\ISO 2022 IR 100`), text(0x00080020, "DA", "20120305"),
		text(0x00080022, "DA", "20120304"), text(0x00080023, "DA", "never"), text(0x0008002A, "DT", "20120304101112"),
	}
	els = append(els, image16(le, 1, 2, 16, 12, 13, 0, "MONOCHROME2")...)
	els = append(els, el{0x7FE00010, "OW", make([]byte, 4)})
	f, err := Open(file(t, "a.dcm", dicomFile(explicitLittle, dataSet(le, false, els...))))
	require.NoError(t, err)
	assert.Equal(t, []int{16, 12, 13}, []int{f.Allocated, f.Bits, f.HighBit})
	assert.Equal(t, []string{"ISO 2022 IR 6", "ISO 2022 IR 100"}, f.CharacterSets)
	date := func(d int) time.Time { return time.Date(2012, 3, d, 0, 0, 0, 0, time.UTC) }
	assert.Equal(t, []Dated{{date(4), "acquisition"}, {date(5), "study"}}, f.Dates)
	assert.Equal(t, []any{date(4), "acquisition"}, []any{f.Date, f.DateSource})
	assert.Equal(t, []string{`Content Date (0008,0023) is "never", not a date`}, said(f.Warnings))
}

// The code of a turn is that of the turn that Upright does: a mark in one
// corner is followed.
func TestUprightBy(t *testing.T) {
	corner := func(f *Film) string {
		p := f.Pixels
		w, h := p.Rect.Dx()-1, p.Rect.Dy()-1
		for name, v := range map[string]uint16{
			"top left": p.Gray16At(0, 0).Y, "top right": p.Gray16At(w, 0).Y,
			"bottom left": p.Gray16At(0, h).Y, "bottom right": p.Gray16At(w, h).Y,
		} {
			if v == 1 {
				return name
			}
		}
		return ""
	}
	for _, c := range []struct {
		orientation [2]string
		code, goes  string
	}{
		{[2]string{"L", "F"}, "upright.as-it-is", "top left"},
		{[2]string{"R", "F"}, "upright.mirrored", "top right"},
		{[2]string{"L", "H"}, "upright.upset", "bottom left"},
		{[2]string{"R", "H"}, "upright.half-turn", "bottom right"},
		{[2]string{"F", "L"}, "upright.exchanged", "top left"},
		{[2]string{"F", "R"}, "upright.clockwise", "top right"},
		{[2]string{"H", "L"}, "upright.counterclockwise", "bottom left"},
		{[2]string{"H", "R"}, "upright.exchanged-half-turn", "bottom right"},
		{[2]string{"", ""}, "", "top left"},
		{[2]string{"A", "F"}, "", "top left"},
	} {
		f := &Film{Pixels: gray16(2, 3, []uint16{1, 2, 3, 4, 5, 6}), Rows: 2, Columns: 3, Orientation: c.orientation}
		assert.Equal(t, c.code, f.UprightBy())
		assert.Equal(t, c.goes, corner(f.Upright()), c.orientation)
	}
}
