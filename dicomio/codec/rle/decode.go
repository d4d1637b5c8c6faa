package rle

import (
	"encoding/binary"
	"fmt"

	"linerwatch/dicomio/codec"
)

const (
	headerBytes = 64 // PS3.5 G.5: sixteen 32-bit numbers
	maxSegments = 15
)

// Decode returns the samples of one frame, row by row. want.Bits are the bits
// allocated: up to 8 take one segment, up to 16 take two.
func Decode(data []byte, want codec.Size) (pix []uint16, info codec.Info, err error) {
	if pix, info, err = decode(data, want); err != nil {
		return nil, codec.Info{}, fmt.Errorf("rle: %w", err)
	}
	return pix, info, nil
}

func decode(data []byte, want codec.Size) (pix []uint16, info codec.Info, err error) {
	if err := want.Check(); err != nil {
		return nil, codec.Info{}, err
	}
	planes, err := segments(data, (want.Bits+7)/8)
	if err != nil {
		return nil, codec.Info{}, err
	}
	for i, plane := range planes { // before anything is allocated
		// A run of two bytes gives at most 128 samples.
		if len(plane) < 2*want.Pixels()/128 {
			return nil, codec.Info{}, tooShort(i)
		}
	}
	pix = codec.Room[uint16](want.Pixels())
	for i, plane := range planes {
		if err := unpack(pix, plane, i); err != nil {
			return nil, codec.Info{}, err
		}
		if i+1 < len(planes) {
			for j := range pix {
				pix[j] <<= 8
			}
		}
	}
	return pix, codec.Info{Bits: 8 * len(planes)}, nil
}

// segments cuts the frame by its header (G.5).
func segments(data []byte, planes int) ([][]byte, error) {
	if len(data) < headerBytes {
		return nil, codec.Malformed("codec.rle-header", "%d bytes are too few for a header", "Bytes", len(data))
	}
	count := binary.LittleEndian.Uint32(data)
	switch {
	case count == 0 || count > maxSegments:
		return nil, codec.Malformed("codec.rle-count", "header counts %d segments", "N", count)
	case count < uint32(planes):
		return nil, codec.Malformed("codec.rle-segments", "%d segments for samples of %d bytes", "N", count, "Bytes", planes)
	case count > uint32(planes):
		return nil, codec.Unsupported("codec.rle-colour", "%d segments, of colour or wide samples", "N", count)
	}
	cut := make([][]byte, planes)
	end := uint32(len(data))
	if uint64(len(data)) > 1<<32-1 {
		return nil, codec.Unsupported("codec.rle-frame", "frame of %d bytes", "Bytes", len(data))
	}
	for i := planes - 1; i >= 0; i-- {
		start := binary.LittleEndian.Uint32(data[4+4*i:])
		if start < headerBytes || start > end {
			return nil, codec.Malformed("codec.rle-begins", "segment %d begins at byte %d of %d", "N", i+1, "Byte", start, "Bytes", len(data))
		}
		cut[i], end = data[start:end], start
	}
	return cut, nil
}

// unpack expands one segment (G.3.2) into the low bytes of pix. Runs may cross
// the ends of rows, which G.3.1 forbids to encoders but is seen. So is, after an
// odd number of pixels, the native pixel data's pad byte as one sample more.
func unpack(pix []uint16, src []byte, segment int) error {
	pad := len(pix) % 2
	for len(pix) > 0 {
		if len(src) < 2 {
			return tooShort(segment)
		}
		switch n := int(int8(src[0])); {
		case n >= 0: // the next n+1 bytes as they are
			if n++; n >= len(src) {
				return tooShort(segment)
			}
			if n > len(pix)+pad {
				return tooLong(segment)
			}
			literal := src[1 : 1+n]
			src = src[1+n:]
			n = min(n, len(pix))
			for i, v := range literal[:n] {
				pix[i] |= uint16(v)
			}
			pix = pix[n:]
		case n > -128: // the next byte 1-n times
			if n = 1 - n; n > len(pix)+pad {
				return tooLong(segment)
			}
			v := uint16(src[1])
			n = min(n, len(pix))
			for i := range pix[:n] {
				pix[i] |= v
			}
			pix, src = pix[n:], src[2:]
		default: // nothing
			src = src[1:]
		}
	}
	for _, b := range src {
		if b != 0 && b != 0x80 { // padding, or the code for nothing
			return tooLong(segment)
		}
	}
	return nil
}

func tooShort(segment int) error {
	return codec.Malformed("codec.rle-short", "segment %d ends before the last pixel", "N", segment+1)
}

func tooLong(segment int) error {
	return codec.Malformed("codec.rle-long", "segment %d goes on after the last pixel", "N", segment+1)
}
