package dicomio

import (
	"encoding/binary"
	"strconv"

	"github.com/suyashkumar/dicom/pkg/tag"
)

// Greys is what a file says of how its stored values become grey levels on a
// display (PS3.3 C.7.6.3, C.11.1, C.11.2). Of Pixels it tells only the sense: which
// of two values is the brighter.
type Greys struct {
	Slope, Intercept float64  // of the modality's rescaling; Slope 0: none stated
	Modality         *Table   // in place of Slope and Intercept
	Windows          []Window // in the file's order
	Tables           []Table  // VOI look-up tables, in the file's order
	Inverse          bool     // Presentation LUT Shape (2050,0020) is INVERSE
	Falling          bool     // higher stored values are lower values of interest
	Sign             int      // of Pixel Intensity Relationship (0028,1041): -1 where higher stored values are less X-ray, 1 where lower are, 0 not stated
	Padding          *Padding // stored values that are no part of the picture
}

// Window maps a band of values to the whole range of greys (PS3.3 C.11.2.1.2, C.11.2.1.3).
type Window struct {
	Center, Width float64
	Function      string // "LINEAR", "LINEAR_EXACT" or "SIGMOID"
	Name          string
}

// Table maps values from First on to Data; values before and after it take its
// first and last entry (PS3.3 C.11.1.1, C.11.2.1.1).
type Table struct {
	First int
	Bits  int // of an entry
	Data  []uint16
	Name  string
}

// at returns the entry for a value.
func (t Table) at(v float64) uint16 {
	i := min(max(v-float64(t.First), 0), float64(len(t.Data)-1))
	return t.Data[int(i+0.5)]
}

// Padding is a range of stored values, ends included (PS3.3 C.7.5.1.1.2).
type Padding struct{ Low, High int }

// greys reads all of it. What cannot be used is warned of.
func (h *header) greys(f *Film) error {
	g := &f.Greys
	g.Slope, g.Intercept = h.rescale(f)
	g.Windows = h.windows(f)
	switch shape := h.str(tag.PresentationLUTShape); shape {
	case "", "IDENTITY":
	case "INVERSE":
		g.Inverse = true
	default:
		f.warn("tag.unknown", "%s is %q, which the standard does not know", "Element", name(tag.PresentationLUTShape), "Value", printable(shape))
	}
	modality, err := h.tables(tag.ModalityLUTSequence, f.Signed)
	if err != nil {
		return err
	}
	if len(modality) > 0 {
		g.Modality = &modality[0]
	}
	low, _ := f.modalityRange()
	if g.Tables, err = h.tables(tag.VOILUTSequence, low < 0); err != nil {
		return err
	}
	f.sense()
	if g.Sign = h.sign(f); f.BoneDark() {
		f.warn("tag.bone-dark", "%s is %+d: by that, bone is dark in the greys that the file asks for", "Element", name(tag.PixelIntensityRelationshipSign), "Sign", g.Sign)
	}
	return h.padding(f)
}

func (h *header) rescale(f *Film) (slope, intercept float64) {
	m, b := h.str(tag.RescaleSlope), h.str(tag.RescaleIntercept)
	if m == "" && b == "" {
		return 0, 0
	}
	slope, errM := number(m, 1)
	intercept, errB := number(b, 0)
	if errM != nil || errB != nil || slope == 0 {
		f.warn("tag.rescale", "%s is %q and %s is %q: not used", "Element", name(tag.RescaleSlope), "Value", printable(m), "Other", name(tag.RescaleIntercept), "OtherValue", printable(b))
		return 0, 0
	}
	return slope, intercept
}

// number reads a finite decimal, or gives the value where there is none.
func number(s string, absent float64) (float64, error) {
	if s == "" {
		return absent, nil
	}
	v, err := asDecimal(s)
	if err == nil && v-v != 0 {
		err = strconv.ErrRange
	}
	return v, err
}

