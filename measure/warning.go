package measure

import (
	"encoding/json"
	"fmt"
)

// Warning is something that whoever reads a film should weigh. Code says what it
// is about, for programs; Text says it to the reader, in words made in one place.
type Warning struct{ Code, Text string }

// The codes of the warnings that Detect gives.
const (
	RingEdgeOn      = "ring-edge-on"
	RingPartial     = "ring-partial"
	SideUnproven    = "side-unproven"
	SideContradicts = "side-contradicts" // place, anatomy, tag or what was asked for disagree
	Magnification   = "magnification"
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

func warnEdgeOn() Warning {
	return Warning{RingEdgeOn, "the marker ring is seen edge-on: look at its two ends"}
}

func warnPartial() Warning {
	return Warning{RingPartial, "little of the marker ring shows: look at its two ends"}
}

func warnUnproven() Warning {
	return Warning{SideUnproven, "side unproven: the hip is in the middle of the film"}
}

func warnPlace(place, anatomy Side) Warning {
	return Warning{SideContradicts, fmt.Sprintf("the hip is on the %s half of the film but looks like a %s hip", place, anatomy)}
}

func warnAsked(asked, looks Side) Warning {
	return Warning{SideContradicts, fmt.Sprintf("a %s hip was asked for, but this looks like a %s one", asked, looks)}
}

func warnMagnified(m float64) Warning {
	return Warning{Magnification, fmt.Sprintf("the head's size implies a magnification of %.2f", m)}
}
