package dicomio

import (
	"encoding/binary"
	"strings"

	"github.com/suyashkumar/dicom"
	"github.com/suyashkumar/dicom/pkg/tag"
)

// groups keeps what may stay of the functional groups that are read: their numbers and
// terms go by the rules of the plain places. A frame's item stays where nothing in it
// does, so that the next one is not taken for it.
func (k *keeper) groups() {
	for _, t := range []tag.Tag{tag.SharedFunctionalGroupsSequence, tag.PerFrameFunctionalGroupsSequence} {
		var items []byte
		some := false
		for _, item := range k.h.items(t) {
			inner := k.inItem(item)
			some = some || len(inner) > 0
			items = appendItem(items, inner)
		}
		if some {
			k.put(tagNumber(t), "SQ", string(items))
		}
	}
}

// inItem encodes what may stay of an item and of those within it.
func (k *keeper) inItem(item *header) (b []byte) {
	for _, e := range item.set.Elements {
		t := tagNumber(e.Tag)
		if e.Value.ValueType() != dicom.Sequences {
			b = append(b, k.inGroup(t, strings.Join(item.strs(e.Tag), `\`))...)
			continue
		}
		var items []byte
		for _, one := range item.items(e.Tag) {
			inner := k.inItem(one)
			if kept[t].do == codes {
				inner = k.knownCode(t, one.str(tag.CodingSchemeDesignator), one.str(tag.CodeValue))
			}
			if len(inner) > 0 {
				items = appendItem(items, inner)
			}
		}
		if items != nil {
			b = appendElement(b, t, "SQ", items)
		}
	}
	return b
}

// inGroup encodes what may stay of a value in a group. The type of rescaled values is
// that of the plain place (see greys).
func (k *keeper) inGroup(t uint32, values string) []byte {
	r := kept[t]
	switch {
	case t == 0x00281041 && values == "1":
		return appendElement(nil, t, "SS", binary.LittleEndian.AppendUint16(nil, 1))
	case t == 0x00281041 && values == "-1":
		return appendElement(nil, t, "SS", binary.LittleEndian.AppendUint16(nil, 0xFFFF))
	case t == 0x00209072: // Frame Laterality, which stands in groups alone
		r = of(`R\L\U\B`)
	case r.vr == "" || r.do != word && r.do != amount:
		return nil
	}
	clean, ok := r.allowed(values)
	if !ok {
		k.warn("identity.not-allowed", "%s is not of the terms or numbers that may stay and was left out", "Element", tagName(t))
	} // it stays without a value, so that what all frames share is not taken for it
	b := appendElement(nil, t, r.vr, []byte(clean))
	if t == 0x00281053 {
		b = appendElement(b, 0x00281054, "LO", []byte("US"))
	}
	return b
}

func tagNumber(t tag.Tag) uint32 { return uint32(t.Group)<<16 | uint32(t.Element) }
