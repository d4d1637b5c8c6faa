package dicomio

import (
	"encoding/binary"
	"math"
	"strconv"
	"strings"
)

// Item is a data set, or an item of a sequence in one: values by tag, the group in
// the higher 16 bits.
type Item map[uint32]Value

// Value is the value of an element: the items of a sequence, whose VR is SQ, or
// else bytes, texts in UTF-8 and numbers in little endian, without padding.
type Value struct {
	VR    string
	Bytes []byte `json:",omitempty"`
	Items []Item `json:",omitempty"`
}

// SetText sets a value of texts; none makes it empty.
func (i Item) SetText(tag uint32, vr string, values ...string) {
	i[tag] = Value{VR: vr, Bytes: []byte(strings.Join(values, `\`))}
}

// SetNumbers sets a value of numbers: US, SS, UL and SL hold them rounded, FL and FD
// as they are, and DS in the 16 characters that it allows.
func (i Item) SetNumbers(tag uint32, vr string, values ...float64) {
	if vr == "DS" {
		texts := make([]string, len(values))
		for k, v := range values {
			texts[k] = decimal(v)
		}
		i.SetText(tag, vr, texts...)
		return
	}
	var b []byte
	for _, v := range values {
		b = appendNumber(b, vr, v)
	}
	i[tag] = Value{VR: vr, Bytes: b}
}

func appendNumber(b []byte, vr string, v float64) []byte {
	le, whole := binary.LittleEndian, int64(math.Round(v))
	switch vr {
	case "US", "SS":
		return le.AppendUint16(b, uint16(whole))
	case "UL", "SL":
		return le.AppendUint32(b, uint32(whole))
	case "FL":
		return le.AppendUint32(b, math.Float32bits(float32(v)))
	case "FD":
		return le.AppendUint64(b, math.Float64bits(v))
	}
	panic("dicomio: " + vr + " holds no numbers")
}

// SetItems sets a sequence.
func (i Item) SetItems(tag uint32, items ...Item) { i[tag] = Value{VR: "SQ", Items: items} }

// Text returns the first text of a value, "" where there is none.
func (i Item) Text(tag uint32) string {
	v := i[tag]
	text := string(v.Bytes)
	switch v.VR {
	case "LT", "ST", "UT", "UR": // one text, whatever is in it
	default:
		text, _, _ = strings.Cut(text, `\`)
	}
	return strings.TrimSpace(text)
}

// Numbers returns a value of numbers, in whatever VR they are held; nil where one of
// them is not finite or none.
func (i Item) Numbers(tag uint32) []float64 {
	v := i[tag]
	var out []float64
	switch v.VR {
	case "DS", "IS":
		for text := range strings.SplitSeq(string(v.Bytes), `\`) {
			f, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
			if err != nil {
				return nil
			}
			out = append(out, f)
		}
	default:
		n := unit(v.VR)
		for b := v.Bytes; len(b) >= n; b = b[n:] {
			f, ok := numberOf(v.VR, b)
			if !ok {
				return nil
			}
			out = append(out, f)
		}
	}
	for _, f := range out {
		if math.IsNaN(f) || math.IsInf(f, 0) {
			return nil
		}
	}
	return out
}

// numberOf reads the number at the beginning of b.
func numberOf(vr string, b []byte) (v float64, ok bool) {
	le := binary.LittleEndian
	switch vr {
	case "US":
		return float64(le.Uint16(b)), true
	case "SS":
		return float64(int16(le.Uint16(b))), true
	case "UL":
		return float64(le.Uint32(b)), true
	case "SL":
		return float64(int32(le.Uint32(b))), true
	case "FL":
		return float64(math.Float32frombits(le.Uint32(b))), true
	case "FD":
		return math.Float64frombits(le.Uint64(b)), true
	}
	return 0, false
}

// Items returns the items of a sequence.
func (i Item) Items(tag uint32) []Item { return i[tag].Items }

// Item returns the first item of a sequence, an empty one where there is none.
func (i Item) Item(tag uint32) Item {
	if items := i[tag].Items; len(items) > 0 {
		return items[0]
	}
	return Item{}
}
