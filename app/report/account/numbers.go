package account

import (
	"fmt"
	"math"
	"strconv"

	"linerwatch/app/study"
)

const none = "–"

// number writes a value with decimals; a dash for one that does not exist.
func (w *writer) number(v float64, decimals int) string { return w.voice.Signed(v, decimals) }

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
func (w *writer) within(i study.Interval, decimals int) string {
	return w.end(i.Lo, decimals) + " " + w.say("account.to") + " " + w.end(i.Hi, decimals)
}

func (w *writer) end(v float64, decimals int) string {
	if math.IsInf(v, 0) {
		return w.say("account.open")
	}
	return w.number(v, decimals)
}

// value writes a quantity; p its P.
func (w *writer) value(q study.Quantity) string {
	if !q.Exists() {
		return none
	}
	return w.number(q.Value, decimals(q.Unit))
}

func (w *writer) interval(q study.Quantity) string {
	if !q.Exists() || !q.HasInterval {
		return none
	}
	return w.within(q.Interval, decimals(q.Unit))
}

func (w *writer) probability(q study.Quantity) string {
	switch {
	case !q.HasP:
		return none
	case q.P < 0.001:
		return "< " + w.number(0.001, 3)
	}
	return w.number(q.P, 3)
}

func (w *writer) percent(share float64) string { return w.number(100*share, 1) + " %" }

func (w *writer) percents(i study.Interval) string {
	return w.number(100*i.Lo, 1) + " " + w.say("account.to") + " " + w.number(100*i.Hi, 1) + " %"
}

func count(n int) string { return strconv.Itoa(n) }

// of writes n of all with its share.
func (w *writer) of(n, all int) string {
	if all == 0 {
		return count(n)
	}
	return fmt.Sprintf("%d (%s)", n, w.percent(float64(n)/float64(all)))
}
