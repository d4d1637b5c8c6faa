package study

import (
	"errors"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

func day(s string) time.Time {
	d, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err)
	}
	return d
}

func rightHip() Hip {
	return Hip{ID: "H1", Side: measure.Right, Surgery: day("2004-05-03"), Implant: Implant{HeadMM: 28}}
}

func TestValidate(t *testing.T) {
	now := time.Date(2020, 6, 1, 9, 0, 0, 0, time.UTC)
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name, field string
		change      func(*Hip)
		want        string // empty for a valid hip
	}{
		{"plain", "", func(*Hip) {}, ""},
		{"everything given", "", func(h *Hip) {
			h.Implant = Implant{HeadMM: 36, LinerMM: 5.9, PE: "XLPE", HeadMaterial: "ZTA", ShellMM: 54, Fixation: "uncemented", LinerInnerMM: 36.1, LinerOuterMM: 48, Irradiated: Yes, DoseKGy: 90, Stabiliser: "vitamin E", Lipped: No, Catalogue: "any text"}
			h.StartYears = 2
		}, ""},
		{"smallest head", "", func(h *Hip) { h.Implant.HeadMM = 22 }, ""},
		{"22.225 mm head", "", func(h *Hip) { h.Implant.HeadMM = 22.225 }, ""},
		{"largest head", "", func(h *Hip) { h.Implant.HeadMM = 44 }, ""},
		{"surgery today", "", func(h *Hip) { h.Surgery = day("2020-06-01") }, ""},
		{"no side", "side", func(h *Hip) { h.Side = measure.SideUnknown }, "the side is missing: right or left hip"},
		{"no surgery", "surgery", func(h *Hip) { h.Surgery = time.Time{} }, "the date of surgery is missing"},
		{"surgery tomorrow", "surgery", func(h *Hip) { h.Surgery = day("2020-06-02") }, "the date of surgery, 2020-06-02, is in the future"},
		{"surgery in 1904", "surgery", func(h *Hip) { h.Surgery = day("1904-05-03") }, "the date of surgery, 1904-05-03, is before total hip replacement (year 1955)"},
		{"no head", "head", func(h *Hip) { h.Implant.HeadMM = 0 }, "the head diameter is missing: it is in the operation note, in mm"},
		{"head in cm", "head", func(h *Hip) { h.Implant.HeadMM = 2.8 }, "a head diameter of 2.8 mm is outside 22 to 44 mm"},
		{"cup for head", "head", func(h *Hip) { h.Implant.HeadMM = 52 }, "a head diameter of 52 mm is outside 22 to 44 mm"},
		{"head not a number", "head", func(h *Hip) { h.Implant.HeadMM = nan }, "a head diameter of NaN mm is outside 22 to 44 mm"},
		{"thin liner", "liner", func(h *Hip) { h.Implant.LinerMM = 1.9 }, "a liner thickness of 1.9 mm is outside 2 to 20 mm (leave it empty where unknown)"},
		{"negative liner", "liner", func(h *Hip) { h.Implant.LinerMM = -6 }, "a liner thickness of -6 mm is outside 2 to 20 mm (leave it empty where unknown)"},
		{"infinite liner", "liner", func(h *Hip) { h.Implant.LinerMM = inf }, "a liner thickness of +Inf mm is outside 2 to 20 mm (leave it empty where unknown)"},
		{"other PE", "PE", func(h *Hip) { h.Implant.PE = "ceramic" }, `polyethylene "ceramic" is none of XLPE, conventional (leave it empty where unknown)`},
		{"other material", "material", func(h *Hip) { h.Implant.HeadMaterial = "gold" }, `head material "gold" is none of CoCr, steel, alumina, ZTA, zirconia, OxZr, other (leave it empty where unknown)`},
		{"shell for liner", "shell", func(h *Hip) { h.Implant.ShellMM = 9 }, "a shell of 9 mm is outside 36 to 80 mm (leave it empty where unknown)"},
		{"shell within head", "shell", func(h *Hip) { h.Implant.HeadMM, h.Implant.ShellMM = 44, 40 }, "a shell of 40 mm does not hold a head of 44 mm"},
		{"shell not a number", "shell", func(h *Hip) { h.Implant.ShellMM = nan }, "a shell of NaN mm is outside 36 to 80 mm (leave it empty where unknown)"},
		{"other fixation", "fixation", func(h *Hip) { h.Implant.Fixation = "glued" }, `fixation "glued" is none of uncemented, cemented (leave it empty where unknown)`},
		{"negative start", "start", func(h *Hip) { h.StartYears = -1 }, "a start of the steady state at -1 years is outside 0 to 20 years"},
		{"late start", "start", func(h *Hip) { h.StartYears = 2004 }, "a start of the steady state at 2004 years is outside 0 to 20 years"},
	} {
		t.Run(c.name, func(t *testing.T) {
			h := rightHip()
			c.change(&h)
			err := h.Validate(now)
			if c.want == "" {
				require.NoError(t, err)
				return
			}
			require.Equal(t, c.want, Told(err))
			var faults *FaultsError
			require.ErrorAs(t, err, &faults)
			require.Len(t, faults.Faults, 1)
			assert.Equal(t, c.field, faults.Faults[0].Field)
			assert.Equal(t, c.want, NoteWords(faults.Faults[0].Why))
		})
	}
}

func TestValidateNamesEveryFault(t *testing.T) {
	err := Hip{}.Validate(day("2020-06-01"))
	var faults *FaultsError
	require.True(t, errors.As(err, &faults))
	var fields []string
	for _, f := range faults.Faults {
		fields = append(fields, f.Field)
	}
	assert.Equal(t, []string{"side", "surgery", "head"}, fields)
	assert.NotContains(t, err.Error(), "\n")
}

// A reader ahead of UTC may enter today's date.
func TestValidateCountsTheReadersDay(t *testing.T) {
	now := time.Date(2020, 6, 2, 1, 0, 0, 0, time.FixedZone("", 12*3600)) // still 1 June in UTC
	h := rightHip()
	h.Surgery = day("2020-06-02")
	require.NoError(t, h.Validate(now))
}

func TestYears(t *testing.T) {
	h := rightHip()
	for _, c := range []struct {
		date string
		want float64
	}{
		{"2004-05-03", 0},
		{"2004-06-14", 42 / 365.25},
		{"2005-05-03", 365 / 365.25},
		{"2008-05-03", 4}, // 1461 days
		{"2004-05-02", -1 / 365.25},
	} {
		assert.InDelta(t, c.want, h.Years(day(c.date)), 1e-15, c.date)
	}
}

// An anniversary counts although 365 days are less than 365.25; the day before
// it does not.
func TestInSteadyState(t *testing.T) {
	h := rightHip()
	for _, c := range []struct {
		date  string
		start float64
		want  bool
	}{
		{"2005-05-03", 1, true}, {"2005-05-02", 1, false}, {"2006-05-03", 2, true}, {"2006-05-02", 2, false},
		{"2007-05-03", 3, true}, {"2007-05-02", 3, false}, {"2008-05-03", 4, true}, {"2008-05-02", 4, false},
		{"2009-05-03", 5, true}, {"2014-05-03", 10, true}, {"2004-11-02", 0.5, true}, {"2004-10-30", 0.5, false},
	} {
		assert.Equal(t, c.want, InSteadyState(h.Years(day(c.date)), c.start), c.date)
	}
}
