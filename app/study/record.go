package study

import (
	"slices"

	"linerwatch/assets/texts"
)

// Record is a hip with everything that its study file keeps of it. What counts of it is
// computed here alone: window, commands, tables and the patient's page take it from its
// methods, which read every reading for the hip as it is now (Measurement.For).
type Record struct {
	Hip        Hip
	Films      []Film      // in date order
	Links      []Link      // that of each of Films
	Readings   []Reading   // of every reader, oldest first, as they were accepted
	Exclusions []Exclusion // oldest first
	Drafts     int         // films with outlines of a reader that nobody has accepted
	Unaccepted []Draft     // those and what the program proposes, by film and kind
	Patient    Patient     // with site and code alone where the study has no more of them
	Events     []Event     // as entered, oldest first
	Grades     []Grade     // of every reader, oldest first
	Values     []Value     // of the patient, the hip and each of Films, each in order of name
}

// FilmState says how a film stands in a record.
type FilmState string

// The states of a film in a record.
const (
	FilmRead     FilmState = "read"      // a reading counts
	FilmExcluded FilmState = "left out"  // a reader left it out; the exclusion says why
	FilmUnread   FilmState = "not read"  // no reading of the reader who counts
	FilmRefused  FilmState = "no result" // the reading that counts holds no measurement
	FilmLater    FilmState = "later"     // a reading counts, of a later series of the hip (Series)
)

// FilmEntry is a film of a record, with what counts for it.
type FilmEntry struct {
	Film
	State     FilmState
	Reading   *Reading   // that counts, or would if the film were not left out, for the hip as it is now; may be nil
	Exclusion *Exclusion // that stands; nil where the film is not left out
	Readings  int        // of all readers, withdrawn ones among them
}

// Readers returns the codes of those who read, in the order of their first
// reading that stands.
func (r Record) Readers() []string {
	var out []string
	for i := range r.Readings {
		if g := &r.Readings[i]; g.Stands() && !slices.Contains(out, g.Reader) {
			out = append(out, g.Reader)
		}
	}
	return out
}

// Standing returns what counts of a film by a rule, for the hip as it is now; nil where
// nothing does.
func (r Record) Standing(filmID string, rule Rule) *Reading {
	g := Counting(r.countable(filmID), rule)
	if g == nil {
		return nil
	}
	now := *g
	now.Measurement = g.For(r.Hip)
	return &now
}

// countable returns the readings of a film but those of readers who left it out for
// themselves.
func (r Record) countable(filmID string) (out []Reading) {
	for i := range r.Readings { // large values
		if g := &r.Readings[i]; g.FilmID == filmID && !r.leftOutBy(filmID, g.Reader) {
			out = append(out, *g)
		}
	}
	return out
}

// leftOutBy reports whether a reader has left a film out for what that reader reads alone;
// not so at a place of a list, which is then one without a reading.
func (r Record) leftOutBy(filmID, reader string) bool {
	for i := len(r.Exclusions) - 1; i >= 0; i-- {
		if e := r.Exclusions[i]; e.FilmID == filmID && e.Reader == reader && e.Scope == ForReader && e.List == "" {
			return e.Code != ""
		}
	}
	return false
}

// Exclusion returns the decision about a film for all readers that stands; nil where the
// film is not left out.
func (r Record) Exclusion(filmID string) *Exclusion {
	for i := len(r.Exclusions) - 1; i >= 0; i-- {
		if e := &r.Exclusions[i]; e.FilmID == filmID && e.Scope == ForAll {
			if e.Code == "" {
				return nil
			}
			return e
		}
	}
	return nil
}

// Counts reports whether a reading is the one that counts, or one of those that it is the
// mean of.
func (e FilmEntry) Counts(readingID string) bool {
	return e.Reading != nil && slices.Contains(e.Reading.IDs(), readingID)
}

