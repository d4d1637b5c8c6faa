package patient

import (
	"strings"

	"linerwatch/app/report/paper"
	"linerwatch/app/study"
	"linerwatch/assets/texts"
)

// Hip is what there is to tell of a hip.
type Hip struct {
	study.Hip
	Trend     study.Trend
	Err       error // why there is no trend
	Waiting   int   // films with outlines that nobody has accepted, and that are not in the trend
	LeftOut   int
	Unchecked int // films in the trend that nobody has accepted
}

// Block is a heading, empty or not, with its paragraphs.
type Block struct {
	Head string
	Text []string
}

// Page is the words about a hip.
type Page struct {
	Title  string
	First  []string // what is to be read before all else
	Told   []Block
	Limits Block

	hip Hip
	say voice
}

// New returns the words about a hip in a language.
func New(h Hip, speech texts.Speech) Page {
	v := voice{paper.Voice{Speech: speech}}
	p := Page{hip: h, say: v}
	side := h.Side.String()
	if h.Side == study.SideUnknown {
		side = ""
	}
	p.Title = v.Say("patient.title", study.Values{"Side": side, "Date": v.Day(h.Surgery)})
	p.Limits = Block{v.Say("patient.limits.title", nil),
		[]string{v.Say("patient.limits", nil), v.Say("patient.caution", study.Values{"Unchecked": h.Unchecked > 0})}}
	if h.Err != nil {
		why := study.NoteIn(v.Say, study.PatientNote(h.Err))
		p.Told = []Block{{Text: []string{join(v.Say("patient.none", study.Values{"Why": why}), p.aside(false))}}}
		return p
	}
	if h.Unchecked > 0 {
		p.First = append(p.First, v.Say("patient.unchecked", study.Values{"N": float64(h.Unchecked), "Of": float64(len(h.Trend.Penetration))}))
	}
	if !h.Trend.Doubt().IsZero() {
		p.First = append(p.First, v.Say("patient.doubt", nil))
	}
	p.Told = []Block{p.measured(), p.moved(), p.settling()}
	return p
}

// voice says the parts of sentences about a hip.
type voice struct{ paper.Voice }

func join(parts ...string) string { return strings.TrimSpace(strings.Join(parts, " ")) }

// last is the latest film of the trend.
func (p Page) last() study.Penetration {
	return p.hip.Trend.Penetration[len(p.hip.Trend.Penetration)-1]
}

// measured says on which films.
func (p Page) measured() Block {
	v, list := p.say, p.hip.Trend.Penetration
	films := study.Values{"N": float64(len(list)), "From": v.Month(list[0].Film.Date()), "To": v.Month(p.last().Film.Date())}
	return Block{v.Say("patient.measured.title", nil), []string{join(v.Say("patient.measured", films), p.aside(true))}}
}

// aside says which films are not in what is shown: those that wait for a clinician, and those
// that are left out; more says that there are others.
func (p Page) aside(more bool) string {
	var out []string
	if n := p.hip.Waiting; n > 0 {
		out = append(out, p.say.Say("patient.waits", study.Values{"N": float64(n), "More": more}))
	}
	if n := p.hip.LeftOut; n > 0 {
		out = append(out, p.say.Say("patient.left-out", study.Values{"N": float64(n)}))
	}
	return join(out...)
}

// base is the month of the film that movement is counted from; empty where that is the first.
func (p Page) base() string {
	t := p.hip.Trend
	if t.Baseline.ID == t.Penetration[0].Film.ID {
		return ""
	}
	return p.say.Month(t.Baseline.Date())
}

// Moves reports whether there is a movement to show: between the film that it is counted from
// and a later one.
func (p Page) Moves() bool { return p.hip.Err == nil && p.last().Film.ID != p.hip.Trend.Baseline.ID }

// cardMM is the thickness of a bank card, mm (ISO/IEC 7810: 0.76 mm).
const cardMM = 0.76

