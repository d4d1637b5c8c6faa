package dicomio

import (
	"encoding/binary"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/suyashkumar/dicom"
	"github.com/suyashkumar/dicom/pkg/tag"
)

const preamble = 128

// maxValue is the longest value taken into a header. The longest of those
// wanted is a text of 64 characters; this leaves room for careless writers.
const maxValue = 1024

// wanted are the elements that are read, with their value representations. The
// parser library gets to see no others.
var wanted = map[uint32]string{
	0x00080005: "CS", // Specific Character Set
	0x00080016: "UI", // SOP Class UID
	0x00080018: "UI", // SOP Instance UID
	0x00080020: "DA", // Study Date
	0x00080022: "DA", // Acquisition Date
	0x00080023: "DA", // Content Date
	0x0008002A: "DT", // Acquisition DateTime
	0x00080060: "CS", // Modality
	0x00081030: "LO", // Study Description
	0x0008103E: "LO", // Series Description
	0x00082144: "IS", // Recommended Display Frame Rate
	0x00082218: "SQ", // Anatomic Region Sequence
	0x00100020: "LO", // Patient ID
	0x00180015: "CS", // Body Part Examined
	0x00181030: "LO", // Protocol Name
	0x00180040: "IS", // Cine Rate
	0x00181063: "DS", // Frame Time
	0x00181110: "DS", // Distance Source to Detector
	0x00181111: "DS", // Distance Source to Patient
	0x00181114: "DS", // Estimated Radiographic Magnification Factor
	0x00181164: "DS", // Imager Pixel Spacing
	0x00181702: "IS", // Collimator Left Vertical Edge
	0x00181704: "IS", // Collimator Right Vertical Edge
	0x00181706: "IS", // Collimator Upper Horizontal Edge
	0x00181708: "IS", // Collimator Lower Horizontal Edge
	0x00181710: "IS", // Center of Circular Collimator
	0x00181712: "IS", // Radius of Circular Collimator
	0x00182010: "DS", // Nominal Scanned Pixel Spacing
	0x00185101: "CS", // View Position
	0x0020000D: "UI", // Study Instance UID
	0x00200020: "CS", // Patient Orientation
	0x00200060: "CS", // Laterality
	0x00200062: "CS", // Image Laterality
	0x00280002: "US", // Samples per Pixel
	0x00280004: "CS", // Photometric Interpretation
	0x00280006: "US", // Planar Configuration
	0x00280303: "CS", // Longitudinal Temporal Information Modified
	0x00280008: "IS", // Number of Frames
	0x00280010: "US", // Rows
	0x00280011: "US", // Columns
	0x00280030: "DS", // Pixel Spacing
	0x00280034: "IS", // Pixel Aspect Ratio
	0x00280100: "US", // Bits Allocated
	0x00280101: "US", // Bits Stored
	0x00280102: "US", // High Bit
	0x00280103: "US", // Pixel Representation
	0x00280120: "US", // Pixel Padding Value
	0x00280121: "US", // Pixel Padding Range Limit
	0x00280301: "CS", // Burned In Annotation
	0x00280A02: "CS", // Pixel Spacing Calibration Type
	0x00281041: "SS", // Pixel Intensity Relationship Sign
	0x00281050: "DS", // Window Center
	0x00281051: "DS", // Window Width
	0x00281052: "DS", // Rescale Intercept
	0x00281053: "DS", // Rescale Slope
	0x00281055: "LO", // Window Center & Width Explanation
	0x00281056: "CS", // VOI LUT Function
	0x00281101: "US", // Red Palette Color Lookup Table Descriptor
	0x00281102: "US", // Green Palette Color Lookup Table Descriptor
	0x00281103: "US", // Blue Palette Color Lookup Table Descriptor
	0x00281201: "OW", // Red Palette Color Lookup Table Data
	0x00281202: "OW", // Green Palette Color Lookup Table Data
	0x00281203: "OW", // Blue Palette Color Lookup Table Data
	0x00282110: "CS", // Lossy Image Compression
	0x00283000: "SQ", // Modality LUT Sequence
	0x00283010: "SQ", // VOI LUT Sequence
	0x00540220: "SQ", // View Code Sequence
	0x20500020: "CS", // Presentation LUT Shape
	0x52009229: "SQ", // Shared Functional Groups Sequence
	0x52009230: "SQ", // Per-frame Functional Groups Sequence
}