// unread reports whether a film is left out for all in every respect: not that of a double
// examination, which the trend alone leaves out.
func (r Record) unread(filmID string) bool {
	e := r.Exclusion(filmID)
	return e != nil && e.Code != DoubleCode
}

// Entries returns every film of the record, as a rule has it.
func (r Record) Entries(rule Rule) []FilmEntry {
	out := make([]FilmEntry, 0, len(r.Films))
	for _, f := range r.Films {
		e := FilmEntry{Film: f, State: FilmRead, Reading: r.Standing(f.ID, rule), Exclusion: r.Exclusion(f.ID)}
		for i := range r.Readings {
			if r.Readings[i].FilmID == f.ID {
				e.Readings++
			}
		}
		switch {
		case e.Exclusion != nil:
			e.State = FilmExcluded
		case e.Reading == nil:
			e.State = FilmUnread
		case r.Hip.Later(f):
			e.State = FilmLater
		case e.Reading.Status != Measured:
			e.State = FilmRefused
		}
		out = append(out, e)
	}
	return out
}

// Trend returns the trend of the readings that count.
func (r Record) Trend(rule Rule) (Trend, error) {
	return NewTrend(r.Hip, counting(r.Entries(rule)))
}

// ErrNoneAccepted is the error of a hip of which nobody has accepted a reading.
var ErrNoneAccepted = NewError("trend.none-accepted", nil)

// Accepted is Trend where a reading counts; ErrNoneAccepted where none does, as nothing may
// be shown then but to those who read.
func (r Record) Accepted(reader string) (Trend, error) {
	entries := r.Entries(reader)
	switch {
	case slices.ContainsFunc(entries, func(e FilmEntry) bool { return e.State == FilmRead }):
		return r.Trend(reader)
	case reader != Anyone:
		return Trend{}, WrapError(ErrNoneAccepted, "trend.none-by", Values{"Reader": reader})
	}
	return Trend{}, ErrNoneAccepted
}

// Unchecked is the trend as Trend has it with what the program proposes on films that nobody
// has read or left out, and how many films of it nobody has checked. Those that no series
// with the others can hold are not in it.
func (r Record) Unchecked(reader string) (t Trend, n int, err error) {
	entries := r.Entries(reader)
	var proposed []Measurement
	for _, e := range entries {
		if d, ok := r.draft(e.ID, Proposed); ok && e.State == FilmUnread {
			if m, ok := d.Measured(r.Hip, e.Film); ok {
				proposed = append(proposed, m)
			}
		}
	}
	in, out := Joinable(r.Hip, counting(entries), proposed)
	t, err = NewTrend(r.Hip, in)
	return t, len(proposed) - len(out), err
}

// counting returns the measurements of the readings that count.
func counting(entries []FilmEntry) []Measurement {
	ms := make([]Measurement, 0, len(entries)) // large values: not to be moved while it grows
	for _, e := range entries {
		if e.State == FilmRead || e.State == FilmRefused {
			ms = append(ms, e.Reading.Measurement)
		}
	}
	return ms
}

// HipState says how far the work on a hip is.
type HipState string

// The states of a hip, the ones that wait for somebody first.
const (
	HipAttention  HipState = "needs attention" // something is to be decided: Summary.Attention says what
	HipInProgress HipState = "in progress"     // some films are read, and others wait
	HipNotBegun   HipState = "not begun"       // films wait, and nobody has said whose they are
	HipToRead     HipState = "to read"         // no film is read yet
	HipDone       HipState = "done"            // every film is read or left out
)

// HipStates lists the states in order.
func HipStates() []HipState {
	return []HipState{HipAttention, HipInProgress, HipNotBegun, HipToRead, HipDone}
}

var hipStateKeys = map[HipState]string{
	HipAttention: "hip.attention", HipNotBegun: "hip.not-begun", HipInProgress: "hip.in-progress", HipToRead: "hip.to-read", HipDone: "hip.done",
}

// Words returns the words of a state.
func (s HipState) Words() string { return texts.Say(hipStateKeys[s], nil) }

