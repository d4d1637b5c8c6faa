package main

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// rimResult is the orientation that the found rim or ring tells, against that of
// the ellipse which the rim truly casts, both on the film.
type rimResult struct {
	told                     bool
	inclination, version     float64 // errors, degrees
	seInclination, seVersion float64
}

// rimOf compares a hip's rim with the truth.
func rimOf(h measure.Hip, truth phantom.Truth) (r rimResult) {
	fit := h.Cup.RingFit()
	if h.CupKind == measure.Shell {
		fit = h.Rim.EllipseFit
	}
	got, err := measure.ReadRim(fit, truth.Side, 0)
	want, err2 := measure.ReadRim(measure.EllipseFit{Ellipse: truth.Rim}, truth.Side, 0)
	if err != nil || err2 != nil {
		return r
	}
	return rimResult{true, math.Mod(got.Inclination-want.Inclination+270, 180) - 90, got.Anteversion - want.Anteversion,
		got.SEInclination, got.SEAnteversion}
}
