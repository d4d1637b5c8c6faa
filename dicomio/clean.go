package dicomio

import (
	"bytes"
	"encoding/binary"
	"maps"
	"slices"

	"github.com/suyashkumar/dicom"
)

// wantedInTables are the elements of a look-up table (PS3.3 C.11.1, C.11.2).
var wantedInTables = map[uint32]string{
	0x00283002: "US", // LUT Descriptor
	0x00283003: "LO", // LUT Explanation
	0x00283006: "OW", // LUT Data
}

const (
	maxTables = 16        // in one sequence
	maxTable  = 2 * 65536 // bytes of one look-up table
)

// clean is a header rewritten in explicit little endian: elements wanted, each
// at most once, in the order of their tags.
type clean struct {
	order binary.ByteOrder
	els   map[uint32][]byte
	sets  []string // character sets of its texts
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
		return c.addTables(w, e, next)
	}
	if e.tag == 0x00080005 && next <= len(w.b) && e.n <= maxValue {
		c.sets = append(c.sets, characterSets(string(w.b[e.value:next]))...)
		return nil // the texts are decoded here
	}
	return c.addValue(w, e, next, vr, maxValue)
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

// addTables takes over a sequence of look-up tables, item by item.
func (c *clean) addTables(w *walker, e head, next int) error {
	if e.vr != "" && e.vr != "UN" && e.vr != "SQ" {
		return malformed("read.representation", "%s has the value representation %s", "Element", tagName(e.tag), "VR", e.vr)
	}
	if next > len(w.b) {
		return errMore
	}
	var items []byte
	n := 0
	err := w.items(e, next, func(item head, end int) (int, error) {
		if n++; n > maxTables {
			return 0, unsupported("read.many-tables", "more than %d look-up tables", "Most", maxTables)
		}
		inner := newClean(c.order)
		inner.sets = c.sets
		p, err := inner.addItem(w, item, end, w.implicit || e.vr == "UN", wantedInTables)
		items = appendItem(items, inner.encode(nil))
		return p, err
	})
	if err != nil {
		return refused("read.in", "%v in %s", "Why", err, "Element", tagName(e.tag))
	}
	c.els[e.tag] = appendElement(nil, e.tag, "SQ", items)
	return nil
}

// addItem takes over the elements wanted of an item and returns where it ends.
func (c *clean) addItem(w *walker, item head, end int, implicit bool, wanted map[uint32]string) (int, error) {
	if item.n != undefined {
		if uint64(item.n) > uint64(end-item.value) {
			return 0, malformed("read.item-bytes", "an item states %d bytes, %d are left", "Bytes", item.n, "Left", end-item.value)
		}
		end = item.value + int(item.n)
	}
	for p := item.value; ; {
		if item.n != undefined && p == end {
			return p, nil
		}
		e, err := w.head(p, end, implicit)
		if err != nil {
			return 0, err
		}
		if e.tag == itemEnd {
			return e.value, nil
		}
		if p, err = w.skip(e, end, 1, implicit); err != nil {
			return 0, err
		}
		if vr, ok := wanted[e.tag]; ok && c.els[e.tag] == nil {
			if err := c.addValue(w, e, p, vr, maxTable); err != nil {
				return 0, err
			}
		}
	}
}
