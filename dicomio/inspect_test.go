package dicomio

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Headers longer than what is read first, native and deflated.
func TestInspectLongHeader(t *testing.T) {
	le := binary.LittleEndian
	private := noise(300, 300, 16).Pixels.Pix // 180,000 bytes that deflate does not shorten
	els := append([]el{{0x00091001, "OB", private}, text(0x00100020, "LO", "LW-0042")}, image16(le, 30, 20, 16, 12, 11, 0, "MONOCHROME2")...)
	els = append(els, el{0x7FE00010, "OW", make([]byte, 1200)})
	set := dataSet(le, false, els...)
	var packed bytes.Buffer
	z, err := flate.NewWriter(&packed, flate.BestSpeed)
	require.NoError(t, err)
	_, err = z.Write(set)
	require.NoError(t, err)
	require.NoError(t, z.Close())
	for name, b := range map[string][]byte{
		"native":   dicomFile(explicitLittle, set),
		"deflated": dicomFile("1.2.840.10008.1.2.1.99", packed.Bytes()),
	} {
		t.Run(name, func(t *testing.T) {
			require.Greater(t, len(b), 2*firstRead)
			path := file(t, "a.dcm", b)
			seen, err := Inspect(path)
			require.NoError(t, err)
			f, err := Open(path)
			require.NoError(t, err)
			f.Pixels, f.SHA256, f.Key = nil, "", ""
			assert.Equal(t, f, seen)
			for _, n := range []int{firstRead, firstRead + 1, len(b) / 2} {
				path := file(t, "cut.dcm", b[:n])
				_, err := Inspect(path)
				requireFault(t, path, err, ErrMalformed)
			}
		})
	}
}

// Inspect reads the header of a large film and no more.
func TestInspectReadsLittle(t *testing.T) {
	path := file(t, "a.dcm", encoded(t, noise(2000, 2000, 12)))
	used := allocated(func() {
		f, err := Inspect(path)
		require.NoError(t, err)
		assert.Equal(t, []int{2000, 2000, 12}, []int{f.Rows, f.Columns, f.Bits})
	})
	assert.Less(t, used, uint64(slack))
}
