package dicomio

import (
	"slices"
	"strings"

	"github.com/suyashkumar/dicom"
	"github.com/suyashkumar/dicom/pkg/tag"
)

// Enhanced objects state what holds for their frames in functional groups (PS3.3
// C.7.6.16, C.8.19.6): sequences of one item within the item that all frames share, or within that of a
// single frame.
var functionalGroups = map[uint32]sequence{
	0x00189407: group(fieldElements),                                                                               // Collimator Shape Sequence: the field
	0x00189476: group(map[uint32]string{0x00181110: "DS", 0x00181111: "DS", 0x00181114: "DS"}),                     // X-Ray Geometry Sequence: distances
	0x00209450: group(map[uint32]string{0x00200020: "CS"}),                                                         // Patient Orientation in Frame Sequence
	0x00289110: group(map[uint32]string{0x00280030: "DS"}),                                                         // Pixel Measures Sequence: Pixel Spacing
	0x00289132: group(map[uint32]string{0x00281050: "DS", 0x00281051: "DS", 0x00281055: "LO", 0x00281056: "CS"}),   // Frame VOI LUT Sequence: windows
	0x00289145: group(map[uint32]string{0x00281052: "DS", 0x00281053: "DS"}),                                       // Pixel Value Transformation Sequence
	0x00289443: group(map[uint32]string{0x00181164: "DS", 0x00281041: "SS"}),                                       // Frame Pixel Data Properties Sequence: Imager Pixel Spacing, sign
	0x00209071: {most: 1, bytes: maxValue, values: map[uint32]string{0x00209072: "CS"}, sequences: frameAnatomies}, // Frame Anatomy Sequence: laterality
}

var frameAnatomies = map[uint32]sequence{0x00082218: codedItems} // Anatomic Region Sequence

var fieldElements = map[uint32]string{
	0x00181702: "IS", 0x00181704: "IS", 0x00181706: "IS", 0x00181708: "IS", 0x00181710: "IS", 0x00181712: "IS",
}

func group(values map[uint32]string) sequence {
	return sequence{most: 1, bytes: maxValue, values: values}
}

// groups takes what the functional groups say of one frame, counted from 1, to where a plain
// object has it; what the frame says goes before what all share. A statement of the plain
// place that differs is named.
func (h *header) groups(f *Film, frame int) {
	var items []*header
	if shared := h.items(tag.SharedFunctionalGroupsSequence); len(shared) > 0 {
		items = append(items, shared[0])
	}
	if each := h.items(tag.PerFrameFunctionalGroupsSequence); len(each) >= frame {
		items = append(items, each[frame-1])
	} else if len(each) > 0 {
		f.warn("group.missing", "functional groups of %d frames: what holds for frame %d alone is not known", "N", len(each), "Frame", frame)
	}
	var said []*dicom.Element
	of := func(t tag.Tag) func(e *dicom.Element) bool { return func(e *dicom.Element) bool { return e.Tag == t } }
	for _, item := range items {
		for _, e := range item.grouped() {
			said = append(slices.DeleteFunc(said, of(e.Tag)), e)
		}
	}
	for _, e := range said {
		was, is := h.strs(e.Tag), (&header{set: dicom.Dataset{Elements: said}}).strs(e.Tag)
		if was != nil && !slices.Equal(was, is) {
			f.warn("group.differs", "%s is %q for this frame and %q elsewhere: the former counts", "Element", name(e.Tag),
				"Value", printable(strings.Join(is, `\`)), "Other", printable(strings.Join(was, `\`)))
		}
		h.set.Elements = append(slices.DeleteFunc(slices.Clone(h.set.Elements), of(e.Tag)), e)
	}
}

// grouped returns the elements within the groups of an item.
func (h *header) grouped() (out []*dicom.Element) {
	for _, group := range h.set.Elements {
		for _, one := range h.items(group.Tag) {
			out = append(out, one.set.Elements...)
		}
	}
	return out
}
