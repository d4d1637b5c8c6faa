package dicomio

import (
	"bytes"
	"encoding/binary"
	"errors"
	"maps"
	"slices"

	"github.com/suyashkumar/dicom"
)

// sequence is what is read of the items of one.
type sequence struct {
	values    map[uint32]string // with their value representations
	sequences map[uint32]sequence
	most      int    // items
	bytes     uint32 // of a value, at most
	needed    bool   // the picture depends on it: a fault in it is one of the film
}

// maxFrames is the most frames whose functional groups are read.
const maxFrames = 1 << 16

// sequences are those that are read.
var sequences = map[uint32]sequence{
	0x00082218: codedItems,                                     // Anatomic Region Sequence
	0x52009229: {most: 1, sequences: functionalGroups},         // Shared Functional Groups Sequence
	0x52009230: {most: maxFrames, sequences: functionalGroups}, // Per-frame Functional Groups Sequence
	0x00540220: viewCodes,                                      // View Code Sequence
	0x00283000: lookUps,                                        // Modality LUT Sequence
	0x00283010: lookUps,                                        // VOI LUT Sequence
}

// lookUps are look-up tables (PS3.3 C.11.1, C.11.2).
var lookUps = sequence{most: 16, bytes: 2 * 65536, needed: true, values: map[uint32]string{
	0x00283002: "US", // LUT Descriptor
	0x00283003: "LO", // LUT Explanation
	0x00283006: "OW", // LUT Data
}}

// codedItems are codes (PS3.3 table 8.8-1a).
var codedItems = sequence{most: 16, bytes: maxValue, values: map[uint32]string{
	0x00080100: "SH", // Code Value
	0x00080102: "SH", // Coding Scheme Designator
	0x00080104: "LO", // Code Meaning
}}

// viewCodes are codes of a view with their modifiers (PS3.3 C.8.11.5).
var viewCodes = sequence{most: codedItems.most, bytes: codedItems.bytes, values: codedItems.values,
	sequences: map[uint32]sequence{0x00540222: codedItems}} // View Modifier Code Sequence

// clean is a header rewritten in explicit little endian: elements wanted, each
// at most once, in the order of their tags.
type clean struct {
	order binary.ByteOrder
	els   map[uint32][]byte
	sets  []string // character sets of its texts
	left  []*Fault // sequences that were left out, and why
}

func newClean(order binary.ByteOrder) *clean {
	return &clean{order: order, els: make(map[uint32][]byte, len(wanted))}
}

// add takes the element over if it is wanted. The first of two counts.
func (c *clean) add(w *walker, e head, next int) error {
	vr, ok := wanted[e.tag]
	if !ok || c.els[e.tag] != nil {
		return nil
	}
	if vr == "SQ" {
		return c.addSequence(w, e, next, sequences[e.tag], w.implicit)
	}
	if e.tag == 0x00080005 && next <= len(w.b) && e.n <= maxValue {
		c.sets = append(c.sets, characterSets(string(w.b[e.value:next]))...)
		return nil // the texts are decoded here
	}
	most := uint32(maxValue)
	if vr == "OW" {
		most = lookUps.bytes
	}
	return c.addValue(w, e, next, vr, most)
}

// addValue takes over a value of at most so many bytes, as of the type vr where
// the file does not say.
func (c *clean) addValue(w *walker, e head, next int, vr string, most uint32) error {
	if e.n > most || e.vr == "SQ" {
		return nil
	}
	if next > len(w.b) {
		return errMore
	}
	if e.vr != "" && e.vr != "UN" {
		vr = e.vr
	}
	value := w.b[e.value:next]
	if !known[[2]byte{vr[0], vr[1]}].long && len(value) > 65534 {
		return nil // in an implicit file; no value wanted is so long
	}
	if len(value)%unit(vr) != 0 {
		return malformed("read.element-bytes", "%s has %d bytes", "Element", tagName(e.tag), "Bytes", len(value))
	}
	if unit(vr) > 4 || vr == "OB" || vr == "UN" || vr == "UR" {
		return nil // no such type among those wanted
	}
	switch vr {
	case "LO", "LT", "PN", "SH", "ST", "UC", "UT":
		value = []byte(decodeText(value, c.sets))
	}
	c.els[e.tag] = appendElement(nil, e.tag, vr, ordered(value, unit(vr), c.order))
	return nil
}

