package study

import (
	"slices"
	"strings"
	"time"

	"linerwatch/assets/texts"
)

// EventKind says what happened to a hip.
type EventKind string

// The kinds of event.
const (
	HeadExchanged  EventKind = "head exchanged"
	LinerExchanged EventKind = "liner exchanged" // with the head or without
	CupRevised     EventKind = "cup revised"
	Died           EventKind = "death"
	Lost           EventKind = "lost" // to follow-up
)

// EventKinds lists the kinds.
func EventKinds() []Choice {
	return []Choice{
		{string(HeadExchanged), texts.Say("event.head", nil)},
		{string(LinerExchanged), texts.Say("event.liner", nil)},
		{string(CupRevised), texts.Say("event.cup", nil)},
		{string(Died), texts.Say("event.death", nil)},
		{string(Lost), texts.Say("event.lost", nil)},
	}
}

// EventIn returns the words of a kind in the language of say.
func EventIn(say Say, kind EventKind) string {
	first, _, _ := strings.Cut(string(kind), " ") // as "liner" of "liner exchanged"
	return ChoiceIn(say, "event", first)
}

// EndsSeries reports whether films before and after can be no one series: another head,
// liner or cup moves from another place.
func (k EventKind) EndsSeries() bool {
	return k == HeadExchanged || k == LinerExchanged || k == CupRevised
}

// Event is something that happened to a hip after its surgery. Events are never changed:
// one that was entered by mistake is taken back by another.
type Event struct {
	ID    string // of the study's own
	HipID string
	Kind  EventKind
	Date  time.Time // UTC midnight
	// Implant is what the hip has since, of an event that ends a series; what is zero is as
	// it was before.
	Implant   Implant
	Note      string // free text
	TakesBack string // ID of an earlier event, which this one takes back; the rest then says nothing
	Stamp
}

// Validate checks what was entered for an event of h; now is the present time. The error
// is a *FaultsError.
func (e Event) Validate(h Hip, now time.Time) error {
	if e.TakesBack != "" {
		return nil
	}
	list := []Fault{{"date", e.dateFault(h, now)}}
	if e.Kind == "" {
		list = append(list, Fault{"event", Note{Code: "fault.no-event"}})
	} else {
		list = append(list, Fault{"event", choiceFault("fault.event", EventKinds(), string(e.Kind))})
	}
	if e.Implant.HeadMM != 0 || e.Kind == HeadExchanged { // without it there is no scale
		list = append(list, Fault{"head", headFault(e.Implant.HeadMM)})
	}
	return faults(append(list, e.Implant.faults()...))
}

func (e Event) dateFault(h Hip, now time.Time) Note {
	switch {
	case e.Date.IsZero():
		return Note{Code: "fault.no-date"}
	case midnight(e.Date).After(midnight(now)):
		return Note{Code: "fault.event-future", Values: texts.Values{"Date": dateText(e.Date)}}
	case !h.Surgery.IsZero() && midnight(e.Date).Before(midnight(h.Surgery)):
		return Note{Code: "fault.event-early", Values: texts.Values{"Date": dateText(e.Date), "Surgery": dateText(h.Surgery)}}
	}
	return Note{}
}

// StandingEvents returns the events that are not taken back and take none back, in order
// of date.
func StandingEvents(list []Event) []Event {
	gone := map[string]bool{}
	for _, e := range list {
		gone[e.TakesBack] = true
	}
	var out []Event
	for _, e := range list {
		if e.TakesBack == "" && !gone[e.ID] {
			out = append(out, e)
		}
	}
	slices.SortStableFunc(out, func(a, b Event) int { return a.Date.Compare(b.Date) })
	return out
}

// UntilOf returns the day of the first event that ends a series, zero where none does
// (Hip.Until).
func UntilOf(list []Event) time.Time {
	for _, e := range StandingEvents(list) {
		if e.Kind.EndsSeries() {
			return e.Date
		}
	}
	return time.Time{}
}
