package dicomio

import (
	"bytes"
	"compress/flate"
	"errors"
	"io"
)

// The deflated syntax (PS3.5 A.5) compresses the whole data set. It is inflated
// by parts, no further than its header is long and then its pixels, once their
// size has been found plausible.
const (
	firstInflated = 1 << 16 // bytes inflated first
	maxHeader     = 1 << 22 // the longest header that is inflated
)

// inflater is a deflated data set, read as far as it has been needed.
type inflater struct {
	z    io.Reader
	size int  // of the compressed data
	part bool // only the beginning of the compressed data is there

	passed int // bytes inflated after those in the header's data
}

// inflate reads the header of a deflated data set of size bytes that begins with b.
func (h *header) inflate(b []byte, size int) error {
	h.rest = &inflater{z: flate.NewReader(bytes.NewReader(b)), size: size, part: len(b) < size}
	h.data, h.size = nil, maxFile
	for n := firstInflated; n <= maxHeader; n *= 4 {
		if err := h.extend(n); err != nil {
			return err
		}
		if err := h.dataSet(0); !errors.Is(err, errMore) {
			return err
		}
		if h.size == len(h.data) {
			return malformed("read.deflated-end", "the deflated data set ends early")
		}
	}
	return unsupported("read.deflated-header", "a deflated header of more than %d MB", "MB", maxHeader>>20)
}

// extend inflates until n bytes are there, or all of them; then size is their number.
func (h *header) extend(n int) error {
	if n <= len(h.data) {
		return nil
	}
	h.data = append(make([]byte, 0, n), h.data...) // no more than is needed
	for len(h.data) < n {
		got, err := h.rest.z.Read(h.data[len(h.data):n])
		h.data = h.data[:len(h.data)+got]
		switch {
		case err == io.ErrUnexpectedEOF && h.rest.part:
			return errMore
		case err == io.EOF || err == io.ErrUnexpectedEOF: // what lacks will be missed
			h.size = len(h.data)
			return nil
		case err != nil:
			return malformed("read.deflated", "deflated data set: %v", "Why", err)
		}
	}
	return nil
}

// possible checks that n bytes can be in the deflated data.
func (z *inflater) possible(n int64) error {
	if n > int64(z.size)*maxDeflate {
		return malformed("read.deflated-bytes", "%d bytes of pixel data cannot be in %d deflated bytes", "Bytes", n, "Deflated", z.size)
	}
	return nil
}

// part inflates n bytes of the data set from p on, after any part before it. What
// lies between is not kept.
func (h *header) part(p, n int) ([]byte, error) {
	z := h.rest
	out := make([]byte, n)
	have := copy(out, h.data[min(p, len(h.data)):])
	if have == n {
		return out, nil
	}
	passed, err := io.CopyN(io.Discard, z.z, int64(p+have-len(h.data)-z.passed))
	z.passed += int(passed)
	if err == nil {
		var got int
		got, err = io.ReadFull(z.z, out[have:])
		z.passed, have = z.passed+got, have+got
	}
	switch {
	case err == io.EOF || err == io.ErrUnexpectedEOF:
		return nil, malformed("read.pixels-truncated", "truncated: %d of %d bytes of pixel data are there", "Have", have, "Whole", n)
	case err != nil:
		return nil, malformed("read.deflated", "deflated data set: %v", "Why", err)
	}
	return out, nil
}
