package study

import (
	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// BeamUse says what a reading did about the cone beam, and from what.
type BeamUse struct {
	Corrected  bool
	Reason     Note // why not; nothing where corrected
	SourceMM   float64
	SourceFrom Origin // OfFile or OfReader
	Center     measure.Point
	CenterFrom Origin         // OfMiddle, OfReader or OfField
	OffAxisMM  float64        // of the head from the central ray, on the film
	HipMM      float64        // source to hip, by the head's diameter
	Moved      measure.Vector // corrected offset less uncorrected, mm, no covariance
	// RingMM is how far the centre of a marker ring lies from that of its ellipse for
	// a beam as usual, by which it is read where Corrected is false.
	RingMM float64 `json:",omitempty"`
}

const (
	// leastExposureMM is the shorter side of a film, mm at the detector, below
	// which it is taken for a part cut out of one, whose middle says nothing about
	// the central ray: hips are taken on 240 x 300 mm and more. Common practice,
	// no source.
	leastExposureMM = 230
	// middleSD is how far from the middle of a film the central ray meets it,
	// fieldSD from the middle of the collimated field, givenSD how well a reader
	// states where, mm along each axis as standard deviations; common practice, no
	// source.
	middleSD, fieldSD, givenSD = 10.0, 5.0, 3.0
	// sourceSD is the relative standard deviation of a stated distance from source
	// to detector; common practice, no source.
	sourceSD = 0.01
)

// Origin says where a number of a beam comes from. Readings of before may hold words in
// place of a code.
type Origin string

// The origins. The collimator opens evenly to both sides of the central ray, for whose
// place itself there is no tag: OfField is common practice, no source.
const (
	OfFile   Origin = "file"
	OfReader Origin = "given"
	OfMiddle Origin = "middle" // of the film
	OfField  Origin = "field"  // that is collimated, by the film's tags
)

// Words returns the words of an origin.
func (o Origin) Words() string {
	switch o {
	case OfMiddle:
		return texts.Say("origin.middle", nil)
	case OfField:
		return texts.Say("origin.field", nil)
	}
	return string(o)
}

// Beam returns the beam of a film, how well it is known, and where its numbers
// come from; use.Reason says why there is none.
func (f Film) Beam() (b measure.Beam, doubt measure.BeamDoubt, use BeamUse) {
	use.SourceMM, use.SourceFrom = f.SourceMM(), OfFile
	if f.Given.SourceMM > 0 {
		use.SourceFrom = OfReader
	}
	switch {
	case !(f.Facts.SpacingMM > 0):
		use.Reason.Code = "beam.no-spacing"
		return
	case !(use.SourceMM > 0):
		use.SourceMM, use.SourceFrom = 0, ""
		use.Reason.Code = "beam.no-source"
		return
	}
	use.CenterFrom, doubt.Center = OfMiddle, middleSD
	use.Center = measure.Point{X: float64(f.Facts.Width) / 2, Y: float64(f.Facts.Height) / 2}
	w, h := f.Facts.SpacingMM*float64(f.Facts.Width), f.Facts.SpacingMM*float64(f.Facts.Height)
	switch {
	case f.Given.Center != nil:
		use.CenterFrom, use.Center, doubt.Center = OfReader, *f.Given.Center, givenSD
	case f.Facts.Field != nil:
		use.CenterFrom, use.Center, doubt.Center = OfField, *f.Facts.Field, fieldSD
	case min(w, h) < leastExposureMM:
		use.Center, use.CenterFrom = measure.Point{}, ""
		use.Reason = Note{Code: "beam.part", Values: texts.Values{"Width": w, "Height": h}}
		return
	}
	doubt.SourceImage = sourceSD * use.SourceMM
	return measure.Beam{SourceImage: use.SourceMM, Center: use.Center, Spacing: f.Facts.SpacingMM}, doubt, use
}

// Words says in one line what was done about the cone beam.
func (u BeamUse) Words() string {
	if !u.Corrected {
		return WarningWords(Warning{Code: WarnBeam, Values: u.missing()})
	}
	return texts.Say("beam.corrected", texts.Values{"OffAxis": u.OffAxisMM, "Center": string(u.CenterFrom),
		"CenterWords": u.CenterFrom.Words(), "Source": u.SourceMM, "SourceFrom": u.SourceFrom.Words(), "Superior": u.Moved.Superior, "Medial": u.Moved.Medial})
}

// missing is what WarnBeam says of a film that was not corrected.
func (u BeamUse) missing() texts.Values {
	return texts.Values{"Why": u.Reason, "Ring": max(0, u.RingMM)}
}
