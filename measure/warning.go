package measure

import "encoding/json"

// Warning is something that whoever reads a film should weigh. Code says what it
// is about, for programs; Text says it to the reader, in words made in one place.
type Warning struct{ Code, Text string }

// The codes of the warnings that find.Hips gives.
const (
	RingEdgeOn      = "ring-edge-on"
	RingPartial     = "ring-partial"
	SideUnproven    = "side-unproven"
	SideContradicts = "side-contradicts" // place, anatomy, tag or what was asked for disagree
	Magnification   = "magnification"
	OutlineMisfit   = "outline-misfit"
	HeadHidden      = "head-hidden"
)

// String returns the text.
func (w Warning) String() string { return w.Text }

// UnmarshalJSON reads a Warning, or a string as its text.
func (w *Warning) UnmarshalJSON(data []byte) error {
	if len(data) > 0 && data[0] == '"' {
		return json.Unmarshal(data, &w.Text)
	}
	type plain Warning
	return json.Unmarshal(data, (*plain)(w))
}
