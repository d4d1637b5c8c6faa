package jpeg2000

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestCoderExample decodes the test sequence of the arithmetic coder in ITU-T
// T.88 H.2, which T.800 shares: 256 symbols in one context. Written down from
// memory; that the two agree shows that it was remembered well.
func TestCoderExample(t *testing.T) {
	coded := []byte{
		0x84, 0xC7, 0x3B, 0xFC, 0xE1, 0xA1, 0x43, 0x04, 0x02, 0x20, 0x00, 0x00, 0x41, 0x0D, 0xBB,
		0x86, 0xF4, 0x31, 0x7F, 0xFF, 0x88, 0xFF, 0x37, 0x47, 0x1A, 0xDB, 0x6A, 0xDF, 0xFF, 0xAC,
	}
	want := []byte{
		0x00, 0x02, 0x00, 0x51, 0x00, 0x00, 0x00, 0xC0, 0x03, 0x52, 0x87, 0x2A, 0xAA, 0xAA, 0xAA, 0xAA,
		0x82, 0xC0, 0x20, 0x00, 0xFC, 0xD7, 0x9E, 0xF6, 0xBF, 0x7F, 0xED, 0x90, 0x4F, 0x46, 0xA3, 0xBF,
	}
	var m mqDecoder
	m.start(coded)
	cx := mqState(0, 0)
	got := make([]byte, len(want))
	for i := range got {
		for range 8 {
			got[i] = got[i]<<1 | byte(m.bit(&cx))
		}
	}
	require.Equal(t, want, got)
}

// TestBlockExample decodes the second code-block of the worked example in T.800
// J.10.1: a column of nine samples, one level of the reversible transform. Its
// bytes are written down from memory, as above.
func TestBlockExample(t *testing.T) {
	block := codeBlock{planes: 3, segments: []segment{{data: []byte{0x0F, 0xB1, 0x76}, passes: 7}}}
	var d blockDecoder
	d.decode(&block, 2, 1, 4, 0, 0)
	for i := range d.data {
		d.data[i] /= 2
	}
	require.Equal(t, []int32{1, 5, 1, 0}, d.data)
}

// TestSynthesisExample puts the bands of the same example together.
func TestSynthesisExample(t *testing.T) {
	low, high := []int32{-26, -22, -30, -32, -19}, []int32{1, 5, 1, 0}
	column := make([]int32, 9)
	for i := range column {
		if i%2 == 0 {
			column[i] = low[i/2]
		} else {
			column[i] = high[i/2]
		}
	}
	lift53(column, 0)
	for i := range column {
		column[i] += 128
	}
	require.Equal(t, []int32{101, 103, 104, 105, 96, 97, 96, 102, 109}, column)
}