// header is what stands before the pixels of a DICOM file.
type header struct {
	set    dicom.Dataset
	uid    string // transfer syntax
	class  string // SOP class, by the meta information
	object string // SOP instance, by the meta information
	syntax syntax
	order  binary.ByteOrder
	sets   []string // character sets
	start  int      // of the data set
	pixels head     // pixel data
	left   []*Fault // sequences that were left out, and why
	mended mends

	unended bool     // the pixel data has no mark at its end
	hashed  *hashing // of the file, may be going on; may be nil

	data []byte    // of the file, or its data set inflated; offsets count from its beginning
	size int       // of the data where all of it is there
	rest *inflater // of a deflated data set: what follows data
}

// parseHeader reads the header of the file of size bytes that begins with b. If
// b is too short for that it fails with errMore.
func parseHeader(b []byte, size int) (*header, error) {
	h, p, err := openHeader(b, size)
	if err != nil {
		return nil, err
	}
	if h.syntax.deflated {
		return h, h.inflate(b[p:], size-p)
	}
	return h, h.dataSet(p)
}

// openHeader reads the file meta information and returns where the data set begins.
func openHeader(b []byte, size int) (h *header, p int, err error) {
	h = &header{order: binary.LittleEndian, data: b, size: size}
	w := &walker{b: b, size: size, order: binary.LittleEndian}
	if isDICOM(b) {
		p = preamble + 4
	}
	if p, err = h.meta(w, p); err != nil || h.syntax.deflated {
		return h, p, err
	}
	if h.syntax.big {
		h.order = binary.BigEndian
	}
	if _, explicit := known[[2]byte(b[p+4:])]; !explicit && !h.syntax.big {
		h.syntax.implicit = true // as some writers do; the walk will tell if it is not so
	}
	return h, p, nil
}

// dataSet reads the data set that begins at p, as far as the pixel data.
func (h *header) dataSet(p int) error {
	h.start = p
	w := &walker{b: h.data, size: h.size, order: h.order, implicit: h.syntax.implicit}
	c := newClean(h.order)
	found := false
	var err error
	h.pixels, found, err = w.each(p, func(e head, next int) error { return c.add(w, e, next) })
	if err != nil {
		return err
	}
	h.sets, h.left, h.mended = c.sets, c.left, w.mended
	if h.set, err = c.parse(); err != nil {
		return err
	}
	if !found {
		return h.noPixels()
	}
	return nil
}

// meta walks the file meta information (PS3.10 section 7.1), whose stated
// length is not believed, and returns where the data set begins.
func (h *header) meta(w *walker, p int) (int, error) {
	for w.group(p) == 2 {
		e, err := w.head(p, w.size, false)
		if err != nil {
			return 0, err
		}
		if p, err = w.skip(e, w.size, 0, false); err != nil {
			return 0, err
		}
		if p > len(w.b) {
			return 0, errMore
		}
		text := strings.TrimRight(string(w.b[e.value:min(p, e.value+maxValue)]), " \x00")
		switch e.tag {
		case 0x00020002:
			h.class = text
		case 0x00020003:
			h.object = text
		case 0x00020010:
			h.uid = text
		}
	}
	if len(w.b) < p+8 {
		return 0, w.short(p)
	}
	if h.uid == "" { // as it has been since ACR-NEMA, or explicit if a VR is there
		h.uid = implicitLittle
		if _, ok := known[[2]byte(w.b[p+4:])]; ok {
			h.uid = explicitLittle
			if w.b[p] == 0 { // groups are even and small
				h.uid = explicitBig
			}
		}
	}
	h.syntax = syntaxes[h.uid]
	return p, nil
}

