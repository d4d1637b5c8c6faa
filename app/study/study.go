package study

import (
	"time"

	"linerwatch/measure"
)

// Implant is what the operation note says.
type Implant struct {
	HeadMM  float64 // head diameter, mm
	LinerMM float64 // liner thickness, mm; 0 where unknown
	PE      string  // polyethylene: "XLPE", "conventional" or "" where unknown

	HeadMaterial string  // code of HeadMaterials, or "" where unknown
	ShellMM      float64 // outer diameter of shell or cup, mm; 0 where unknown
	Fixation     string  // code of Fixations, or "" where unknown

	LinerInnerMM float64 // inner diameter of the liner, mm; 0 where unknown; LinerMM is stated, not computed of these
	LinerOuterMM float64 // outer diameter of the liner, mm; 0 where unknown
	Irradiated   Answer  // No: never, such as sterilised by gas
	DoseKGy      float64 // of irradiation; 0 where unknown
	Stabiliser   string  // code of Stabilisers, or "" where unknown
	Lipped       Answer  // the liner has a lip
	Catalogue    string  // the maker's text, as it stands
}

// Hip is one hip replacement.
type Hip struct {
	ID         string // opaque: it says nothing of the hip and stays when a detail is corrected
	Site       string // code; empty in a study of one site
	Patient    string // code, never a name; tells patients of one site apart
	Group      string // of the study, such as an arm; may be empty
	Side       measure.Side
	Surgery    time.Time // UTC midnight
	Implant    Implant
	StartYears float64 // films at or after this time count for the steady state
	Baseline   string  // film ID; empty for the earliest film
	BeamOff    bool    // films are not to be corrected for the cone beam
	Age        float64 // at surgery, years; 0 where unknown
	Revision   int     // counts what has been saved of the hip; 0 for one that has not

	// Until is the day on which the series of films ends, as the events of the hip have it
	// (UntilOf); zero where none ends it. It is read from them, and not saved with the hip.
	Until time.Time `json:"-"`
}

// Label returns what people call the hip: the site, the patient's code and the side.
// Without a code it is the ID.
func (h Hip) Label() string { return h.labelled(h.Side.String()) }

// LabelIn is Label in the language of say.
func (h Hip) LabelIn(say Say) string {
	return h.labelled(say("reader.side", Values{"Side": h.Side.String()}))
}

func (h Hip) labelled(side string) string {
	patient := Patient{Site: h.Site, Code: h.Patient}.Label()
	switch {
	case h.Patient == "" && h.ID != "":
		return h.ID
	case h.Patient == "":
		return side
	case h.Side == SideUnknown:
		return patient
	}
	return patient + " " + side
}

// Status says how the measurement of a film ended.
type Status string

// The statuses.
const (
	Measured Status = "measured"
	Refused  Status = "refused" // the film shows nothing that could be measured; Reason says why
	Failed   Status = "failed"  // the file could not be read; Reason says why
)

// Measurement is the outcome for one hip on one film: the outlines as they lie on
// the film, and what is read from them.
type Measurement struct {
	Film      Film
	Status    Status
	Reason    Note
	Side      measure.Side
	Head      measure.Outline
	Cup       measure.Outline
	CupKind   measure.CupKind
	HeadMM    float64
	Line      Line // reference line of the film
	Rim       Rim  // along the cup's opening, where drawn
	Reading   measure.Reading
	How       Method    // how Reading was read
	Beam      BeamUse   // what was done about the cone beam
	Corrected Corrected // the outlines that Reading is of, where corrected
	Warnings  []Warning
	parts     []weighed // of the mean of several; nil for one alone
}

// Reading is a measurement that a reader accepted for a hip on a film. Readings are
// never overwritten: a later one names the one it replaces, and one that its reader
// takes back is kept, marked as withdrawn.
type Reading struct {
	ID         string
	HipID      string
	FilmID     string
	Reader     string
	At         time.Time
	Version    string   // of the program
	Supersedes string   // ID of an earlier reading, or empty
	Of         []string // IDs of those that it is the mean of; nil for a reading itself
	Listed     Listed   // of a reading list; zero for others
	Measurement
	Kept      Kept        // edge points fitted; the points may be kept elsewhere
	Withdrawn *Withdrawal // nil where the reading stands
}
