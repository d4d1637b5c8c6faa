package find

import (
	"fmt"

	"linerwatch/measure"
)

func warnEdgeOn() measure.Warning {
	return measure.Warning{Code: measure.RingEdgeOn, Text: "the marker ring is seen edge-on: look at its two ends"}
}

func warnPartial() measure.Warning {
	return measure.Warning{Code: measure.RingPartial, Text: "little of the marker ring shows: look at its two ends"}
}

func warnUnproven() measure.Warning {
	return measure.Warning{Code: measure.SideUnproven, Text: "side unproven: the hip is in the middle of the film"}
}

func warnPlace(place, anatomy measure.Side) measure.Warning {
	return measure.Warning{Code: measure.SideContradicts, Text: fmt.Sprintf("the hip is on the %s half of the film but looks like a %s hip", place, anatomy)}
}

func warnAsked(asked, looks measure.Side) measure.Warning {
	return measure.Warning{Code: measure.SideContradicts, Text: fmt.Sprintf("a %s hip was asked for, but this looks like a %s one", asked, looks)}
}

func warnMagnified(m float64) measure.Warning {
	return measure.Warning{Code: measure.Magnification, Text: fmt.Sprintf("the head's size implies a magnification of %.2f", m)}
}
