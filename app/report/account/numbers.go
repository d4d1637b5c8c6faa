package account

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"linerwatch/app/study"
)

const none = "–"

// number writes a value with decimals; a dash for one that does not exist.
func number(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return none
	}
	text := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	if v < 0 && strings.Trim(text, "0.") != "" {
		return "−" + text
	}
	return text
}

// decimals are those that a unit is told with.
func decimals(unit string) int {
	switch unit {
	case "years":
		return 1
	case "px":
		return 1
	}
	return 3
}

// within writes an interval; an end that is open as such.
func within(i study.Interval, decimals int) string {
	return end(i.Lo, decimals) + " " + say("account.to") + " " + end(i.Hi, decimals)
}

func end(v float64, decimals int) string {
	if math.IsInf(v, 0) {
		return say("account.open")
	}
	return number(v, decimals)
}

// value writes a quantity; p its P.
func value(q study.Quantity) string {
	if !q.Exists() {
		return none
	}
	return number(q.Value, decimals(q.Unit))
}

func interval(q study.Quantity) string {
	if !q.Exists() || !q.HasInterval {
		return none
	}
	return within(q.Interval, decimals(q.Unit))
}

func probability(q study.Quantity) string {
	switch {
	case !q.HasP:
		return none
	case q.P < 0.001:
		return "< 0.001"
	}
	return number(q.P, 3)
}

func percent(share float64) string { return number(100*share, 1) + " %" }

func percents(i study.Interval) string {
	return number(100*i.Lo, 1) + " " + say("account.to") + " " + number(100*i.Hi, 1) + " %"
}

func count(n int) string { return strconv.Itoa(n) }

// of writes n of all with its share.
func of(n, all int) string {
	if all == 0 {
		return count(n)
	}
	return fmt.Sprintf("%d (%s)", n, percent(float64(n)/float64(all)))
}
