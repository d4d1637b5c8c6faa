package measure

import "encoding/json"

// Warning is something that whoever reads a film should weigh. Code says what it is about,
// Case which of the things that can be said of that, and Values what is filled in: numbers
// (float64), words that are codes (string) and Notes by name. Its sentence is not made here. Text
// is only of a warning that came as a sentence: from an older study, or a film's file.
type Warning struct {
	Code   string
	Case   string `json:",omitempty"`
	Values Values `json:",omitempty"`
	Text   string `json:",omitempty"`
}

// The codes of the warnings that find.Hips gives.
const (
	RingEdgeOn      = "ring-edge-on"
	RingPartial     = "ring-partial"
	SideUnproven    = "side-unproven"
	SideContradicts = "side-contradicts" // place, anatomy, tag or what was asked for disagree
	Magnification   = "magnification"
	OutlineMisfit   = "outline-misfit"
	HeadHidden      = "head-hidden"
	FilmTurned      = "film-turned" // upside down, on its side or mirrored, by what it shows
)

// DomeBelow is the case of FilmTurned that the search tells: the shell's dome lies below its
// opening.
const DomeBelow = "dome"

// HeadSize is the case of Magnification that the search tells, by M, Least and Most.
const HeadSize = "head-size"

// The cases of SideContradicts.
const (
	AskedShape = "asked-shape" // looks like another hip than the Asked one; Body
	AskedPlace = "asked-place" // lies where another hip than the Asked one does; Place
	PlaceShape = "place-shape" // lies as one and looks like the other; Place, Body
)

// CupTurned is the code of the warnings of CompareRims, of which these are the cases;
// Degrees is by how much.
const (
	CupTurned       = "cup-turned"
	TurnInclination = "inclination"
	TurnVersion     = "version"
)

// UnmarshalJSON reads a Warning, or a string as its text.
func (w *Warning) UnmarshalJSON(data []byte) error {
	if len(data) > 0 && data[0] == '"' {
		return json.Unmarshal(data, &w.Text)
	}
	type plain Warning
	return json.Unmarshal(data, (*plain)(w))
}
