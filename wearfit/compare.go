package wearfit

import (
	"cmp"
	"math"
	"slices"
)

// Ranked is one model in a comparison of models on the same films.
type Ranked struct {
	Model  string
	Params int // coefficients, and the variance
	RSS    float64
	AICc   float64
	Delta  float64 // AICc above the least
	Weight float64 // share of exp(-Delta/2)
	Err    error   // why the model could not be fitted or compared
}

// ErrExact says that a model passes through every film, so that its
// likelihood has no bound.
var ErrExact = &exactError{}

type exactError struct{}

func (*exactError) Error() string { return "wearfit: the model passes through every film" }

// Compare fits every model to the same films and orders them by Akaike's
// criterion with the correction for few films (Hurvich CM, Tsai CL. Biometrika
// 1989;76:297-307), the least first; models that cannot be compared come last
// with their reason. start is the break of the broken line with a known break.
// The line from start on is not among them: it uses fewer films.
func Compare(t, y, w []float64, start float64) ([]Ranked, error) {
	return (*Curves)(nil).Compare(t, y, w, start)
}

// Compare is the function of that name.
func (c *Curves) Compare(t, y, w []float64, start float64) ([]Ranked, error) {
	if err := check(t, y, w, 2); err != nil {
		return nil, err
	}
	one := unit(len(t))
	linear := func(cols ...[]float64) func() (float64, error) {
		return func() (float64, error) {
			l, err := FitLinear(cols, y, w)
			return l.RSS, err
		}
	}
	var out []Ranked
	for _, m := range []struct {
		name   string
		params int
		fit    func() (float64, error)
	}{
		{"line through the origin", 2, linear(t)},
		{"line", 3, linear(one, t)},
		{"broken line, known break", 4, func() (float64, error) {
			s, err := FitStickAt(t, y, w, start)
			return s.RSS, err
		}},
		{"broken line, free break", 5, func() (float64, error) {
			s, err := c.FitStick(t, y, w)
			return s.RSS, err
		}},
		{"bedding-in and line", 4, func() (float64, error) {
			b, err := c.FitBedding(t, y, w)
			return b.RSS, err
		}},
	} {
		r := Ranked{Model: m.name, Params: m.params}
		r.RSS, r.Err = m.fit()
		if r.Err == nil {
			r.AICc, r.Err = aicc(r.RSS, w, len(t), m.params)
		}
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b Ranked) int {
		if (a.Err == nil) != (b.Err == nil) {
			return map[bool]int{true: -1, false: 1}[a.Err == nil]
		}
		return cmp.Compare(a.AICc, b.AICc)
	})
	share(out)
	return out, nil
}

func share(out []Ranked) {
	var sum float64
	for i := range out {
		if out[i].Err == nil {
			out[i].Delta = out[i].AICc - out[0].AICc
			out[i].Weight = math.Exp(-out[i].Delta / 2)
			sum += out[i].Weight
		}
	}
	for i := range out {
		if sum > 0 {
			out[i].Weight /= sum
		}
	}
}

// aicc is Akaike's criterion of a least-squares fit with k parameters, the
// variance among them.
func aicc(rss float64, w []float64, n, k int) (float64, error) {
	if n-k-1 < 1 {
		return 0, &TooFewError{n, k + 2}
	}
	if rss <= 0 {
		return 0, ErrExact
	}
	fn, fk := float64(n), float64(k)
	v := fn*(math.Log(2*math.Pi*rss/fn)+1) + 2*fk + 2*fk*(fk+1)/(fn-fk-1)
	for i := range w {
		v -= math.Log(w[i])
	}
	return v, nil
}

func unit(n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = 1
	}
	return v
}

// Starts are the usual choices of the time from which wear alone is counted;
// common practice, no source.
func Starts() []float64 { return []float64{0.5, 1, 1.5, 2} }
