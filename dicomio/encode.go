package dicomio

import (
	"encoding/binary"
	"io"
	"maps"
	"slices"
)

// appendElement appends a data element in explicit little endian. A value of
// odd length is padded, UI with a zero byte, all else with a space.
func appendElement(b []byte, t uint32, vr string, value []byte) []byte {
	pad := len(value) % 2
	b = appendHead(b, t, vr, len(value)+pad)
	b = append(b, value...)
	if pad == 1 {
		switch vr {
		case "UI", "OB", "UN":
			b = append(b, 0)
		default:
			b = append(b, ' ')
		}
	}
	return b
}

// appendHead appends the head of an element in explicit little endian.
func appendHead(b []byte, t uint32, vr string, n int) []byte {
	b = binary.LittleEndian.AppendUint16(b, uint16(t>>16))
	b = binary.LittleEndian.AppendUint16(b, uint16(t))
	b = append(b, vr...)
	if known[[2]byte{vr[0], vr[1]}].long {
		b = append(b, 0, 0)
		return binary.LittleEndian.AppendUint32(b, uint32(n))
	}
	return binary.LittleEndian.AppendUint16(b, uint16(n))
}

// implementationUID names this writer (PS3.10 section 7.1), made from a random
// UUID after PS3.5 annex B.2.
const implementationUID = "2.25.224598790539181451052914642024837959010"

// appendMeta appends the preamble and the file meta information; rest holds its
// elements other than the transfer syntax, in the order of their tags.
func appendMeta(b []byte, syntax string, rest []byte) []byte {
	var m []byte
	m = appendElement(m, 0x00020001, "OB", []byte{0, 1})
	m = append(m, rest...)
	m = appendElement(m, 0x00020010, "UI", []byte(syntax))
	m = appendElement(m, 0x00020012, "UI", []byte(implementationUID))
	m = appendElement(m, 0x00020013, "SH", []byte("LINERWATCH"))
	b = append(b, make([]byte, preamble)...)
	b = append(b, "DICM"...)
	b = appendElement(b, 0x00020000, "UL", binary.LittleEndian.AppendUint32(nil, uint32(len(m))))
	return append(b, m...)
}

// Write writes the data set as an explicit little endian file (PS3.10), its elements
// in the order of their tags. It has to have SOP class and SOP instance; the error is
// of a value that is too long for its type.
func (i Item) Write(w io.Writer) error {
	meta := appendElement(nil, 0x00020002, "UI", i[0x00080016].Bytes)
	meta = appendElement(meta, 0x00020003, "UI", i[0x00080018].Bytes)
	b, err := i.append(appendMeta(nil, explicitLittle, meta))
	if err != nil {
		return err
	}
	_, err = w.Write(b)
	return err
}

// append appends the elements of i, with those of the items in it.
func (i Item) append(b []byte) ([]byte, error) {
	for _, tag := range slices.Sorted(maps.Keys(i)) {
		v := i[tag]
		value := v.Bytes
		for _, item := range v.Items {
			inner, err := item.append(nil)
			if err != nil {
				return nil, err
			}
			value = appendItem(value, inner)
		}
		if n := len(value); n >= undefined-1 || n > 65534 && !known[[2]byte{v.VR[0], v.VR[1]}].long {
			return nil, refused("write.value", "%d bytes are too long for %s", "Bytes", n, "Element", tagName(tag))
		}
		b = appendElement(b, tag, v.VR, value)
	}
	return b, nil
}

// appendItem appends an item of a sequence.
func appendItem(b, item []byte) []byte {
	b = binary.LittleEndian.AppendUint32(append(b, 0xFE, 0xFF, 0x00, 0xE0), uint32(len(item)))
	return append(b, item...)
}