func (h *header) windows(f *Film) (out []Window) {
	centers, widths := h.strs(tag.WindowCenter), h.strs(tag.WindowWidth)
	names := h.strs(tag.WindowCenterWidthExplanation)
	function := h.str(tag.VOILUTFunction)
	switch function {
	case "":
		function = "LINEAR"
	case "LINEAR", "LINEAR_EXACT", "SIGMOID":
	default:
		f.warn("tag.as-linear", "%s is %q, which the standard does not know: taken as LINEAR", "Element", name(tag.VOILUTFunction), "Value", printable(function))
		function = "LINEAR"
	}
	for i := range min(len(centers), len(widths)) {
		if centers[i] == "" && widths[i] == "" {
			continue
		}
		c, errC := asDecimal(centers[i])
		w, errW := asDecimal(widths[i])
		if errC != nil || errW != nil || c-c != 0 || !usable(w) || function == "LINEAR" && w < 1 {
			f.warn("tag.window", "window with center %q and width %q: not used", "Center", printable(centers[i]), "Width", printable(widths[i]))
			continue
		}
		window := Window{Center: c, Width: w, Function: function}
		if i < len(names) {
			window.Name = printable(names[i])
		}
		out = append(out, window)
	}
	return out
}

// padding reads the value, or the range, that fills what is no picture.
func (h *header) padding(f *Film) error {
	low, set, err := h.number(tag.PixelPaddingValue)
	if err != nil || !set {
		return err
	}
	high, set, err := h.number(tag.PixelPaddingRangeLimit)
	if err != nil {
		return err
	}
	if !set {
		high = low
	}
	if f.Signed { // the type may not say it
		low, high = int(int16(low)), int(int16(high))
	}
	f.Greys.Padding = &Padding{min(low, high), max(low, high)}
	return nil
}

// tables reads a sequence of look-up tables; twos says that the first value
// mapped is signed.
func (h *header) tables(t tag.Tag, twos bool) (out []Table, err error) {
	for _, item := range h.items(t) {
		table, err := item.table(twos)
		if err != nil {
			return nil, malformed("read.table", "%s: %v", "Element", name(t), "Why", err)
		}
		out = append(out, table)
	}
	return out, nil
}

// table reads one look-up table.
func (h *header) table(twos bool) (t Table, err error) {
	return h.tableAt(tag.LUTDescriptor, tag.LUTData, twos)
}

// tableAt reads the look-up table of a descriptor and its data.
func (h *header) tableAt(descriptor, data tag.Tag, twos bool) (t Table, err error) {
	d, words := h.words(descriptor), h.words(data)
	if len(d) != 3 {
		return t, malformed("read.table-descriptor", "descriptor of %d values", "N", len(d))
	}
	n, first, bits := int(d[0]), int(d[1]), int(d[2])
	if n == 0 {
		n = 65536
	}
	if twos {
		first = int(int16(d[1]))
	}
	if bits <= 8 && len(words) == (n+1)/2 { // two entries in a word
		for _, w := range words {
			t.Data = append(t.Data, w&0xFF, w>>8)
		}
		words, t.Data = t.Data, nil
	}
	if bits < 1 || bits > 16 || len(words) < n {
		return t, malformed("read.table-entries", "%d of %d entries of %d bits", "Have", len(words), "Need", n, "Bits", bits)
	}
	return Table{First: first, Bits: bits, Data: words[:n], Name: printable(h.str(tag.LUTExplanation))}, nil
}

// words returns a value as 16-bit numbers.
func (h *header) words(t tag.Tag) (out []uint16) {
	e, err := h.set.FindElementByTag(t)
	if err != nil {
		return nil
	}
	switch v := e.Value.GetValue().(type) {
	case []int:
		for _, n := range v {
			out = append(out, uint16(n))
		}
	case []byte:
		for ; len(v) >= 2; v = v[2:] {
			out = append(out, binary.LittleEndian.Uint16(v))
		}
	}
	return out
}
