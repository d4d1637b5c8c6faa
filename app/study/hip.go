package study

import (
	"fmt"
	"math"
	"strings"
	"time"

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
	Field   string // "head", "material", "liner", "PE", "shell", "fixation", "side", "surgery" or "start"
	Message string // for the reader, with the unit
}

// FaultsError lists everything wrong with a hip.
type FaultsError struct{ Faults []Fault }

func (e *FaultsError) Error() string {
	var s []string
	for _, f := range e.Faults {
		s = append(s, f.Message)
	}
	return "study: " + strings.Join(s, "; ")
}

// Validate checks what was entered for a hip; now is the present time. The
// error is a *FaultsError that names every fault at once.
func (h Hip) Validate(now time.Time) error {
	var faults []Fault
	for _, c := range []struct{ field, message string }{
		{"side", sideFault(h.Side)},
		{"surgery", surgeryFault(h.Surgery, now)},
		{"head", headFault(h.Implant.HeadMM)},
		{"material", choiceFault("head material", HeadMaterials(), h.Implant.HeadMaterial)},
		{"liner", linerFault(h.Implant.LinerMM)},
		{"PE", choiceFault("polyethylene", PEKinds(), h.Implant.PE)},
		{"shell", shellFault(h.Implant.ShellMM, h.Implant.HeadMM)},
		{"fixation", choiceFault("fixation", Fixations(), h.Implant.Fixation)},
		{"start", startFault(h.StartYears)},
	} {
		if c.message != "" {
			faults = append(faults, Fault{c.field, c.message})
		}
	}
	if faults != nil {
		return &FaultsError{faults}
	}
	return nil
}

func sideFault(s measure.Side) string {
	if s == measure.Right || s == measure.Left {
		return ""
	}
	return "the side is missing: right or left hip"
}

func surgeryFault(surgery, now time.Time) string {
	switch {
	case surgery.IsZero():
		return "the date of surgery is missing"
	case midnight(surgery).After(midnight(now)):
		return fmt.Sprintf("the date of surgery, %s, is in the future", dateText(surgery))
	case surgery.Year() < firstSurgery:
		return fmt.Sprintf("the date of surgery, %s, is before total hip replacement (year %d)", dateText(surgery), firstSurgery)
	}
	return ""
}

func headFault(mm float64) string {
	switch {
	case mm == 0:
		return "the head diameter is missing: it is in the operation note, in mm"
	case !(mm >= MinHeadMM && mm <= MaxHeadMM):
		return fmt.Sprintf("a head diameter of %g mm is outside %d to %d mm", mm, MinHeadMM, MaxHeadMM)
	}
	return ""
}

func linerFault(mm float64) string {
	if mm == 0 || (mm >= MinLinerMM && mm <= MaxLinerMM) {
		return ""
	}
	return fmt.Sprintf("a liner thickness of %g mm is outside %d to %d mm (leave it empty where unknown)", mm, MinLinerMM, MaxLinerMM)
}

func startFault(years float64) string {
	if years >= 0 && years <= MaxStartYears {
		return ""
	}
	return fmt.Sprintf("a start of the steady state at %g years is outside 0 to %d years", years, MaxStartYears)
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