// moved says how far the ball has moved.
func (p Page) moved() Block {
	v, last := p.say, p.last()
	if len(p.hip.Trend.Penetration) < 2 {
		return Block{"", []string{v.Say("patient.one-film", nil)}}
	}
	out := Block{Head: v.Say("patient.moved.title", nil)}
	if !p.Moves() {
		out.Text = []string{v.Say("patient.moved.counted-last", nil)}
		return out
	}
	from := v.Say("patient.moved.from", study.Values{"Month": p.base()})
	length, se := last.Magnitude()
	give := max(1.96*se, 0.01)
	if length < give {
		out.Text = []string{v.Say("patient.moved.none", study.Values{"From": from, "Give": v.Fixed(give, 2)})}
		return out
	}
	places := 1
	if give < 0.095 { // which one decimal would make look larger than it is, or none
		places = 2
	}
	said := study.Values{"Length": v.Fixed(length, places), "From": from, "Give": v.Fixed(give, places), "Up": "", "Down": "", "Card": v.Fixed(cardMM, 1)}
	switch up := v.Fixed(last.Vector.Superior, places); {
	case up == said["Length"]:
	case up == v.Fixed(-last.Vector.Superior, places) || last.Vector.Superior > 0: // none either way
		said["Up"] = up
	default:
		said["Down"] = v.Fixed(-last.Vector.Superior, places)
	}
	out.Text = []string{v.Say("patient.moved", said)}
	return out
}

// settling says how far it settled and what the pace is since.
func (p Page) settling() Block {
	v, f := p.say, p.hip.Trend.Fit
	if f == nil {
		return Block{"", []string{v.Say("patient.few-films", nil)}}
	}
	return Block{v.Say("patient.settling.title", nil), []string{
		v.Say("patient.settling", study.Values{"Settled": v.settled(f, p.hip.Trend.Settling())}), v.since(f)}}
}

// settled says how long settling took only where the films tell it.
func (v voice) settled(f *study.TrendFit, s study.Settling) string {
	switch {
	case !f.HasBedding:
		return v.Say("patient.settled.unseen", nil)
	case f.BeddingIn <= 0 || f.HasInterval && f.BeddingLo95 <= 0:
		return v.Say("patient.settled.little", nil)
	}
	length := "untold"
	switch {
	case s.Bounded(f):
		length = "within"
	case s.Told:
		length = "outlasts"
	}
	return v.Say("patient.settled", study.Values{"MM": v.Fixed(f.BeddingIn, 2), "Length": length, "Start": f.StartYears})
}

// since says the pace: it and the ends of its interval with the same decimals.
func (v voice) since(f *study.TrendFit) string {
	if !f.HasInterval {
		return v.Say("patient.since.two-films", study.Values{"Rate": v.Fixed(f.Rate, 2)})
	}
	places := decimals(f.Hi95 - f.Lo95)
	said := study.Values{"Rate": v.Fixed(f.Rate, places), "Lo": v.Fixed(f.Lo95, places), "Hi": v.Fixed(f.Hi95, places)}
	switch {
	case f.Hi95 <= 0:
		return v.Say("patient.since.backwards", nil)
	case said["Lo"] == said["Hi"]:
		return v.Say("patient.since.close", study.Values{"Rate": v.Fixed(f.Rate, 2)})
	case f.Lo95 <= 0:
		delete(said, "Rate")
		return v.Say("patient.since.untold", said)
	}
	return v.Say("patient.since", said)
}

// decimals keeps the ends of an interval apart.
func decimals(width float64) int {
	if width < 0.02 {
		return 3
	}
	return 2
}

// HasPace reports whether there is a pace to reckon with, which is done only where a surgeon
// chooses it.
func (p Page) HasPace() bool {
	return p.hip.Err == nil && p.hip.Trend.Fit != nil && p.hip.Trend.Fit.HasInterval
}

// AskPace asks whether a pace is to be reckoned with.
func (p Page) AskPace() string { return p.say.Say("patient.pace.ask", nil) }

// longest is the time up to which the slow end of a pace is told, years.
const longest = 200

// Pace is plain arithmetic: how long a distance takes at the pace of the hip, by the ends of
// its 95 % interval; nothing where there is none.
func (p Page) Pace(mm float64) string {
	if !p.HasPace() {
		return ""
	}
	return p.say.pace(mm, p.hip.Trend.Fit.Lo95, p.hip.Trend.Fit.Hi95)
}

func (v voice) pace(mm, lo, hi float64) string {
	said := study.Values{"Case": "range", "MM": v.Number(mm), "From": "", "To": ""}
	switch {
	case hi <= 0:
		said["Case"] = "none"
	case lo <= 0 || mm/lo > longest:
		said["Case"], said["From"] = "open", v.Years(mm/hi)
	default:
		said["From"], said["To"] = v.Years(mm/hi), v.Years(mm/lo)
		if said["From"] == said["To"] {
			said["Case"] = "one"
		}
	}
	return v.Say("patient.pace", said)
}
