package survive

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Test is a chi-square test.
type Test struct {
	ChiSquare, P float64
	DF           int
}

func newTest(x float64, df int) Test {
	return Test{ChiSquare: x, P: distuv.ChiSquared{K: float64(df)}.Survival(x), DF: df}
}

// quadratic tests that z, whose covariance is v, is 0.
func quadratic(z []float64, v mat.Symmetric) (Test, error) {
	var c mat.Cholesky
	var x mat.VecDense
	at := mat.NewVecDense(len(z), z)
	if !c.Factorize(v) || c.Cond() > 1e13 || c.SolveVecTo(&x, at) != nil {
		return Test{}, ErrNoEvent
	}
	return newTest(mat.Dot(at, &x), len(z)), nil
}

// alike tests that the scores of all groups, which add up to 0, are 0. A group whose
// score cannot vary, as nobody of it was at risk at an event, is left out.
func alike(z []float64, v *mat.SymDense) (Test, error) {
	var most float64
	for k := range z {
		most = max(most, v.At(k, k))
	}
	var kept []int
	for k := range z {
		if v.At(k, k) > 1e-12*most {
			kept = append(kept, k)
		}
	}
	if len(kept) < 2 {
		return Test{}, ErrNoEvent
	}
	kept = kept[:len(kept)-1]
	score, part := make([]float64, len(kept)), mat.NewSymDense(len(kept), nil)
	for i, a := range kept {
		score[i] = z[a]
		for j, b := range kept[i:] {
			part.SetSym(i, i+j, v.At(a, b))
		}
	}
	return quadratic(score, part)
}

// turn is a time at which there were events: by group, how many were at risk just
// before it, and how many had the event in question, or another.
type turn struct{ risk, own, other []float64 }

func (t turn) total() (risk, own float64) {
	for k := range t.risk {
		risk += t.risk[k]
		own += t.own[k]
	}
	return risk, own
}

// turns counts groups of liners through the times of their events.
func turns(groups [][]Liner, event int) ([]turn, error) {
	type place struct {
		Liner
		group int
	}
	if len(groups) < 2 {
		return nil, ErrNone
	}
	var all []place
	risk := make([]float64, len(groups))
	for g, liners := range groups {
		if err := check(liners); err != nil {
			return nil, err
		}
		for _, l := range liners {
			all = append(all, place{l, g})
			risk[g]++
		}
	}
	slices.SortStableFunc(all, func(a, b place) int { return cmp.Compare(a.Years, b.Years) })
	var out []turn
	for i := 0; i < len(all); {
		t := turn{slices.Clone(risk), make([]float64, len(groups)), make([]float64, len(groups))}
		events := 0
		for at := all[i].Years; i < len(all) && all[i].Years == at; i++ {
			l := all[i]
			risk[l.group]--
			switch l.Event {
			case InPlace:
				continue
			case event:
				t.own[l.group]++
			default:
				t.other[l.group]++
			}
			events++
		}
		if events > 0 {
			out = append(out, t)
		}
	}
	return out, nil
}

// Ranks is the log-rank test that groups are revised alike.
type Ranks struct {
	Test
	Observed, Expected []float64 // revisions, by group
}

// LogRank compares the hazard of a revision between groups, other events ending the
// observation (Mantel N. Cancer Chemother Rep 1966;50:163-170), liner by liner: it
// counts two liners of one patient as two.
func LogRank(groups ...[]Liner) (Ranks, error) {
	all, err := turns(groups, Revised)
	if err != nil {
		return Ranks{}, err
	}
	k := len(groups)
	r := Ranks{Observed: make([]float64, k), Expected: make([]float64, k)}
	v := mat.NewSymDense(k, nil)
	for _, t := range all {
		n, d := t.total()
		for a := range k {
			r.Observed[a] += t.own[a]
			r.Expected[a] += d * t.risk[a] / n
			for b := a; b < k && n > 1; b++ {
				share := -t.risk[a] * t.risk[b] / (n * n)
				if a == b {
					share += t.risk[a] / n
				}
				v.SetSym(a, b, v.At(a, b)+d*(n-d)/(n-1)*share)
			}
		}
	}
	z := make([]float64, k)
	for a := range z {
		z[a] = r.Observed[a] - r.Expected[a]
	}
	r.Test, err = alike(z, v)
	return r, err
}
