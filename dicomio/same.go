package dicomio

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"hash"
)

// PixelKey names the picture by its content: the SHA-256 of its size, bits and
// stored values, lower-case hex. The same film has the same key in every
// lossless form, whatever its header says.
func (f *Film) PixelKey() string {
	h := f.keyHash()
	stored := f.Pixels
	if f.mirrored() {
		stored = f.Exchanged(stored)
	}
	for y := range stored.Rect.Dy() {
		h.Write(stored.Pix[y*stored.Stride:][:2*stored.Rect.Dx()])
	}
	return hex.EncodeToString(h.Sum(nil))
}

// keyHash is the hash of a key with all but the stored values.
func (f *Film) keyHash() hash.Hash {
	h := sha256.New()
	head := []uint64{uint64(f.Pixels.Rect.Dy()), uint64(f.Pixels.Rect.Dx()), uint64(f.Bits), uint64(flip(f.Bits, false, f.Signed))}
	for _, n := range head {
		h.Write(binary.BigEndian.AppendUint64(nil, n))
	}
	return h
}

// Duplicates returns, for each film, the index of the first film with the same
// picture: its own where it is the first, -1 where the film is nil.
func Duplicates(films []*Film) []int {
	first := make(map[string]int, len(films))
	out := make([]int, len(films))
	for i, f := range films {
		if f == nil {
			out[i] = -1
			continue
		}
		key := f.PixelKey()
		if _, seen := first[key]; !seen {
			first[key] = i
		}
		out[i] = first[key]
	}
	return out
}