// Summary is one line about a hip.
type Summary struct {
	Hip       Hip
	State     HipState
	Span      // of the dates of its films
	Films     int
	Read      int // films that count
	LeftOut   int
	Unread    int
	NoResult  int // readings that hold no measurement
	Later     int // films that are read, of a later series
	Drafts    int
	Readers   []string
	Fit       *TrendFit    // nil where there is none; Why says why
	Why       Note         // no rate, or no interval
	Missing   []Note       // what is not known or not there
	Attention []Note       // what is to be decided before the hip can be read or its rate trusted
	Series    []SeriesRate // of the series after exchanges, of which nothing above but Later tells
	Doubts    []Note       // what the rate rests on and should not, as readers accepted it
}

// Covered returns s without what was measured: its rate, what that rests on, and what is to be
// decided by it.
func (s Summary) Covered() Summary {
	switch {
	case s.State != HipAttention || s.Films == 0:
	case s.Unread == 0:
		s.State = HipDone
	default:
		s.State = HipInProgress
	}
	s.Fit, s.Series, s.Why, s.Attention, s.Doubts, s.NoResult = nil, nil, Note{Code: "blind.number"}, nil, nil, 0
	return s
}

// Remarks returns what is to be said of the hip beside its rate, the weightiest first.
func (s Summary) Remarks() []Note { return slices.Concat(s.Attention, s.Doubts, s.Missing) }

// Worked is what is worked out of a record by the readings that a rule counts.
type Worked struct {
	Entries []FilmEntry
	Trend   Trend
	Err     error // of Trend
	Summary Summary
}

// Work works it out, each once: Entries, Trend and Summary of the record tell the same.
func (r Record) Work(rule Rule) Worked {
	w := Worked{Entries: r.Entries(rule)}
	w.Trend, w.Err = NewTrend(r.Hip, counting(w.Entries))
	w.Summary = r.summary(rule, w.Entries, w.Trend, w.Err)
	return w
}

// Summary tells how the hip stands, by the readings that a rule counts.
func (r Record) Summary(rule Rule) Summary {
	entries := r.Entries(rule)
	t, err := fitTrend(r.Hip, counting(entries))
	return r.summary(rule, entries, t, err)
}

// summary tells it by the hip's trend, whose error is err.
func (r Record) summary(rule Rule, entries []FilmEntry, t Trend, err error) Summary {
	s := Summary{Hip: r.Hip, Films: len(r.Films), Drafts: r.Drafts, Readers: r.Readers()}
	for _, e := range entries {
		s.Add(e.Date())
		switch e.State {
		case FilmExcluded:
			s.LeftOut++
		case FilmUnread:
			s.Unread++
		case FilmRead:
			s.Read++
		case FilmRefused:
			s.NoResult++
		case FilmLater:
			s.Later++
		}
	}
	s.Fit = t.Fit
	s.Why = whyNoRate(t, err, s)
	s.Series = r.laterRates(rule)
	s.Missing = append(missingDetails(r.Hip), missingFilms(r.Hip, entries)...)
	doubt, resized := magnified(counting(entries)), r.resized(entries)
	s.Attention = attention(r.Hip, entries, err)
	switch {
	case doubt.IsZero():
	case resized:
		s.Attention = append(s.Attention, doubt)
	default:
		s.Doubts = []Note{doubt}
	}
	switch {
	case len(s.Attention) > 0:
		s.State = HipAttention
	case s.Unread == 0:
		s.State = HipDone
	case s.Unread < s.Films:
		s.State = HipInProgress
	default:
		s.State = HipToRead
	}
	return s
}

// resized reports whether a reading that counts has a magnification that is implausible for
// the hip as it is now, while it was not when it was accepted: the head was corrected since.
// What a reader accepted in doubt is said, and not asked again.
func (r Record) resized(entries []FilmEntry) bool {
	return slices.ContainsFunc(entries, func(e FilmEntry) bool {
		return e.State == FilmRead && e.Reading.magnified() &&
			!slices.ContainsFunc(r.Readings, func(g Reading) bool { return e.Counts(g.ID) && g.warned(WarnMagnified) })
	})
}

