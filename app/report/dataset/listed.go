package dataset

import "linerwatch/app/study"

func listKinds() []study.Choice {
	return []study.Choice{{Code: string(study.ReadList), Words: "of a reader"}, {Code: string(study.AdjudicateList), Words: "of films on which two readers differ"}}
}

func listStarts() []study.Choice {
	return []study.Choice{{Code: string(study.StartBlank), Words: "no outlines"}, {Code: string(study.StartProposal), Words: "what the program proposes"}}
}

// listed returns what a reading of a list has, nothing of others.
func (r *readingRow) listed(get func(l study.Listed) string) string {
	if r.Listed.List == "" {
		return ""
	}
	return get(r.Listed)
}

// listColumns say at which place of a reading list a reading was made, blind, and how.
func listColumns() []column[*readingRow] {
	c := func(name, label, how string, kind kind, get func(l study.Listed) string) column[*readingRow] {
		return column[*readingRow]{name, label, how, "", kind, func(r *readingRow) string { return r.listed(get) }}
	}
	return []column[*readingRow]{
		c("list", "reading list at a place of which it was made, blind", "NA of a reading of none", aWord, func(l study.Listed) string { return l.List }),
		c("list_kind", "what the list is for", "", oneOf(listKinds()), func(l study.Listed) string { return string(l.Kind) }),
		c("place", "place of the list", "", aCount.from(1), func(l study.Listed) string { return wholeCell(l.Place) }),
		c("occasion", "which time the list had its reader read the film", "a repeat is 2", aCount.from(1), func(l study.Listed) string { return wholeCell(l.Occasion) }),
		c("start", "what the reader began the film with", "", oneOf(listStarts()), func(l study.Listed) string { return string(l.Start) }),
		c("untouched", "the program's proposal, accepted as it was", "", yesNo, func(l study.Listed) string { return yes(l.Untouched) }),
	}
}

// gradeOf returns the reader's grade that held when the reading was made, the reader's first
// of the film where that is a later one.
func (r *readingRow) gradeOf() (out study.Grade) {
	if r.row != rowReading {
		return out
	}
	for _, g := range r.Grades {
		if g.FilmID == r.FilmID && g.Reader == r.Reader && (out.Quality == "" || !g.At.After(r.At)) {
			out = g
		}
	}
	return out
}
