package dicomio

import (
	"encoding/binary"
	"errors"
)

const (
	undefined   = 0xFFFFFFFF // a length that is not stated
	maxDepth    = 32         // of nested sequences
	maxElements = 1 << 20    // in one file, nested ones counted

	itemTag      = 0xFFFEE000
	itemEnd      = 0xFFFEE00D
	sequenceEnd  = 0xFFFEE0DD
	pixelDataTag = 0x7FE00010
)

// head is the head of a data element (PS3.5 section 7.1).
type head struct {
	tag   uint32 // group and element number
	vr    string // "" in an implicit file and for item tags
	n     uint32 // value length, or undefined
	value int    // where the value begins
}

// errMore says that the walk needs more of the file than it was given.
var errMore = errors.New("more of the file is needed")

// walker steps over data elements. It believes no length: every value it
// reports lies inside size. It allocates nothing. It may be given the beginning
// of a file only; where it needs more than that it fails with errMore.
type walker struct {
	b        []byte
	size     int // of the whole file
	order    binary.ByteOrder
	implicit bool
	count    int // elements seen
	mended   mends
	outside  uint16 // where not 0, elements of greater groups are in no sequence
}

// known are the value representations of PS3.5 table 6.2-1; true for those
// whose length field has 32 bits.
var known = map[[2]byte]struct {
	vr   string
	long bool
}{
	{'A', 'E'}: {"AE", false}, {'A', 'S'}: {"AS", false}, {'A', 'T'}: {"AT", false}, {'C', 'S'}: {"CS", false},
	{'D', 'A'}: {"DA", false}, {'D', 'S'}: {"DS", false}, {'D', 'T'}: {"DT", false}, {'F', 'D'}: {"FD", false},
	{'F', 'L'}: {"FL", false}, {'I', 'S'}: {"IS", false}, {'L', 'O'}: {"LO", false}, {'L', 'T'}: {"LT", false},
	{'O', 'B'}: {"OB", true}, {'O', 'D'}: {"OD", true}, {'O', 'F'}: {"OF", true}, {'O', 'L'}: {"OL", true},
	{'O', 'V'}: {"OV", true}, {'O', 'W'}: {"OW", true}, {'P', 'N'}: {"PN", false}, {'S', 'H'}: {"SH", false},
	{'S', 'L'}: {"SL", false}, {'S', 'Q'}: {"SQ", true}, {'S', 'S'}: {"SS", false}, {'S', 'T'}: {"ST", false},
	{'S', 'V'}: {"SV", true}, {'T', 'M'}: {"TM", false}, {'U', 'C'}: {"UC", true}, {'U', 'I'}: {"UI", false},
	{'U', 'L'}: {"UL", false}, {'U', 'N'}: {"UN", true}, {'U', 'R'}: {"UR", true}, {'U', 'S'}: {"US", false},
	{'U', 'T'}: {"UT", true}, {'U', 'V'}: {"UV", true},
}

// tagAt reads the tag at p, which the caller has checked to be inside.
func (w *walker) tagAt(p int) uint32 {
	return uint32(w.order.Uint16(w.b[p:]))<<16 | uint32(w.order.Uint16(w.b[p+2:]))
}

// group returns the group number of the element at p, or 0 if none begins there.
func (w *walker) group(p int) uint16 {
	if len(w.b)-p < 2 {
		return 0
	}
	return w.order.Uint16(w.b[p:])
}

// short is the fault of an element at p that is not all there.
func (w *walker) short(p int) error {
	if len(w.b) < w.size {
		return errMore
	}
	return malformed("read.head-cut-at", "ends inside the head of an element at byte %d", "Byte", p)
}

// head reads the head of the element at p, no part of it beyond end.
func (w *walker) head(p, end int, implicit bool) (h head, err error) {
	if len(w.b)-p < 12 && len(w.b) < w.size || end-p < 8 {
		return h, w.short(p)
	}
	if w.count++; w.count > maxElements {
		return h, unsupported("read.many-elements", "more than %d elements", "Most", maxElements)
	}
	h.tag = w.tagAt(p)
	if implicit || h.tag>>16 == 0xFFFE {
		h.n, h.value = w.order.Uint32(w.b[p+4:]), p+8
		return h, nil
	}
	k, ok := known[[2]byte{w.b[p+4], w.b[p+5]}]
	if !ok {
		return w.strange(h, p, end)
	}
	h.vr = k.vr
	if !k.long {
		h.n, h.value = uint32(w.order.Uint16(w.b[p+6:])), p+8
		return h, nil
	}
	if end-p < 12 {
		return h, malformed("read.head-cut", "ends inside the head of %s", "Element", tagName(h.tag))
	}
	h.n, h.value = w.order.Uint32(w.b[p+8:]), p+12
	return h, nil
}