// encode appends the elements in the order of their tags.
func (c *clean) encode(b []byte) []byte {
	for _, t := range slices.Sorted(maps.Keys(c.els)) {
		b = append(b, c.els[t]...)
	}
	return b
}

// parse has the library read the clean header.
func (c *clean) parse() (set dicom.Dataset, err error) {
	b := c.encode(appendMeta(nil, explicitLittle, nil))
	defer func() {
		if r := recover(); r != nil {
			err = malformed("read.header", "header: %v", "Why", r)
		}
	}()
	set, err = dicom.Parse(bytes.NewReader(b), int64(len(b)), nil)
	if err != nil {
		return set, malformed("read.header", "header: %v", "Why", err)
	}
	return set, nil
}

// addSequence takes over a sequence, or leaves it out where it is broken and the picture
// does not depend on it.
func (c *clean) addSequence(w *walker, e head, next int, s sequence, implicit bool) error {
	items, err := c.items(w, e, next, s, implicit || e.vr == "UN")
	switch {
	case err == nil:
		c.els[e.tag] = appendElement(nil, e.tag, "SQ", items)
		return nil
	case errors.Is(err, errMore):
		return err
	case s.needed:
		return refused("read.in", "%v in %s", "Why", err, "Element", tagName(e.tag))
	}
	c.left = append(c.left, refused("read.left-out", "%v in %s: not used", "Why", err, "Element", tagName(e.tag)))
	return nil
}

// items returns the items of a sequence, encoded anew.
func (c *clean) items(w *walker, e head, next int, s sequence, implicit bool) (items []byte, err error) {
	if e.vr != "" && e.vr != "UN" && e.vr != "SQ" {
		return nil, malformed("read.representation", "%s has the value representation %s", "Element", tagName(e.tag), "VR", e.vr)
	}
	if next > len(w.b) {
		return nil, errMore
	}
	n := 0
	err = w.items(e, next, func(item head, end int) (int, error) {
		if n++; n > s.most {
			return 0, unsupported("read.many-items", "more than %d items", "Most", s.most)
		}
		inner := newClean(c.order)
		inner.sets = c.sets
		p, err := inner.addItem(w, item, end, implicit, s)
		items = appendItem(items, inner.encode(nil))
		c.left = append(c.left, inner.left...)
		return p, err
	})
	return items, err
}

// addItem takes over the elements wanted of an item and returns where it ends.
func (c *clean) addItem(w *walker, item head, end int, implicit bool, s sequence) (int, error) {
	if item.n != undefined {
		if uint64(item.n) > uint64(end-item.value) {
			return 0, malformed("read.item-bytes", "an item states %d bytes, %d are left", "Bytes", item.n, "Left", end-item.value)
		}
		end = item.value + int(item.n)
	}
	for p := item.value; ; {
		if p == end {
			return p, nil
		}
		e, err := w.head(p, end, implicit)
		if err != nil {
			return 0, err
		}
		switch e.tag {
		case itemEnd:
			return e.value, nil
		case itemTag, sequenceEnd: // no end of its own; the walk has told it
			return p, nil
		}
		if p, err = w.skip(e, end, 1, implicit); err != nil {
			return 0, err
		}
		if err := c.addOf(w, e, p, implicit, s); err != nil {
			return 0, err
		}
	}
}

// addOf takes over an element of an item if it is wanted. The first of two counts.
func (c *clean) addOf(w *walker, e head, next int, implicit bool, s sequence) error {
	if c.els[e.tag] != nil {
		return nil
	}
	if inner, ok := s.sequences[e.tag]; ok {
		return c.addSequence(w, e, next, inner, implicit)
	}
	if vr, ok := s.values[e.tag]; ok {
		return c.addValue(w, e, next, vr, s.bytes)
	}
	return nil
}
