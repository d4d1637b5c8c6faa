package dicomio

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"slices"
	"strconv"
	"strings"
)

// Object is what the file meta information says of the object that follows it (PS3.10
// section 7.1): its SOP class and instance, and its transfer syntax.
type Object struct{ Class, Instance, Syntax string }

// ObjectOf reads the meta information of a DICOM file. start is where the data set begins.
func ObjectOf(path string) (o Object, start int64, err error) {
	f, size, err := regular(path)
	if err != nil {
		return o, 0, named(path, err)
	}
	defer f.Close() // only read from
	b := make([]byte, min(size, firstRead))
	if _, err := io.ReadFull(f, b); err != nil {
		return o, 0, named(path, refused("read.changed", "changed while it was read: %v", "Why", err))
	}
	o, at, err := objectOf(b, size)
	if err != nil {
		return o, 0, named(path, err)
	}
	return o, int64(at), nil
}

func objectOf(b []byte, size int) (Object, int, error) {
	if !isDICOM(b) {
		return Object{}, 0, unsupported("read.no-meta", "no DICOM file with meta information")
	}
	h := &header{}
	p, err := h.meta(&walker{b: b, size: size, order: binary.LittleEndian}, preamble+4)
	switch {
	case errors.Is(err, errMore):
		return Object{}, 0, unsupported("read.long-meta", "meta information of more than %d bytes", "Bytes", len(b))
	case err != nil:
		return Object{}, 0, err
	case h.class == "" || h.object == "":
		return Object{}, 0, malformed("read.meta-lacks", "the meta information does not name its object")
	}
	return Object{h.class, h.object, h.uid}, p, nil
}

// Meta returns what stands in a file before the data set of an object: the preamble and
// the meta information.
func (o Object) Meta() []byte {
	m := appendElement(nil, 0x00020002, "UI", []byte(o.Class))
	return appendMeta(nil, o.Syntax, appendElement(m, 0x00020003, "UI", []byte(o.Instance)))
}

// Readable returns the transfer syntaxes that a film can be opened in, the uncompressed
// ones first.
func Readable() []string {
	var out []string
	for uid, s := range syntaxes {
		if s.native || s.decode != nil {
			out = append(out, uid)
		}
	}
	slices.SortFunc(out, func(a, b string) int {
		if x, y := syntaxes[a].native, syntaxes[b].native; x != y {
			if x {
				return -1
			}
			return 1
		}
		return Natural(a, b)
	})
	return out
}

// Values are the values of a data set's elements by their tags, group and element number:
// text in UTF-8 and without padding, several values with backslashes between them, numbers
// in decimals. Sequences are left out.
type Values map[uint32]string

// ReadValues reads a data set in little endian, implicit or explicit as its transfer
// syntax says, as far as pixel data.
func ReadValues(b []byte, syntax string) (Values, error) {
	r := &itemReader{w: &walker{b: b, size: len(b), order: binary.LittleEndian, implicit: syntaxes[syntax].implicit}}
	item, out := Item{}, Values{}
	_, _, err := r.w.each(0, func(e head, next int) error { return r.add(item, e, next, 0, r.w.implicit) })
	if err != nil {
		return nil, err
	}
	for t, v := range item {
		switch {
		case textual(v.VR):
			out[t] = trimmed(string(v.Bytes))
		case v.VR == "US" || v.VR == "UL":
			var list []string
			for _, n := range item.Numbers(t) {
				list = append(list, strconv.FormatFloat(n, 'f', -1, 64))
			}
			out[t] = strings.Join(list, `\`)
		}
	}
	return out, nil
}

// ReadObject reads a DICOM file: its meta information, its bytes, and the values of its
// data set.
func ReadObject(path string) (o Object, file []byte, v Values, err error) {
	o, start, err := ObjectOf(path)
	if err != nil {
		return o, nil, nil, err
	}
	if file, err = os.ReadFile(path); err != nil {
		return o, nil, nil, err
	}
	v, err = ReadValues(file[start:], o.Syntax)
	return o, file, v, err
}

// textual reports whether values of a VR are texts.
func textual(vr string) bool {
	switch vr {
	case "AE", "AS", "CS", "DA", "DS", "DT", "IS", "LO", "LT", "PN", "SH", "ST", "TM", "UC", "UI", "UR", "UT":
		return true
	}
	return false
}

// trimmed takes the padding off each value of a text.
func trimmed(s string) string {
	list := strings.Split(s, `\`)
	for i := range list {
		list[i] = strings.Trim(list[i], " \x00")
	}
	return strings.Join(list, `\`)
}

// Bytes returns the data set of values in little endian, implicit or explicit as its
// transfer syntax says, texts in UTF-8. It fails where a value is too long for its element,
// or of a kind that is neither text nor sequence; a sequence has to be "".
func (v Values) Bytes(syntax string) ([]byte, error) {
	var out []byte
	for _, t := range slices.Sorted(maps.Keys(v)) {
		vr, value := usualVR(t), v[t]
		switch {
		case vr == "SQ" && value == "":
		case !textual(vr):
			return nil, fmt.Errorf("dicomio: %s is not written as text", tagName(t)) // a programmer's mistake
		case len(value) > 0xFFFE:
			return nil, refused("write.long", "%s of %d bytes; 65534 can be written", "Element", tagName(t), "Bytes", len(value))
		}
		e := appendElement(nil, t, vr, []byte(value))
		if syntaxes[syntax].implicit {
			e = implicitly(e, vr)
		}
		out = append(out, e...)
	}
	return out, nil
}

// implicitly rewrites an element without its value representation.
func implicitly(e []byte, vr string) []byte {
	value := 8
	if known[[2]byte{vr[0], vr[1]}].long {
		value = 12
	}
	out := binary.LittleEndian.AppendUint32(append([]byte(nil), e[:4]...), uint32(len(e)-value))
	return append(out, e[value:]...)
}
