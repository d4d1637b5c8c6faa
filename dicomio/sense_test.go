package dicomio

import (
	"encoding/binary"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// statement is what a file says of its greys, in a few elements.
type statement struct {
	name string
	els  []el
}

// together joins one statement of each list, in every way.
func together(lists ...[]statement) []statement {
	out := []statement{{}}
	for _, list := range lists {
		var next []statement
		for _, a := range out {
			for _, b := range list {
				next = append(next, statement{a.name + " " + b.name, slices.Concat(a.els, b.els)})
			}
		}
		out = next
	}
	return out
}

// Pixels rise where the picture that the file asks for rises, whatever makes it so,
// and give every stored value back.
func TestPixelsHaveTheSenseOfTheDisplay(t *testing.T) {
	const bits = 8
	n := 1 << bits
	rising := curve(n, 12)
	falling := reversed(curve(n, 12))
	for _, photometric := range []string{"MONOCHROME1", "MONOCHROME2"} {
		for _, twos := range []uint16{0, 1} {
			first := -int(twos) * n / 2
			for _, s := range together(
				[]statement{{}, {"IDENTITY", []el{text(0x20500020, "CS", "IDENTITY")}}, {"INVERSE", []el{text(0x20500020, "CS", "INVERSE")}}},
				[]statement{{}, {"slope -0.5", []el{text(0x00281052, "DS", "40"), text(0x00281053, "DS", "-0.5")}},
					{"rising modality", []el{lut(0x00283000, first, 12, rising...)}}, {"falling modality", []el{lut(0x00283000, first, 12, falling...)}}},
				[]statement{{}, {"window", []el{text(0x00281050, "DS", "50"), text(0x00281051, "DS", "100")}},
					{"rising table", []el{lut(0x00283010, 0, 12, rising...)}}, {"falling table", []el{lut(0x00283010, 0, 12, falling...)}},
					{"window before a falling table", []el{text(0x00281050, "DS", "50"), text(0x00281051, "DS", "100"), lut(0x00283010, 0, 12, falling...)}}},
			) {
				t.Run(fmt.Sprint(photometric, twos, s.name), func(t *testing.T) {
					f, err := decode(ramp(bits, photometric, twos, s.els...))
					require.NoError(t, err)
					assert.Empty(t, f.Warnings)
					shown := f.Display(nil)
					byValue, some := make([]int, n), map[uint8]bool{}
					for i, grey := range shown.Pix {
						x, y := i%f.Columns, i/f.Columns
						byValue[f.Pixels.Gray16At(x, y).Y] = int(grey)
						some[grey] = true
						require.Equal(t, first+i, f.Stored(x, y))
					}
					assert.True(t, slices.IsSorted(byValue), "%v", byValue)
					assert.Greater(t, len(some), 2, "the picture is no flat one")

					again, err := decode(encoded(t, f))
					require.NoError(t, err)
					assert.Equal(t, f.Pixels, again.Pixels, "written and read")
					assert.Equal(t, f.PixelKey(), again.PixelKey())
				})
			}
		}
	}
}

// The attribute says which stored values are less X-ray; MONOCHROME2 shows higher
// values brighter (PS3.3 C.8.11.3.1.2, C.7.6.3.1.2).
func TestBoneDark(t *testing.T) {
	inverse, slope := text(0x20500020, "CS", "INVERSE"), text(0x00281053, "DS", "-1")
	for _, c := range []struct {
		photometric, sign string
		els               []el
		want              bool
	}{
		{"MONOCHROME2", "", nil, false},
		{"MONOCHROME2", "-1", nil, false},
		{"MONOCHROME2", "1", nil, true},
		{"MONOCHROME2", "+1", nil, true},
		{"MONOCHROME1", "1", nil, false},
		{"MONOCHROME1", "-1", nil, true},
		{"MONOCHROME2", "1", []el{inverse}, false},
		{"MONOCHROME2", "-1", []el{inverse}, true},
		{"MONOCHROME2", "1", []el{slope}, false},
		{"MONOCHROME1", "-1", []el{slope}, false},
		{"MONOCHROME1", "1", []el{slope}, true},
		{"MONOCHROME1", "", []el{slope}, false},
	} {
		t.Run(fmt.Sprint(c.photometric, c.sign, len(c.els)), func(t *testing.T) {
			els := c.els
			if c.sign != "" {
				v := uint16(1)
				if c.sign == "-1" {
					v = 0xFFFF
				}
				els = append(els, el{0x00281041, "SS", binary.LittleEndian.AppendUint16(nil, v)})
			}
			f, err := decode(ramp(8, c.photometric, 0, els...))
			require.NoError(t, err)
			assert.Equal(t, c.want, f.BoneDark())
			if c.want {
				require.Len(t, f.Warnings, 1)
				assert.Equal(t, "tag.bone-dark", f.Warnings[0].Code)
			} else {
				assert.Empty(t, f.Warnings)
			}
			other := f.Exchanged(f.Pixels)
			assert.Equal(t, uint16(255)-f.Pixels.Gray16At(3, 5).Y, other.Gray16At(3, 5).Y)
			assert.Equal(t, f.Pixels, f.Exchanged(other))
		})
	}
}

func TestSenseOfWhatTheStandardDoesNotKnow(t *testing.T) {
	f, err := decode(ramp(8, "MONOCHROME2", 0, lut(0x00283010, 0, 8, 0, 200, 100, 255), short(0x00281041, binary.LittleEndian, 2)))
	require.NoError(t, err)
	assert.False(t, f.Greys.Falling)
	assert.Equal(t, []string{
		"VOI LUT Sequence (0028,3010) rises and falls: dark and bright are taken as rising",
		`Pixel Intensity Relationship Sign (0028,1041) is "2", which the standard does not know`,
	}, said(f.Warnings))
	f, err = decode(ramp(8, "MONOCHROME2", 0, lut(0x00283010, 0, 8, 255, 100, 200, 0)))
	require.NoError(t, err)
	assert.True(t, f.Greys.Falling)
}

// Padding is black in the picture to be looked at, as it is in Display.
func TestUnpadded(t *testing.T) {
	for _, photometric := range []string{"MONOCHROME1", "MONOCHROME2"} {
		f, err := decode(ramp(8, photometric, 0, short(0x00280120, binary.LittleEndian, 0), short(0x00280121, binary.LittleEndian, 9)))
		require.NoError(t, err)
		before := f.Pixels.Gray16At(4, 0)
		g := f.Unpadded()
		assert.Equal(t, before, f.Pixels.Gray16At(4, 0), "the film itself stays")
		for i := range 256 {
			x, y := i%16, i/16
			want := f.Pixels.Gray16At(x, y).Y
			if i <= 9 {
				want = 0
			}
			assert.Equal(t, want, g.Pixels.Gray16At(x, y).Y)
		}
	}
	f, err := decode(ramp(8, "MONOCHROME2", 0, short(0x00280120, binary.LittleEndian, 0)))
	require.NoError(t, err)
	assert.Same(t, f, f.Unpadded(), "it is black already")
	f, err = decode(ramp(8, "MONOCHROME2", 0))
	require.NoError(t, err)
	assert.Same(t, f, f.Unpadded())
}
