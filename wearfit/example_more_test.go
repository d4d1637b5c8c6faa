package wearfit_test

import (
	"fmt"
	"math"

	"linerwatch/wearfit"
)

// Nine films of one hip: bedding-in over about a year, then 0.06 mm/year.
var (
	filmYears = []float64{0.1, 0.25, 0.5, 1, 2, 3, 5, 7, 10}
	filmMM    = []float64{0.03, 0.06, 0.11, 0.22, 0.27, 0.34, 0.45, 0.56, 0.76}
)

func ExampleFitStickAt() {
	s, err := wearfit.FitStickAt(filmYears, filmMM, nil, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	ci := s.RateInterval(0.95)
	fmt.Printf("%.3f mm/year (%.3f to %.3f)\n", s.Rate, ci.Lo, ci.Hi)
	// Output:
	// 0.060 mm/year (0.057 to 0.062)
}

func ExampleStick_TimeTo() {
	s, err := wearfit.FitStick(filmYears, filmMM, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	c := s.TimeTo(1.5, 0.95)
	fmt.Printf("year %.1f, told %v\n", c.At, c.Told())
	for _, t := range c.Times {
		fmt.Printf("%.1f to %.1f\n", t.Lo, t.Hi)
	}
	// Output:
	// year 23.0, told true
	// 22.2 to 24.0
}

func ExampleFitBedding() {
	b, err := wearfit.FitBedding(filmYears, filmMM, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("bedding-in %.2f mm, wear %.3f mm/year, told apart %v\n", b.Creep, b.Rate, b.Identifiable())
	next := b.PredictInterval(12, 1, 0.95)
	fmt.Printf("a film at 12 years: %.2f to %.2f mm\n", next.Lo, next.Hi)
	// Output:
	// bedding-in 0.15 mm, wear 0.059 mm/year, told apart true
	// a film at 12 years: 0.80 to 0.93 mm
}

func ExampleFitTheilSen() {
	l, err := wearfit.FitTheilSen([]float64{1, 2, 3, 4, 5}, []float64{0.1, 0.2, 0.9, 0.4, 0.5})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f mm/year\n", l.Slope)
	// Output:
	// 0.10 mm/year
}

func ExampleFitSiegel() {
	l, err := wearfit.FitSiegel([]float64{1, 2, 3, 4, 5}, []float64{0.1, 0.2, 0.9, 0.4, 0.5})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f mm/year\n", l.Slope)
	// Output:
	// 0.10 mm/year
}

func ExampleFitHuber() {
	one := []float64{1, 1, 1, 1, 1, 1}
	h, err := wearfit.FitHuber([][]float64{one, {1, 2, 3, 4, 5, 6}}, []float64{0.11, 0.19, 0.9, 0.41, 0.49, 0.61})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f mm/year, the third film weighs %.2f\n", h.Coef[1], h.Weights[2])
	// Output:
	// 0.10 mm/year, the third film weighs 0.03
}

func ExampleFitLinear() {
	one := []float64{1, 1, 1, 1, 1}
	l, err := wearfit.FitLinear([][]float64{one, {1, 2, 3, 5, 8}}, []float64{0.21, 0.29, 0.42, 0.6, 0.91}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	e := l.Estimate(1)
	fmt.Printf("%.3f ± %.3f, %.0f degrees of freedom\n", e.Value, e.SE, e.DF)
	// Output:
	// 0.101 ± 0.002, 3 degrees of freedom
}

func ExampleFitCurve() {
	f := func(t float64, p []float64) float64 { return p[0] * (1 - math.Exp(-t/p[1])) }
	c, err := wearfit.FitCurve(f, []float64{1, 1}, []float64{0.5, 1, 2, 4, 8}, []float64{0.39, 0.64, 0.86, 0.98, 1}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f %.2f\n", c.Params[0], c.Params[1])
	// Output:
	// 1.00 1.00
}

func ExampleFitVector() {
	superior := []float64{0.18, 0.25, 0.43, 0.66, 0.81}
	medial := []float64{0.07, 0.11, 0.25, 0.41, 0.55}
	v, err := wearfit.FitVector([]float64{1, 2, 4, 7, 9}, superior, medial, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	s := v.Speed(0.95)
	fmt.Printf("%.3f mm/year (%.3f to %.3f) at %.0f degrees, below detection %v\n",
		s.Value, s.Interval.Lo, s.Interval.Hi, v.Direction(), s.Below)
	// Output:
	// 0.100 mm/year (0.094 to 0.105) at 37 degrees, below detection false
}

func ExampleCompare() {
	ranked, err := wearfit.Compare(filmYears, filmMM, nil, 1)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range ranked[:2] {
		fmt.Printf("%s: %.1f\n", r.Model, r.Delta)
	}
	// Output:
	// broken line, known break: 0.0
	// broken line, free break: 12.0
}

func ExampleCompareMeans() {
	w, err := wearfit.CompareMeans([]float64{0.10, 0.12, 0.09, 0.11}, []float64{0.05, 0.04, 0.06, 0.05})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("difference %.3f mm/year, p = %.4f\n", w.Difference.Value, w.P)
	// Output:
	// difference 0.055 mm/year, p = 0.0008
}

func ExampleCompareRanks() {
	m, err := wearfit.CompareRanks([]float64{1, 2, 3}, []float64{4, 5, 6})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("U = %g, p = %.1f, exact %v\n", m.U, m.P, m.Exact)
	// Output:
	// U = 0, p = 0.1, exact true
}

func ExampleAgreementRepeated() {
	a := [][]float64{{1.0, 1.1}, {2.0, 2.2}, {3.1, 3.0}, {4.0, 3.9}}
	b := [][]float64{{1.1, 1.2}, {2.1, 2.1}, {2.9, 3.1}, {4.2, 4.0}}
	r, err := wearfit.AgreementRepeated(a, b, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	_, upper := r.LimitsRecovered(0.95)
	fmt.Printf("limits %.2f to %.2f, the upper one %.2f to %.2f\n", r.Lower, r.Upper, upper.Lo, upper.Hi)
	// Output:
	// limits -0.32 to 0.22, the upper one 0.11 to 0.69
}

func ExampleRepeat() {
	r, err := wearfit.Repeat([][]float64{{0.10, 0.14}, {0.31, 0.29}, {0.52, 0.58}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("SD %.3f mm, two readings differ by less than %.3f mm\n", r.SD, r.Coefficient)
	// Output:
	// SD 0.031 mm, two readings differ by less than 0.085 mm
}

func ExamplePrecision() {
	p, err := wearfit.Precision([]float64{0.10, 0.31, 0.52}, []float64{0.14, 0.29, 0.58})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("SD about zero %.3f mm, one reading %.3f mm\n", p.SD, p.Within)
	// Output:
	// SD about zero 0.043 mm, one reading 0.031 mm
}

func ExampleIntraclass() {
	// Shrout PE, Fleiss JL. Psychol Bull 1979;86:420-428.
	r, err := wearfit.Intraclass([][]float64{{9, 2, 5, 8}, {6, 1, 3, 2}, {8, 4, 6, 8}, {7, 1, 2, 6}, {10, 5, 6, 9}, {6, 2, 4, 7}}, 0.95)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, f := range r.Forms {
		fmt.Printf("%s %.2f\n", f.Form, f.Value)
	}
	// Output:
	// ICC(1,1) 0.17
	// ICC(2,1) 0.29
	// ICC(3,1) 0.71
	// ICC(1,k) 0.44
	// ICC(2,k) 0.62
	// ICC(3,k) 0.91
}

func ExampleConcord() {
	c, err := wearfit.Concord([]float64{0.1, 0.2, 0.3, 0.4}, []float64{0.12, 0.19, 0.33, 0.41})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f\n", c.Value)
	// Output:
	// 0.985
}

func ExampleCrossed() {
	c, err := wearfit.Crossed([][][]float64{{{1.0, 1.1}, {1.2, 1.3}}, {{2.0, 2.1}, {2.3, 2.2}}, {{3.1, 3.0}, {3.2, 3.3}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("SD of repeats %.3f, of readings by any reader %.3f\n", c.RepeatabilitySD().SD, c.ReproducibilitySD().SD)
	// Output:
	// SD of repeats 0.061, of readings by any reader 0.152
}

func ExampleMinimumRate() {
	least, err := wearfit.MinimumRate([]float64{1, 2, 5, 10}, 0.1, 0.95, 0.8)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.3f mm/year\n", least)
	// Output:
	// 0.081 mm/year
}
