package codectest

import (
	"bytes"
	"errors"
	"runtime"
	"slices"
	"testing"

	"linerwatch/dicomio/codec"
)

// Decoder is the form of every decoder's entry point.
type Decoder func(data []byte, want codec.Size) ([]uint16, codec.Info, error)

// Same fails the test at the first sample that differs.
func Same(tb testing.TB, got, want []uint16, columns int) {
	tb.Helper()
	if len(got) != len(want) {
		tb.Fatalf("%d samples, want %d", len(got), len(want))
	}
	for i := range got {
		if got[i] != want[i] {
			tb.Fatalf("row %d, column %d: %d, want %d", i/columns, i%columns, got[i], want[i])
		}
	}
}

// RefuseCut checks that no proper prefix of a codestream decodes, all of them
// being malformed. stride thins the prefixes out; pad is the number of trailing
// bytes that the codestream can do without.
func RefuseCut(t *testing.T, decode Decoder, data []byte, size codec.Size, stride, pad int) {
	t.Helper()
	for n := 0; n < len(data)-pad; n += stride {
		if _, _, err := decode(data[:n], size); !errors.Is(err, codec.ErrMalformed) {
			t.Fatalf("first %d of %d bytes: error %v, want malformed", n, len(data), err)
		}
	}
}

// FillBeforeEnd checks that zero bytes and fill bytes before the end-of-image
// marker change nothing, and that no other byte may stand there.
func FillBeforeEnd(t *testing.T, decode Decoder, data []byte, size codec.Size) {
	t.Helper()
	want, _, err := decode(data, size)
	if err != nil {
		t.Fatal(err)
	}
	end := bytes.LastIndex(data, []byte{0xFF, 0xD9})
	with := func(fill ...byte) []byte { return slices.Insert(slices.Clone(data), end, fill...) }
	for _, n := range []int{1, 2, 3, 9, 20} {
		for _, fill := range [][]byte{{0}, {0xFF, 0}, {0, 0xFF}} {
			got, _, err := decode(with(bytes.Repeat(fill, n)...), size)
			if err != nil {
				t.Fatalf("%d times % X: %v", n, fill, err)
			}
			Same(t, got, want, size.Columns)
		}
	}
	for _, other := range [][]byte{{0, 1}, {0, 0x80}, {0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1}} {
		if _, _, err := decode(with(other...), size); !errors.Is(err, codec.ErrMalformed) {
			t.Fatalf("% X before the end: error %v, want malformed", other, err)
		}
	}
}

// SurviveFlips decodes the data once for each byte, with that byte inverted or
// one bit of it flipped in turn. The result must be an error of one of the two
// kinds or a full set of samples.
func SurviveFlips(t *testing.T, decode Decoder, data []byte, size codec.Size) {
	t.Helper()
	for i := range data {
		mask := byte(0xFF)
		if i%2 == 1 {
			mask = 1 << (i / 2 % 8)
		}
		damaged := slices.Clone(data)
		damaged[i] ^= mask
		CheckOutcome(t, decode, damaged, size)
	}
}

// CheckOutcome decodes anything: the result is an error of one of the two kinds
// or a full set of samples.
func CheckOutcome(t *testing.T, decode Decoder, data []byte, size codec.Size) {
	t.Helper()
	pix, _, err := decode(data, size)
	switch {
	case err == nil && len(pix) != size.Pixels():
		t.Fatalf("%d samples for %d x %d without an error", len(pix), size.Columns, size.Rows)
	case err != nil && pix != nil:
		t.Fatalf("samples beside the error %v", err)
	case err != nil && !errors.Is(err, codec.ErrMalformed) && !errors.Is(err, codec.ErrUnsupported):
		t.Fatalf("error of neither kind: %v", err)
	}
}

// BoundMemory checks that decoding allocates no more than 1.5 times the declared
// samples in all.
func BoundMemory(t *testing.T, decode Decoder, data []byte, size codec.Size) {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	if _, _, err := decode(data, size); err != nil {
		t.Fatal(err)
	}
	runtime.ReadMemStats(&after)
	if got, bound := after.TotalAlloc-before.TotalAlloc, uint64(3*size.Pixels()); got > bound {
		t.Errorf("%d bytes allocated for %d x %d samples, want %d at most", got, size.Columns, size.Rows, bound)
	}
}
