package findings

import (
	"math"
	"strconv"

	"linerwatch/app/study"
	"linerwatch/wearfit"
)

// Visit is the penetration of the films about one time since surgery.
type Visit struct {
	Years    float64          // its nominal time
	From, To float64          // films from then, and before then, are of it
	Of       []study.Quantity // mean of each group, in the order of the groups; Note tells why there is none
	N        []int            // hips of each group
	SD       []float64        // between hips; 0 of fewer than two
}

// visitYears are six weeks and the years at which hips are usually filmed; common practice,
// no source.
var visitYears = []float64{42 / 365.25, 1, 2, 5, 10, 15, 20}

// visits tells the mean penetration of each group at each visit that has films. A film is
// of the visit whose time is nearest by proportion; of a hip that has several the nearest
// counts. The baseline film, whose penetration is 0 by definition, is left out.
func visits(hips []Hip, groups []string) []Visit {
	var out []Visit
	for k, y := range visitYears {
		v := Visit{Years: y, To: math.Inf(1)}
		if k > 0 {
			v.From = math.Sqrt(visitYears[k-1] * y)
		}
		if k+1 < len(visitYears) {
			v.To = math.Sqrt(y * visitYears[k+1])
		}
		total := 0
		for _, group := range groups {
			list := v.values(hips, group)
			q, sd := meanOf(group, list)
			v.Of, v.N, v.SD = append(v.Of, q), append(v.N, len(list)), append(v.SD, sd)
			total += len(list)
		}
		if total > 0 {
			out = append(out, v)
		}
	}
	return out
}

// values are the penetrations of a group's hips at the visit.
func (v Visit) values(hips []Hip, group string) []float64 {
	var out []float64
	for _, h := range hips {
		if h.In != group {
			continue
		}
		best, at := math.Inf(1), -1
		for i, f := range h.Films {
			if d := math.Abs(math.Log(max(f.Years, 1/365.25) / v.Years)); !f.Baseline && f.Years >= v.From && f.Years < v.To && d < best {
				best, at = d, i
			}
		}
		if at >= 0 {
			out = append(out, h.Films[at].MM)
		}
	}
	return out
}

// meanOf is the mean of hips with Student's interval, of two or more.
func meanOf(group string, list []float64) (q study.Quantity, sd float64) {
	q = study.Quantity{Of: group, Model: "visit", Name: "mean penetration", Unit: "mm"}
	n := float64(len(list))
	if n == 0 {
		q.Value, q.Note = math.Inf(1), said("findings.no-hip")
		return q, 0
	}
	for _, v := range list {
		q.Value += v / n
	}
	if n < 2 {
		q.Note = said("findings.one-hip")
		return q, 0
	}
	for _, v := range list {
		sd += (v - q.Value) * (v - q.Value)
	}
	sd = math.Sqrt(sd / (n - 1))
	q.SE, q.DF = sd/math.Sqrt(n), n-1
	q.Interval, q.HasInterval = wearfit.Estimate{Value: q.Value, SE: q.SE, DF: q.DF}.Interval(0.95), true
	return q, sd
}

func digits(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
