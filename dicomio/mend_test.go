package dicomio

import (
	"bytes"
	"encoding/binary"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// damaged are beginnings of a data set that break the standard and can be stepped
// over, the kind of damage first in its name.
func damaged() map[string][]byte {
	le := binary.LittleEndian
	join := func(parts ...[]byte) []byte { return bytes.Join(parts, nil) }
	item := func(n uint32, inner ...byte) []byte {
		return append(le.AppendUint32([]byte{0xFE, 0xFF, 0x00, 0xE0}, n), inner...)
	}
	endItem, endSequence := []byte{0xFE, 0xFF, 0x0D, 0xE0, 0, 0, 0, 0}, []byte{0xFE, 0xFF, 0xDD, 0xE0, 0, 0, 0, 0}
	code := dataSet(le, false, text(0x00080100, "SH", "12"))
	private := func(head string, value ...byte) []byte {
		return append([]byte("\x09\x00\x01\x10"+head), value...)
	}
	sequence := appendHead(nil, 0x00082218, "SQ", undefined)
	inner := appendHead(nil, 0x00082220, "SQ", undefined)
	after := dataSet(le, false, text(0x00100020, "LO", "LW-1"))
	all := map[string][]byte{
		"private: short length":           private("ZZ\x02\x00", 1, 2),
		"private: long length":            private("zz\x00\x00\x02\x00\x00\x00", 1, 2),
		"private: implicit":               private("\x04\x00\x00\x00", 1, 2, 3, 4),
		"private: empty":                  private("\x00\x00\x00\x00"),
		"private: in an item":             join(sequence, item(undefined), private("ZZ\x02\x00", 1, 2), endItem, endSequence),
		"sequence: no mark":               join(sequence, item(undefined), code, endItem, after),
		"sequence: item with length":      join(sequence, item(uint32(len(code)), code...), after),
		"sequence: no item's mark":        join(sequence, item(undefined), code, endSequence, after),
		"sequence: no mark between items": join(sequence, item(undefined), code, item(undefined), code, endItem, endSequence, after),
		"sequence: neither mark":          join(sequence, item(undefined), code, after),
		"sequence: nested, no mark":       join(sequence, item(undefined), inner, item(undefined), code, endItem, endItem, endSequence, after),
		"sequence: nested, none at all":   join(sequence, item(undefined), inner, item(undefined), code, after),
	}
	for name, head := range all {
		all[name] = append(dataSet(le, false, text(0x00080008, "CS", "ORIGINAL")), head...)
	}
	return all
}

func TestDamagedHeaders(t *testing.T) {
	le := binary.LittleEndian
	els := append(image16(le, 1, 1, 16, 12, 11, 0, "MONOCHROME2"), el{0x7FE00010, "OW", []byte{5, 1}})
	for name, head := range damaged() {
		t.Run(name, func(t *testing.T) {
			b := dicomFile(explicitLittle, append(head, dataSet(le, false, els...)...))
			f, err := decode(bytes.Clone(b))
			require.NoError(t, err)
			assert.EqualValues(t, 0x105, f.Pixels.Gray16At(0, 0).Y)
			says := "private elements of an unknown value representation were passed over: 1, the first (0009,1001)"
			if strings.HasPrefix(name, "sequence") {
				says = "sequences or items without an end"
				assert.Equal(t, "LW-1", f.PatientCode)
			}
			require.Len(t, f.Warnings, 1)
			assert.Contains(t, f.Warnings[0].Error(), says)

			seen, err := Inspect(file(t, "a.dcm", b))
			require.NoError(t, err)
			assert.Equal(t, f.Warnings, seen.Warnings)
		})
	}
}

// What follows a sequence of look-up tables or codes without an end is the film's own.
func TestTablesWithoutEnd(t *testing.T) {
	le := binary.LittleEndian
	table := dataSet(le, false, el{0x00283002, "US", []byte{2, 0, 0, 0, 16, 0}}, el{0x00283006, "US", []byte{0, 0, 255, 0}})
	set := dataSet(le, false, image16(le, 1, 1, 16, 12, 11, 0, "MONOCHROME2")...)
	set = append(appendHead(set, 0x00283010, "SQ", undefined), append([]byte{0xFE, 0xFF, 0x00, 0xE0, 0xFF, 0xFF, 0xFF, 0xFF}, table...)...)
	set = append(set, dataSet(le, false, el{0x7FE00010, "OW", []byte{5, 1}})...)
	f, err := decode(dicomFile(explicitLittle, set))
	require.NoError(t, err)
	require.Len(t, f.Greys.Tables, 1)
	require.Len(t, f.Warnings, 1)
}

// An element of the standard's own is not guessed at, nor a private one after which nothing begins.
func TestDamageThatIsNotMended(t *testing.T) {
	le := binary.LittleEndian
	els := append(image16(le, 1, 1, 16, 12, 11, 0, "MONOCHROME2"), el{0x7FE00010, "OW", []byte{5, 1}})
	for _, head := range []string{"\x08\x00\x20\x00ZZ\x02\x00AB", "\x09\x00\x01\x10ZZ\x02\x00ABC", "\x29\x00\x01\x10ZZ\x02\x00AB"} {
		set := append([]byte(head), dataSet(le, false, els...)...)
		_, err := decode(dicomFile(explicitLittle, append(dataSet(le, false, text(0x00080008, "CS", "A")), set...)))
		require.ErrorIs(t, err, ErrMalformed)
		require.ErrorContains(t, err, "unknown value representation")
	}
}

// Compressed films that lack the mark at their end are read where the picture is whole.
func TestFragmentsWithoutEnd(t *testing.T) {
	for _, name := range []string{"dcmtk-rle", "dcmtk-lossless", "dcmtk-jpegls", "dcmtk-fragments", "gdcm-jpeg2000"} {
		b, err := os.ReadFile("testdata/" + name + ".dcm")
		require.NoError(t, err)
		whole, err := decode(bytes.Clone(b))
		require.NoError(t, err)
		assert.Empty(t, whole.Warnings)
		f, err := decode(bytes.Clone(b[:len(b)-8]))
		require.NoError(t, err, name)
		assert.Equal(t, whole.Pixels, f.Pixels, name)
		assert.Equal(t, []string{"the mark at the end of the pixel data is missing; the picture is whole"}, said(f.Warnings))
		for _, n := range []int{1, 7, 9, 12, 40} {
			_, err = decode(bytes.Clone(b[:len(b)-n]))
			require.ErrorIs(t, err, ErrMalformed, "%s cut by %d", name, n)
		}
	}
}
