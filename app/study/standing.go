package study

import "linerwatch/assets/texts"

// FilmStanding says how a film stands in a study, in one word of a table. Unlike
// FilmState it tells apart why no reading counts.
type FilmStanding string

// The standings of a film of a hip.
const (
	StandsAccepted   FilmStanding = "accepted"     // a reading counts
	StandsNoResult   FilmStanding = "no-result"    // the reading that counts holds no measurement
	StandsLeftOut    FilmStanding = "left-out"     // a reader left it out
	StandsDraft      FilmStanding = "draft"        // a reader's outlines that are not accepted
	StandsProposed   FilmStanding = "proposal"     // the program's outlines, which nobody has accepted
	StandsNotFound   FilmStanding = "not-found"    // the program found nothing to outline
	StandsLater      FilmStanding = "later-series" // read, of a later series of the hip
	StandsUnread     FilmStanding = "unread"       // nobody has read it, and nothing was looked for
	StandsUnsorted   FilmStanding = "unsorted"     // of no hip: it is not known of which
	StandsNotAP      FilmStanding = "not-ap"       // of no hip: another view than those that are read
	StandsUnreadable FilmStanding = "unreadable"   // its file could not be read
)

// FilmStandings lists the standings with their words.
func FilmStandings() []Choice {
	return []Choice{
		{string(StandsAccepted), texts.Say("standing.accepted", nil)},
		{string(StandsNoResult), texts.Say("standing.no-result", nil)},
		{string(StandsLeftOut), texts.Say("standing.left-out", nil)},
		{string(StandsDraft), texts.Say("standing.draft", nil)},
		{string(StandsProposed), texts.Say("standing.proposal", nil)},
		{string(StandsNotFound), texts.Say("standing.not-found", nil)},
		{string(StandsLater), texts.Say("standing.later-series", nil)},
		{string(StandsUnread), texts.Say("standing.unread", nil)},
		{string(StandsUnsorted), texts.Say("standing.unsorted", nil)},
		{string(StandsNotAP), texts.Say("standing.not-ap", nil)},
		{string(StandsUnreadable), texts.Say("standing.unreadable", nil)},
	}
}

// Note says a standing.
func (s FilmStanding) Note() Note {
	return Note{Code: "standing." + string(s)}
}

// Standing returns how a film that waits stands.
func (f Film) Standing() FilmStanding {
	switch f.Waits {
	case NotAP:
		return StandsNotAP
	case Unreadable:
		return StandsUnreadable
	}
	return StandsUnsorted
}

// StandingOf returns how an entry of the record stands, and why the program has nothing
// where it found nothing or its file could not be read.
func (r Record) StandingOf(e FilmEntry) (s FilmStanding, why Note) {
	switch e.State {
	case FilmExcluded:
		return StandsLeftOut, Note{}
	case FilmRead:
		return StandsAccepted, Note{}
	case FilmLater:
		return StandsLater, Note{}
	case FilmRefused:
		return StandsNoResult, e.Reading.Reason
	}
	if _, ok := r.draft(e.ID, Edited); ok {
		return StandsDraft, Note{}
	}
	if e.Waits == Unreadable {
		return StandsUnreadable, e.Film.Reason
	}
	for _, l := range r.Links {
		switch {
		case l.FilmID != e.ID:
		case l.Searched == Refused:
			return StandsNotFound, l.Reason
		case l.Searched == Failed:
			return StandsUnreadable, l.Reason
		}
	}
	if _, ok := r.draft(e.ID, Proposed); ok {
		return StandsProposed, Note{}
	}
	return StandsUnread, Note{}
}

// draft returns the draft of a kind on a film.
func (r Record) draft(filmID string, kind DraftKind) (Draft, bool) {
	for _, d := range r.Unaccepted {
		if d.FilmID == filmID && d.Kind == kind {
			return d, true
		}
	}
	return Draft{}, false
}

// OutlinesOf returns the drafts on a film.
func (r Record) OutlinesOf(filmID string) (out []Draft) {
	for _, d := range r.Unaccepted {
		if d.FilmID == filmID {
			out = append(out, d)
		}
	}
	return out
}
