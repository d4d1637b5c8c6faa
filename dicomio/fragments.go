package dicomio

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"strings"
	"unsafe"

	"linerwatch/dicomio/codec"
	"linerwatch/dicomio/codec/jpeg"
)

// fragments returns the items of encapsulated pixel data (PS3.5 A.4): the basic
// offset table and the fragments. Where the file ends with a whole fragment in
// place of the mark that is due, that is kept in unended: the decoder will tell
// whether something is missing.
func (h *header) fragments() (table []byte, parts [][]byte, err error) {
	if h.pixels.n != undefined {
		return nil, nil, malformed("read.no-fragments", "compressed, but the pixel data is not in fragments")
	}
	w := &walker{b: h.data, size: h.size, order: h.order}
	for p, first := h.pixels.value, true; ; first = false {
		if h.unended = p == w.size && len(parts) > 0; h.unended {
			return table, parts, nil
		}
		item, err := w.head(p, w.size, true)
		switch {
		case err != nil:
			return nil, nil, malformed("read.no-end", "truncated: the pixel data has no end")
		case item.tag == sequenceEnd && !first:
			return table, parts, nil
		case item.tag != itemTag || item.n == undefined:
			return nil, nil, malformed("read.fragment-due", "%s in the pixel data where a fragment is due", "Element", tagName(item.tag))
		}
		if p, err = w.skip(item, w.size, 0, true); err != nil {
			return nil, nil, malformed("read.fragment-bytes", "truncated: a fragment of %d bytes, %d are left", "Bytes", item.n, "Left", w.size-item.value)
		}
		if first {
			table = h.data[item.value:p]
		} else {
			parts = append(parts, h.data[item.value:p])
		}
	}
}

// encapsulated returns the compressed bytes of one frame of several, counted from 1.
func (h *header) encapsulated(frames, frame int) ([]byte, error) {
	table, parts, err := h.fragments()
	if err != nil {
		return nil, err
	}
	switch {
	case len(parts) < frames:
		return nil, malformed("read.fragments", "%d fragments of pixel data for %d frames", "N", len(parts), "Frames", frames)
	case len(parts) == frames:
		return parts[frame-1], nil
	case frames == 1:
		return bytes.Join(parts, nil), nil
	}
	starts := byTable(table, parts)
	if len(starts) != frames {
		starts = byMarker(parts)
	}
	if len(starts) != frames {
		return nil, malformed("read.fragments-table", "%d fragments of pixel data for %d frames, and no table that parts them", "N", len(parts), "Frames", frames)
	}
	starts = append(starts, len(parts))
	return bytes.Join(parts[starts[frame-1]:starts[frame]], nil), nil
}

// byTable returns the first fragment of each frame by the basic offset table:
// offsets in bytes of the fragments' items from the first one on.
func byTable(table []byte, parts [][]byte) (starts []int) {
	at, i := uint64(0), 0
	for ; len(table) >= 4; table = table[4:] {
		offset := uint64(binary.LittleEndian.Uint32(table))
		for i < len(parts) && at < offset {
			at += 8 + uint64(len(parts[i]))
			i++
		}
		if i == len(parts) || at != offset || len(starts) > 0 && i == starts[len(starts)-1] {
			return nil
		}
		starts = append(starts, i)
	}
	return starts
}

// byMarker returns the fragments that begin with the first marker of JPEG (SOI)
// or of JPEG 2000 (SOC).
func byMarker(parts [][]byte) (starts []int) {
	for i, p := range parts {
		if bytes.HasPrefix(p, []byte{0xFF, 0xD8}) || bytes.HasPrefix(p, []byte{0xFF, 0x4F, 0xFF, 0x51}) {
			starts = append(starts, i)
		}
	}
	return starts
}

// decompress fills in the pixels of a compressed frame.
func (h *header) decompress(f *Film, l layout, frame int) error {
	decode := h.syntax.decode
	if decode == nil {
		return refuse(h.uid)
	}
	b, err := h.encapsulated(l.frames, frame)
	if err != nil {
		return err
	}
	defer decoders.enter(decoded(l.rows * l.columns))()
	if l.colour.kind != "" {
		return h.decodeColour(f, l, b)
	}
	samples, info, err := decode(b, codec.Size{Rows: l.rows, Columns: l.columns, Bits: l.allocated})
	if err != nil {
		return coded(h.syntax.name, err)
	}
	if info.Bits > l.allocated {
		return malformed("read.decoded-bits", "%s of %d bits in a film of %d bits allocated", "Syntax", h.syntax.name, "Bits", info.Bits, "Allocated", l.allocated)
	}
	if info.Progressive && !strings.HasSuffix(h.syntax.name, "(retired)") {
		f.warn("tag.progressive", "the picture is a progressive JPEG, which %s is not", "Syntax", h.syntax.name)
	}
	if h.unended {
		f.warn("tag.no-mark", "the mark at the end of the pixel data is missing; the picture is whole")
	}
	f.Lossy = f.Lossy || info.Lossy
	if f.Lossy && l.shift == 0 && (info.Bits > l.bits || l.signed || info.Signed) {
		l.limit(samples, info.Signed)
	}
	f.Pixels = l.samples(samples, info, l.flip(f))
	l.look(f)
	return nil
}

// coded takes a decoder's fault over.
func coded(name string, err error) error {
	var fault *codec.Fault
	if !errors.As(err, &fault) {
		return malformed("read.decoder", "compressed with %s: %v", "Syntax", name, "Why", err)
	}
	why := &Fault{Code: fault.Code, Values: fault.Values, text: fault.Reason}
	if fault.Kind == codec.ErrUnsupported {
		return unsupported("read.decoder-export", "compressed with %s: %v; export the film uncompressed (explicit little endian)", "Syntax", name, "Why", why)
	}
	return malformed("read.decoder", "compressed with %s: %v", "Syntax", name, "Why", why)
}

// limit takes values that lossy compression has carried beyond the bits stored
// back to the end of their range; they must not begin anew at the other end.
func (l layout) limit(s []uint16, twos bool) {
	low, high := 0, int(mask(l.bits))
	if l.signed {
		low, high = -1<<(l.bits-1), 1<<(l.bits-1)-1
	}
	for i, v := range s {
		s[i] = uint16(min(max(signed(v, 16, l.signed || twos), low), high))
	}
}

// samples turns decoded samples into grey values as grey does stored ones, in
// place. A codestream of fewer bits than are stored has the sign of a signed
// film in its own highest bit.
func (l layout) samples(s []uint16, info codec.Info, flip uint16) *image.Gray16 {
	if l.signed && !info.Signed && info.Bits < l.bits {
		for i, v := range s {
			s[i] = uint16(signed(v, info.Bits, true))
		}
	}
	b := memory(s)
	if binary.NativeEndian.Uint16([]byte{0, 1}) == 1 {
		swap(b) // the machine is big endian
	}
	convert(b, l.shift, mask(l.bits), flip)
	return &image.Gray16{Pix: b, Stride: 2 * l.columns, Rect: image.Rect(0, 0, l.columns, l.rows)}
}

// memory returns the bytes that numbers are kept in, so that a film need not be
// held twice.
func memory(s []uint16) []byte {
	return unsafe.Slice((*byte)(unsafe.Pointer(unsafe.SliceData(s))), 2*len(s))
}

// fewScans refuses a JPEG of more scans than a film has.
func fewScans(b []byte) error {
	if jpeg.Scans(b) > codec.MaxScans {
		return unsupported("read.scans", "JPEG of more than %d scans; save it anew", "Most", codec.MaxScans)
	}
	return nil
}
