package codec_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/dicomio/codec"
)

func TestSizeCheck(t *testing.T) {
	for _, c := range []struct {
		name string
		size codec.Size
		err  error
	}{
		{"one pixel", codec.Size{Rows: 1, Columns: 1, Bits: 1}, nil},
		{"a long film", codec.Size{Rows: 12000, Columns: 3000, Bits: 16}, nil},
		{"no rows", codec.Size{Columns: 1, Bits: 8}, codec.ErrMalformed},
		{"negative columns", codec.Size{Rows: 1, Columns: -1, Bits: 8}, codec.ErrMalformed},
		{"too many rows", codec.Size{Rows: 65536, Columns: 1, Bits: 8}, codec.ErrMalformed},
		{"no bits", codec.Size{Rows: 1, Columns: 1}, codec.ErrUnsupported},
		{"32 bits", codec.Size{Rows: 1, Columns: 1, Bits: 32}, codec.ErrUnsupported},
		{"largest header", codec.Size{Rows: 65535, Columns: 65535, Bits: 16}, codec.ErrUnsupported},
	} {
		t.Run(c.name, func(t *testing.T) { require.ErrorIs(t, c.size.Check(), c.err) })
	}
}

func TestSizeCheckData(t *testing.T) {
	black := codec.Size{Rows: 3000, Columns: 3000, Bits: 16}
	require.NoError(t, black.CheckData(187))
	forged := codec.Size{Rows: 10000, Columns: 10000, Bits: 16}
	require.ErrorIs(t, forged.CheckData(187), codec.ErrMalformed)
	require.NoError(t, forged.CheckData(2000))
}
