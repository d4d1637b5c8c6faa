package codectest

import (
	"bytes"
	"encoding/binary"
	"errors"
	"strings"
)

// Explicit little endian, the transfer syntax of the files that WriteDICOM makes.
const explicitLittleEndian = "1.2.840.10008.1.2.1"

// longForm lists the value representations with a 32-bit length (PS3.5 7.1.2).
const longForm = "OB OD OF OL OV OW SQ SV UC UN UR UT UV"

func appendElement(b []byte, group, element uint16, vr string, value []byte) []byte {
	if len(value)%2 != 0 {
		pad := byte(0)
		if strings.Contains("CS PN LO", vr) {
			pad = ' '
		}
		value = append(bytes.Clone(value), pad)
	}
	b = binary.LittleEndian.AppendUint16(b, group)
	b = binary.LittleEndian.AppendUint16(b, element)
	b = append(b, vr...)
	if strings.Contains(longForm, vr) {
		b = binary.LittleEndian.AppendUint16(b, 0)
		b = binary.LittleEndian.AppendUint32(b, uint32(len(value)))
	} else {
		b = binary.LittleEndian.AppendUint16(b, uint16(len(value)))
	}
	return append(b, value...)
}

func u16(v int) []byte { return binary.LittleEndian.AppendUint16(nil, uint16(v)) }

// DICOM wraps samples as an uncompressed single-frame Digital X-Ray object
// with just enough in its header for the compressors.
func DICOM(pix []uint16, rows, columns, bits int) []byte {
	b := header(rows, columns, bits, explicitLittleEndian)
	if allocated(bits) == 8 {
		raw := make([]byte, len(pix))
		for i, v := range pix {
			raw[i] = byte(v)
		}
		return appendElement(b, 0x7FE0, 0x10, "OB", raw)
	}
	raw := make([]byte, 0, 2*len(pix))
	for _, v := range pix {
		raw = binary.LittleEndian.AppendUint16(raw, v)
	}
	return appendElement(b, 0x7FE0, 0x10, "OW", raw)
}

// Encapsulated wraps a codestream as a single-frame object of one fragment.
func Encapsulated(frame []byte, rows, columns, bits int, syntax string) []byte {
	const undefined = 0xFFFFFFFF
	item := func(b []byte, element uint16, n int) []byte {
		b = append(b, 0xFE, 0xFF)
		b = binary.LittleEndian.AppendUint16(b, element)
		return binary.LittleEndian.AppendUint32(b, uint32(n))
	}
	b := header(rows, columns, bits, syntax)
	b = append(b, 0xE0, 0x7F, 0x10, 0x00, 'O', 'B', 0, 0)
	b = binary.LittleEndian.AppendUint32(b, undefined)
	b = item(b, 0xE000, 0) // empty offset table
	b = item(b, 0xE000, len(frame)+len(frame)%2)
	b = append(b, frame...)
	b = append(b, make([]byte, len(frame)%2)...)
	return item(b, 0xE0DD, 0)
}

// header is everything before the pixel data.
func header(rows, columns, bits int, syntax string) []byte {
	const class, instance = "1.2.840.10008.5.1.4.1.1.1.1", "1.2.826.0.1.3680043.10.9999.1"
	var meta []byte
	meta = appendElement(meta, 2, 0x01, "OB", []byte{0, 1})
	meta = appendElement(meta, 2, 0x02, "UI", []byte(class))
	meta = appendElement(meta, 2, 0x03, "UI", []byte(instance))
	meta = appendElement(meta, 2, 0x10, "UI", []byte(syntax))
	meta = appendElement(meta, 2, 0x12, "UI", []byte(instance))

	b := append(make([]byte, 128), "DICM"...)
	b = appendElement(b, 2, 0, "UL", binary.LittleEndian.AppendUint32(nil, uint32(len(meta))))
	b = append(b, meta...)
	for _, e := range []struct {
		group, element uint16
		vr             string
		value          []byte
	}{
		{0x08, 0x16, "UI", []byte(class)}, {0x08, 0x18, "UI", []byte(instance)}, {0x08, 0x60, "CS", []byte("DX")},
		{0x10, 0x10, "PN", []byte("INVENTED")}, {0x10, 0x20, "LO", []byte("P-1")},
		{0x20, 0x0D, "UI", []byte(instance + ".1")}, {0x20, 0x0E, "UI", []byte(instance + ".2")},
		{0x28, 0x02, "US", u16(1)}, {0x28, 0x04, "CS", []byte("MONOCHROME2")},
		{0x28, 0x10, "US", u16(rows)}, {0x28, 0x11, "US", u16(columns)},
		{0x28, 0x100, "US", u16(allocated(bits))}, {0x28, 0x101, "US", u16(bits)},
		{0x28, 0x102, "US", u16(bits - 1)}, {0x28, 0x103, "US", u16(0)},
	} {
		b = appendElement(b, e.group, e.element, e.vr, e.value)
	}
	return b
}

func allocated(bits int) int {
	if bits <= 8 {
		return 8
	}
	return 16
}

// Frame takes the pixel data out of an explicit little endian file: native
// bytes, or the joined fragments of one frame. It looks for the element's first
// bytes, which is good enough for the files made here.
func Frame(file []byte) ([]byte, error) {
	const undefined = 0xFFFFFFFF
	at := bytes.Index(file, []byte("\xE0\x7F\x10\x00OB"))
	if at < 0 {
		at = bytes.Index(file, []byte("\xE0\x7F\x10\x00OW"))
	}
	if at < 0 || at+12 > len(file) {
		return nil, errors.New("codectest: no pixel data")
	}
	n := binary.LittleEndian.Uint32(file[at+8:])
	value := file[at+12:]
	switch {
	case n == undefined:
		return joinFragments(value)
	case uint64(n) > uint64(len(value)):
		return nil, errors.New("codectest: pixel data are cut")
	}
	return value[:n], nil
}

func joinFragments(b []byte) ([]byte, error) {
	var joined []byte
	for first := true; len(b) >= 8; first = false {
		n := int(binary.LittleEndian.Uint32(b[4:]))
		if binary.LittleEndian.Uint16(b[2:]) == 0xE0DD {
			return joined, nil
		}
		if n > len(b)-8 {
			break
		}
		if !first { // the first item is the offset table
			joined = append(joined, b[8:8+n]...)
		}
		b = b[8+n:]
	}
	return nil, errors.New("codectest: fragments are not closed")
}

// Samples reads native pixel bytes.
func Samples(native []byte, pixels, bits int) []uint16 {
	pix := make([]uint16, pixels)
	for i := range pix {
		if allocated(bits) == 8 {
			pix[i] = uint16(native[i])
		} else {
			pix[i] = binary.LittleEndian.Uint16(native[2*i:])
		}
	}
	return pix
}
