package dicomio

import "errors"

// mends counts what a walk has passed over or taken for ended in a header that
// breaks the standard, with the first element of each kind.
type mends struct {
	private, unended   uint32 // tags
	nPrivate, nUnended int
}

func (m *mends) open(t uint32) {
	if m.nUnended++; m.unended == 0 && t != itemTag {
		m.unended = t
	}
}

func (m *mends) passed(t uint32) {
	if m.nPrivate++; m.private == 0 {
		m.private = t
	}
}

// told warns of what was mended.
func (f *Film) told(m mends) {
	if m.nPrivate > 0 {
		f.warn("tag.private-unknown", "private elements of an unknown value representation were passed over: %d, the first %s", "N", m.nPrivate, "Element", tagName(m.private))
	}
	if m.nUnended > 0 {
		f.warn("tag.unended", "sequences or items without an end were taken to end where something follows that cannot be inside: %d, the first in %s", "N", m.nUnended, "Element", tagName(m.unended))
	}
}

// strange finds the length of a private element whose value representation is
// none: of the forms that an element may have (PS3.5 section 7.1), the first one
// after which another element begins.
func (w *walker) strange(h head, p, end int) (head, error) {
	fault := malformed("read.representation-unknown", "%s has the unknown value representation %q at byte %d", "Element", tagName(h.tag), "VR", w.b[p+4:p+6], "Byte", p)
	if h.tag>>16&1 == 0 || end-p < 12 {
		return h, fault
	}
	for _, form := range []head{
		{n: uint32(w.order.Uint16(w.b[p+6:])), value: p + 8},
		{n: w.order.Uint32(w.b[p+8:]), value: p + 12},
		{n: w.order.Uint32(w.b[p+4:]), value: p + 8}, // implicit
	} {
		if form.n == undefined || uint64(form.n) > uint64(end-form.value) {
			continue
		}
		begins, err := w.begins(form.value+int(form.n), end, h.tag)
		if err != nil {
			return h, err
		}
		if begins {
			w.mended.passed(h.tag)
			return head{tag: h.tag, vr: "UN", n: form.n, value: form.value}, nil
		}
	}
	return h, fault
}

// begins tells whether at p there is the head of an element that may follow the
// one of tag t, or the end of what encloses it.
func (w *walker) begins(p, end int, t uint32) (bool, error) {
	switch {
	case p == end:
		return true, nil
	case end-p < 8:
		return false, nil
	case len(w.b)-p < 8:
		return false, w.short(p)
	}
	next := w.tagAt(p)
	_, ok := known[[2]byte{w.b[p+4], w.b[p+5]}]
	return next > t && (ok || next == itemEnd), nil
}

// skipOrMend is skip for an element of the data set itself. A sequence that
// swallows all that follows, since it and its last item have no end, is taken to
// end at the next element of a greater group.
func (w *walker) skipOrMend(h head) (int, error) {
	next, err := w.skip(h, w.size, 0, w.implicit)
	if err == nil || h.n != undefined || !errors.Is(err, ErrMalformed) {
		return next, err
	}
	before := w.mended
	w.outside = uint16(h.tag >> 16)
	next, again := w.skip(h, w.size, 0, w.implicit)
	w.outside = 0
	if again != nil {
		w.mended = before
		return 0, err
	}
	return next, nil
}
