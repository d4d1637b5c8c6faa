package study

import (
	"math"
	"slices"
	"time"

	"linerwatch/assets/texts"
	"linerwatch/measure"
)

// The limits of what is entered for a hip. They catch slips of the keyboard
// and mixed-up fields; common practice, no source.
const (
	MinHeadMM  = 22 // heads are sold from 22 mm
	MaxHeadMM  = 44 // to 44 mm
	MinLinerMM = 2
	MaxLinerMM = 20

	DefaultStartYears = 1
	MaxStartYears     = 20
)

// firstSurgery is the earliest year of surgery believed: total hip
// replacements with polyethylene date from about 1960.
const firstSurgery = 1955

// Fault is one thing wrong with what was entered.
type Fault struct {
	Field string // what is at fault, as Validate names it
	Why   Note
}

// FaultsError lists everything wrong with a hip.
type FaultsError struct{ Faults []Fault }

func (e *FaultsError) Error() string {
	return "study: " + e.Says().String()
}

// Says lists the faults.
func (e *FaultsError) Says() Note {
	var all []Note
	for _, f := range e.Faults {
		all = append(all, f.Why)
	}
	return listed(all)
}

// Validate checks what was entered for a hip; now is the present time. The
// error is a *FaultsError that names every fault at once.
func (h Hip) Validate(now time.Time) error {
	return faults(slices.Concat([]Fault{
		{"side", sideFault(h.Side)},
		{"surgery", surgeryFault(h.Surgery, now)},
		{"head", headFault(h.Implant.HeadMM)},
	}, h.Implant.faults(), []Fault{
		{"start", startFault(h.StartYears)},
		{"site", siteFault(h.Site)},
		{"age", within("fault.age", h.Age, 1, MaxAge)},
	}))
}

func sideFault(s measure.Side) Note {
	if s == measure.Right || s == measure.Left {
		return Note{}
	}
	return Note{Code: "fault.side"}
}

func surgeryFault(surgery, now time.Time) Note {
	switch {
	case surgery.IsZero():
		return Note{Code: "fault.no-surgery"}
	case midnight(surgery).After(midnight(now)):
		return Note{Code: "fault.future", Values: texts.Values{"Date": dateText(surgery)}}
	case surgery.Year() < firstSurgery:
		return Note{Code: "fault.too-early", Values: texts.Values{"Date": dateText(surgery), "Year": float64(firstSurgery)}}
	}
	return Note{}
}

func headFault(mm float64) Note {
	switch {
	case mm == 0:
		return Note{Code: "fault.no-head"}
	case !(mm >= MinHeadMM && mm <= MaxHeadMM):
		return outside("fault.head", mm, MinHeadMM, MaxHeadMM)
	}
	return Note{}
}

func linerFault(mm float64) Note {
	if mm == 0 || (mm >= MinLinerMM && mm <= MaxLinerMM) {
		return Note{}
	}
	return outside("fault.liner", mm, MinLinerMM, MaxLinerMM)
}

func startFault(years float64) Note {
	if years >= 0 && years <= MaxStartYears {
		return Note{}
	}
	return outside("fault.start", years, 0, MaxStartYears)
}

// outside is the fault of a value that is not within limits.
func outside(code string, v, least, most float64) Note {
	return Note{Code: code, Values: texts.Values{"Value": v, "Least": least, "Most": most}}
}

// Start returns the start of the steady state in years, the default where the
// hip states none.
func (h Hip) Start() float64 {
	if h.StartYears == 0 {
		return DefaultStartYears
	}
	return h.StartYears
}

// Years returns the time from surgery to date in years of 365.25 days,
// negative before surgery.
func (h Hip) Years(date time.Time) float64 {
	return math.Round(midnight(date).Sub(midnight(h.Surgery)).Hours()/24) / daysPerYear
}

const daysPerYear = 365.25

// midnight returns the UTC midnight of t's calendar day.
func midnight(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

func dateText(t time.Time) string { return t.Format(time.DateOnly) }
