package dicomio

import (
	"strings"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// ReadItem reads the data set of a DICOM file as far as its pixels, texts in UTF-8,
// without private elements and group lengths. Errors are those of Open.
func ReadItem(path string) (Item, error) {
	b, _, err := read(path)
	if err != nil {
		return nil, named(path, err)
	}
	i, err := readItem(b)
	if err != nil {
		return nil, named(path, err)
	}
	return i, nil
}

func readItem(b []byte) (Item, error) {
	if kind := sniff(b); kind != "DICOM" {
		return nil, anonymous(kind)
	}
	h, p, err := openHeader(b, len(b))
	if err != nil {
		return nil, err
	}
	if h.syntax.deflated {
		if h, err = parseHeader(b, len(b)); err != nil {
			return nil, err
		}
		p = 0
	}
	r := &itemReader{w: &walker{b: h.data, size: h.size, order: h.order}}
	out := Item{}
	r.w.implicit = h.syntax.implicit
	_, _, err = r.w.each(p, func(e head, next int) error { return r.add(out, e, next, 0, r.w.implicit) })
	return out, err
}

// itemReader takes over elements with the items in them.
type itemReader struct {
	w    *walker
	sets []string // character sets of the texts
}

// add takes over an element that ends before next.
func (r *itemReader) add(to Item, e head, next, depth int, implicit bool) error {
	if e.tag>>16&1 == 1 || e.tag&0xFFFF == 0 {
		return nil
	}
	vr := e.vr
	if vr == "" || vr == "UN" {
		vr = usualVR(e.tag)
	}
	if vr == "SQ" {
		items, err := r.items(e, next, depth, implicit || e.vr == "UN")
		to[e.tag] = Value{VR: vr, Items: items}
		return err
	}
	if e.n == undefined { // fragments of a picture in a sequence
		return nil
	}
	value := r.w.b[e.value:next]
	if len(value)%unit(vr) != 0 {
		return malformed("read.element-bytes", "%s has %d bytes", "Element", tagName(e.tag), "Bytes", len(value))
	}
	to[e.tag] = Value{VR: vr, Bytes: r.bytes(e.tag, vr, ordered(value, unit(vr), r.w.order))}
	return nil
}

// bytes returns a value as an Item holds it.
func (r *itemReader) bytes(t uint32, vr string, value []byte) []byte {
	switch vr {
	case "LO", "LT", "PN", "SH", "ST", "UC", "UT":
		return []byte(unpadded(decodeText(value, r.sets)))
	case "AE", "AS", "CS", "DA", "DS", "DT", "IS", "TM", "UI", "UR":
		text := unpadded(string(value))
		if t == 0x00080005 {
			r.sets = characterSets(text)
		}
		return []byte(text)
	}
	return append([]byte(nil), value...)
}

// items reads a sequence.
func (r *itemReader) items(e head, next, depth int, implicit bool) (out []Item, err error) {
	if depth >= maxDepth {
		return nil, malformed("read.nested", "sequences nested more than %d deep", "Most", maxDepth)
	}
	err = r.w.items(e, next, func(item head, end int) (int, error) {
		one, p, err := r.item(item, end, depth+1, implicit)
		out = append(out, one)
		return p, err
	})
	return out, err
}

// item reads an item and returns where it ends.
func (r *itemReader) item(item head, end, depth int, implicit bool) (Item, int, error) {
	out := Item{}
	defer func(sets []string) { r.sets = sets }(r.sets)
	if item.n != undefined {
		if uint64(item.n) > uint64(end-item.value) {
			return out, 0, malformed("read.item-bytes", "an item states %d bytes, %d are left", "Bytes", item.n, "Left", end-item.value)
		}
		end = item.value + int(item.n)
	}
	for p := item.value; ; {
		if item.n != undefined && p == end {
			return out, p, nil
		}
		e, err := r.w.head(p, end, implicit)
		if err != nil {
			return out, 0, err
		}
		if e.tag == itemEnd {
			return out, e.value, nil
		}
		if p, err = r.w.skip(e, end, depth, implicit); err != nil {
			return out, 0, err
		}
		if err = r.add(out, e, p, depth, implicit); err != nil {
			return out, 0, err
		}
	}
}

// usualVR is the VR of an element of which the file does not say it, by the
// dictionary; the first where there may be two, UN where it is not there.
func usualVR(t uint32) string {
	info, err := tag.Find(tag.Tag{Group: uint16(t >> 16), Element: uint16(t)})
	if err != nil || len(info.VRs) == 0 {
		return "UN"
	}
	if vr := info.VRs[0]; len(vr) == 2 {
		if _, ok := known[[2]byte{vr[0], vr[1]}]; ok {
			return vr
		}
	}
	return "UN"
}

func unpadded(text string) string { return strings.TrimRight(text, " \x00") }
