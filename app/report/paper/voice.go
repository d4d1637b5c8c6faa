package paper

import (
	"math"
	"strconv"
	"strings"
	"time"

	"linerwatch/assets/texts"
)

// Voice says numbers and dates in a language.
type Voice struct{ texts.Speech }

// Number writes as many decimals as the number has.
func (v Voice) Number(x float64) string {
	return v.marked(strconv.FormatFloat(math.Abs(x), 'f', -1, 64), x)
}

// Fixed writes a number of decimals.
func (v Voice) Fixed(x float64, decimals int) string {
	return v.marked(strconv.FormatFloat(math.Abs(x), 'f', decimals, 64), x)
}

// marked puts the decimal mark into the digits of x, and a minus before those that are not
// all 0.
func (v Voice) marked(digits string, x float64) string {
	some := strings.Trim(digits, "0.") != ""
	digits = strings.Replace(digits, ".", v.Say("number.mark", nil), 1)
	if x < 0 && some {
		return v.Say("number.minus", texts.Values{"Number": digits})
	}
	return digits
}

// Signed is Fixed with the minus sign of a table; a dash for what is no number.
func (v Voice) Signed(x float64, decimals int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "–"
	}
	digits := strconv.FormatFloat(math.Abs(x), 'f', decimals, 64)
	some := strings.Trim(digits, "0.") != ""
	digits = strings.Replace(digits, ".", v.Say("number.mark", nil), 1)
	if x < 0 && some {
		return "−" + digits
	}
	return digits
}

// Years rounds a time that is reckoned.
func (v Voice) Years(y float64) string {
	if y < 10 {
		return v.Number(math.Round(y*10) / 10)
	}
	return v.Number(math.Round(y))
}

func (v Voice) monthName(t time.Time) string {
	if names := strings.Fields(v.Say("month.names", nil)); len(names) == 12 {
		return names[t.Month()-1]
	}
	return t.Month().String()
}

// Month writes "January 2006".
func (v Voice) Month(t time.Time) string {
	return v.Say("month.year", texts.Values{"Month": v.monthName(t), "Year": strconv.Itoa(t.Year())})
}

// Day writes "2 January 2006".
func (v Voice) Day(t time.Time) string {
	return v.Say("month.day", texts.Values{"Day": strconv.Itoa(t.Day()), "Month": v.monthName(t), "Year": strconv.Itoa(t.Year())})
}
