package study

import (
	"time"

	"linerwatch/assets/texts"
)

// DraftKind says whose outlines a draft holds.
type DraftKind string

// The kinds of draft.
const (
	Proposed DraftKind = "proposed" // the program's, which nobody has looked at
	Edited   DraftKind = "edited"   // a reader's, not accepted
)

// Draft is outlines of a hip on a film that are no reading: unfinished work of a
// reader, or what the program proposes. A later one of the kind replaces it, and it is
// dropped when the film is accepted.
type Draft struct {
	HipID    string
	FilmID   string
	Kind     DraftKind
	At       time.Time
	Version  string // of the program
	Outlines []byte // JSON of whoever edits them; of a proposal Measured knows the outlines
}

// ListDraft is unfinished work at a place of a reading list. It names neither hip nor film.
type ListDraft struct {
	ListID   string
	Place    int
	At       time.Time
	Version  string // of the program
	Outlines []byte // JSON of whoever edits them
}

// Exclusion is a reader's decision to leave a film out of the trend, or to take
// it back in where Code is empty. Exclusions are never changed: of several for
// one film and scope the last one stands.
type Exclusion struct {
	HipID, FilmID string
	Code          string // one of ExclusionCodes, or empty
	Note          string
	Scope         ExclusionScope
	List          string // reading list at whose Place it was decided; empty for none
	Place         int
	Reader        string
	At            time.Time
	Version       string // of the program
}

// ExclusionScope says whose readings of a film an exclusion leaves out.
type ExclusionScope string

// The scopes.
const (
	ForAll    ExclusionScope = ""       // everybody's
	ForReader ExclusionScope = "reader" // those of the reader who decided
)

// ExclusionCode is a reason to leave a film out.
type ExclusionCode struct{ Code, Words string }

// DoubleCode is the reason of a film that the trend leaves out since it is the second one of a
// double examination: it is read and judged with the first all the same.
const DoubleCode = "double"

// ExclusionCodes lists the reasons in the order in which they are offered.
func ExclusionCodes() []ExclusionCode {
	return []ExclusionCode{
		{"projection", texts.Say("exclusion.projection", nil)},
		{"cut-off", texts.Say("exclusion.cut-off", nil)},
		{"exposure", texts.Say("exclusion.exposure", nil)},
		{"wrong-hip", texts.Say("exclusion.wrong-hip", nil)},
		{"revised", texts.Say("exclusion.revised", nil)},
		{DoubleCode, texts.Say("exclusion.double", nil)},
		{"other", texts.Say("exclusion.other", nil)},
	}
}

// ExclusionWords returns the words of a code, or the code itself.
func ExclusionWords(code string) string {
	for _, c := range ExclusionCodes() {
		if c.Code == code {
			return c.Words
		}
	}
	return code
}