// skip returns where the element after h begins. A value of defined length is
// stepped over whole, one of undefined length item by item.
func (w *walker) skip(h head, end, depth int, implicit bool) (int, error) {
	if h.n != undefined {
		if uint64(h.n) > uint64(end-h.value) {
			return 0, malformed("read.states-bytes", "%s states %d bytes, %d are left", "Element", tagName(h.tag), "Bytes", h.n, "Left", end-h.value)
		}
		return h.value + int(h.n), nil
	}
	if depth >= maxDepth {
		return 0, malformed("read.nested", "sequences nested more than %d deep", "Most", maxDepth)
	}
	raw := false
	switch h.vr {
	case "OB", "OW":
		raw = true // fragments of pixel data
	case "UN":
		implicit = true // PS3.5 section 6.2.2 note 2
	case "", "SQ":
	default:
		return 0, malformed("read.element-length", "%s has no length", "Element", tagName(h.tag))
	}
	for p := h.value; ; {
		if p == end && end < w.size && !raw { // the enclosing length
			w.mended.open(h.tag)
			return p, nil
		}
		item, err := w.head(p, end, true)
		switch {
		case err != nil:
			return 0, err
		case item.tag == sequenceEnd:
			return item.value, nil
		case item.tag > h.tag && item.tag != itemTag && !raw: // elements ascend
			w.mended.open(h.tag)
			return p, nil
		case item.tag != itemTag:
			return 0, malformed("read.item-due-in", "%s in %s where an item is due", "Element", tagName(item.tag), "Sequence", tagName(h.tag))
		}
		if item.n == undefined && raw {
			return 0, malformed("read.fragment-length", "a fragment of %s has no length", "Element", tagName(h.tag))
		}
		if item.n != undefined {
			p, err = w.skip(item, end, depth+1, implicit)
		} else {
			p, err = w.skipItem(item, end, depth+1, implicit)
		}
		if err != nil {
			return 0, err
		}
	}
}

// skipItem steps over the elements of an item of undefined length.
func (w *walker) skipItem(item head, end, depth int, implicit bool) (int, error) {
	for p := item.value; ; {
		if p == end && end < w.size { // the enclosing length
			w.mended.open(itemTag)
			return p, nil
		}
		h, err := w.head(p, end, implicit)
		if err != nil {
			return 0, err
		}
		switch {
		case h.tag == itemEnd:
			return h.value, nil
		case h.tag == itemTag || h.tag == sequenceEnd || w.outside > 0 && h.tag>>16 > uint32(w.outside):
			w.mended.open(itemTag)
			return p, nil
		}
		if p, err = w.skip(h, end, depth, implicit); err != nil {
			return 0, err
		}
	}
}

// each calls visit for every element from p up to the pixel data, with the
// offset of the element after it, and returns the head of the pixel data. ok is
// false if there is none.
func (w *walker) each(p int, visit func(h head, next int) error) (pixels head, ok bool, err error) {
	for p < w.size {
		h, err := w.head(p, w.size, w.implicit)
		if err != nil {
			return pixels, false, err
		}
		if h.tag == pixelDataTag {
			return h, true, nil
		}
		if p, err = w.skipOrMend(h); err != nil {
			return pixels, false, err
		}
		mended := w.mended // what visit comes upon has been counted
		if err = visit(h, p); err != nil {
			return pixels, false, err
		}
		w.mended = mended
	}
	return pixels, false, nil
}

// items calls visit for every item of the sequence e, which ends before next;
// visit returns where the item ends.
func (w *walker) items(e head, next int, visit func(item head, end int) (int, error)) error {
	for p := e.value; p < next; {
		item, err := w.head(p, next, true)
		switch {
		case err != nil:
			return err
		case item.tag == sequenceEnd:
			return nil
		case item.tag != itemTag:
			return malformed("read.item-due", "%s where an item is due", "Element", tagName(item.tag))
		}
		if p, err = visit(item, next); err != nil {
			return err
		}
	}
	return nil
}
