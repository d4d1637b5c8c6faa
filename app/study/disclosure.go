package study

import "encoding/json"

// DisclosureKind says how numbers of a study were disclosed.
type DisclosureKind string

// The kinds of disclosure.
const (
	ShownNumbers  DisclosureKind = "numbers shown"  // in the window, while reading lists are open
	WrittenTables DisclosureKind = "export"         // of the whole study
	ListedHips    DisclosureKind = "list"           // rates of every hip
	ToldTrend     DisclosureKind = "trend"          // of a hip
	ToldAgreement DisclosureKind = "agreement"      // of readers
	WrittenStudy  DisclosureKind = "study report"   // of the whole study
	DrawnFigure   DisclosureKind = "figure"         // of the whole study
	PatientPage   DisclosureKind = "patient's page" // of a hip, handed out
	ReaderReport  DisclosureKind = "reader's report"
	ForArchive    DisclosureKind = "results" // of a hip, for an image archive
)

// DisclosureKinds lists them all, as tables explain them.
func DisclosureKinds() []Choice {
	return []Choice{
		{string(ShownNumbers), "in the window"}, {string(WrittenTables), "of the whole study"}, {string(ListedHips), "rates of every hip"},
		{string(ToldTrend), "of a hip"}, {string(ToldAgreement), "of readers"}, {string(WrittenStudy), "of the whole study"},
		{string(DrawnFigure), "of the whole study"}, {string(PatientPage), "of a hip, handed out"}, {string(ReaderReport), "of a hip, handed out"},
		{string(ForArchive), "of a hip, for an image archive"},
	}
}

// DisclosureRow is what a row of the audit trail that tells of a disclosure is of.
const DisclosureRow = "disclosure"

// Disclosure is the event that somebody has seen or handed out numbers of a study. It is a row of
// the audit trail, and nothing else is kept of it.
type Disclosure struct {
	Kind  DisclosureKind
	HipID string   `json:",omitempty"` // empty for the whole study
	Lists []string `json:",omitempty"` // that were being read blind
	Stamp `json:"-"`
}

// DisclosureOf returns what a row of the audit trail tells of a disclosure; one that cannot be
// read has no kind.
func DisclosureOf(row TrailRow) Disclosure {
	var d Disclosure
	if row.What != DisclosureRow || json.Unmarshal([]byte(row.New), &d) != nil {
		return Disclosure{Stamp: row.Stamp}
	}
	d.Stamp = row.Stamp
	return d
}