// noPixels says why a DICOM file without pixel data is no film.
func (h *header) noPixels() error {
	class := h.str(tag.SOPClassUID)
	if class == "" {
		class = h.class
	}
	switch {
	case class == "1.2.840.10008.1.3.10":
		return unsupported("read.dicomdir", "a DICOMDIR, not a film; open the folder it stands in")
	case class == "" || h.str(tag.Rows) != "":
		return malformed("read.no-pixels", "no pixel data")
	}
	return unsupported("read.no-image", "no image in it (SOP class %s)", "Class", printable(class))
}

// unit is the size in bytes of the numbers that a value is made of.
func unit(vr string) int {
	switch vr {
	case "US", "SS", "OW", "AT":
		return 2
	case "UL", "SL", "FL", "OL", "OF":
		return 4
	case "FD", "OD", "SV", "UV", "OV":
		return 8
	}
	return 1
}

// ordered returns a value in little endian.
func ordered(value []byte, unit int, order binary.ByteOrder) []byte {
	if unit == 1 || order == binary.LittleEndian {
		return value
	}
	value = slices.Clone(value)
	for part := range slices.Chunk(value, unit) {
		slices.Reverse(part)
	}
	return value
}

// str returns the first value of a text, without padding, or "".
func (h *header) str(t tag.Tag) string {
	if s := h.strs(t); len(s) > 0 {
		return s[0]
	}
	return ""
}

// strs returns the values of a text or number, as texts without padding.
func (h *header) strs(t tag.Tag) []string {
	e, err := h.set.FindElementByTag(t)
	if err != nil {
		return nil
	}
	var out []string
	switch v := e.Value.GetValue().(type) {
	case []string:
		for _, s := range v {
			out = append(out, strings.Trim(s, " \x00"))
		}
	case []int:
		for _, n := range v {
			out = append(out, strconv.Itoa(n))
		}
	case []float64:
		for _, f := range v {
			out = append(out, strconv.FormatFloat(f, 'g', -1, 64))
		}
	}
	return out
}

// items returns the items of a sequence, each as a header of its elements.
func (h *header) items(t tag.Tag) (out []*header) {
	e, err := h.set.FindElementByTag(t)
	if err != nil {
		return nil
	}
	items, _ := e.Value.GetValue().([]*dicom.SequenceItemValue)
	for _, item := range items {
		els, _ := item.GetValue().([]*dicom.Element)
		out = append(out, &header{set: dicom.Dataset{Elements: els}})
	}
	return out
}

// number returns the first value as a whole number. set is false if there is none.
func (h *header) number(t tag.Tag) (n int, set bool, err error) {
	s := h.str(t)
	if s == "" {
		return 0, false, nil
	}
	if n, err = strconv.Atoi(strings.TrimPrefix(s, "+")); err != nil {
		return 0, false, malformed("read.not-whole", "%s is %q, not a whole number", "Element", name(t), "Value", s)
	}
	return n, true, nil
}

// name is an attribute's name and tag.
func name(t tag.Tag) string { return tagName(uint32(t.Group)<<16 | uint32(t.Element)) }

func tagName(t uint32) string {
	g, e := uint16(t>>16), uint16(t)
	if info, err := tag.Find(tag.Tag{Group: g, Element: e}); err == nil && g&1 == 0 {
		return fmt.Sprintf("%s (%04X,%04X)", info.Name, g, e)
	}
	return fmt.Sprintf("(%04X,%04X)", g, e)
}

// printable shortens a text of the file to what one line can show.
func printable(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return '?'
	}, s)
	if len(s) > 64 {
		s = strings.ToValidUTF8(s[:64], "") + "..."
	}
	return s
}