// attention says what is to be decided of a hip; err is that of its trend, where any film
// counts.
func attention(h Hip, entries []FilmEntry, err error) []Note {
	if len(entries) == 0 {
		return []Note{{Code: "no-rate.no-films"}}
	}
	var undated, other, noResult, counts int
	for _, e := range entries {
		switch e.State {
		case FilmExcluded, FilmLater:
			continue
		case FilmRead:
			counts++
		case FilmRefused:
			noResult++
		}
		tag := e.Film.Facts.Side
		switch {
		case e.Date().IsZero():
			undated++
		case e.State != FilmUnread: // a reader has said whose it is
		case e.Facts.Patient != "" && h.Patient != "" && e.Facts.Patient != h.Patient, tag != SideUnknown && h.Side != SideUnknown && tag != h.Side:
			other++
		}
	}
	var out []Note
	if counts > 0 && err != nil {
		out = append(out, NoteOf(err))
	}
	for _, c := range []struct {
		n    int
		code string
	}{{undated, "attention.undated"}, {other, "attention.other"}, {noResult, "attention.no-result"}} {
		if c.n > 0 {
			out = append(out, Note{Code: c.code, Values: texts.Values{"N": float64(c.n)}})
		}
	}
	return out
}

// whyNoRate says why there is no rate or none with an interval.
func whyNoRate(t Trend, err error, s Summary) Note {
	switch {
	case s.Films == 0:
		return Note{Code: "no-rate.no-films"}
	case s.Read == 0:
		return Note{Code: "no-rate.unread"}
	case err != nil:
		return NoteOf(err)
	case t.Fit != nil && t.Fit.HasInterval:
		return Note{}
	case t.Fit != nil:
		return Note{Code: "no-rate.no-interval"}
	}
	return t.WhyNoRate()
}

// WhyNoRate says why there is no line, nothing where there is one.
func (t Trend) WhyNoRate() Note {
	if t.Fit != nil {
		return Note{}
	}
	n := 0
	for _, p := range t.Penetration {
		if p.InLine {
			n++
		}
	}
	if n < 2 {
		return Note{Code: "no-rate.few-films", Values: texts.Values{"N": float64(n), "Start": t.Hip.Start()}}
	}
	return Note{Code: "no-rate.no-line"}
}

// missingDetails names what is not known of the hip.
func missingDetails(h Hip) []Note {
	var out []Note
	for _, c := range []struct {
		code string
		none bool
	}{
		{"detail.side", h.Side == SideUnknown}, {"detail.surgery", h.Surgery.IsZero()}, {"detail.head", h.Implant.HeadMM == 0},
		{"detail.material", h.Implant.HeadMaterial == ""}, {"detail.liner", h.Implant.LinerMM == 0},
		{"detail.polyethylene", h.Implant.PE == ""}, {"detail.shell", h.Implant.ShellMM == 0},
	} {
		if c.none {
			out = append(out, Note{Code: c.code})
		}
	}
	return out
}

// missingFilms names the films that a trend would need.
func missingFilms(h Hip, entries []FilmEntry) []Note {
	var out []Note
	if len(entries) == 0 {
		return out
	}
	early, later := false, 0
	for _, e := range entries {
		if e.State == FilmLater {
			later++
		}
		if e.Date().IsZero() {
			continue
		}
		if y := h.Years(e.Date()); !h.Surgery.IsZero() && y >= 0 && y <= lateBaseline && e.State != FilmExcluded {
			early = true
		}
	}
	if !early && !h.Surgery.IsZero() {
		out = append(out, Note{Code: "detail.early-film"})
	}
	if later > 0 {
		out = append(out, Note{Code: "detail.later-films", Values: texts.Values{"N": float64(later)}})
	}
	return out
}
