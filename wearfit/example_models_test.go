package wearfit_test

import (
	"fmt"

	"linerwatch/wearfit"
)

func ExampleFitStick() {
	years := []float64{0.1, 0.3, 0.6, 1, 1.4, 2, 3, 5, 8, 10}
	mm := []float64{0.02, 0.07, 0.11, 0.20, 0.21, 0.23, 0.27, 0.32, 0.42, 0.49}
	s, err := wearfit.FitStick(years, mm, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	b, r := s.BreakInterval(0.95), s.RateInterval(0.95)
	fmt.Printf("bedding-in until %.2f years (%.2f to %.2f)\n", s.Break, b.Lo, b.Hi)
	fmt.Printf("then %.3f mm/year (%.3f to %.3f)\n", s.Rate, r.Lo, r.Hi)
	// Output:
	// bedding-in until 1.01 years (0.88 to 1.14)
	// then 0.032 mm/year (0.030 to 0.034)
}

func ExampleLine_TimeTo() {
	years := []float64{1, 2, 5, 8, 10}
	l, err := wearfit.FitLine(years, []float64{0.21, 0.32, 0.58, 0.93, 1.10}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	r := l.TimeTo(2, 0, 0.95)
	fmt.Printf("2 mm at %.1f years (%s, %.1f to %.1f)\n", r.At, r.Shape, r.Lo, r.Hi)
	flat, err := wearfit.FitLine(years, []float64{0.20, 0.24, 0.19, 0.23, 0.22}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("told:", flat.TimeTo(2, 0, 0.95).Told())
	// Output:
	// 2 mm at 19.0 years (interval, 17.8 to 20.4)
	// told: false
}

func ExampleAgreement() {
	b, err := wearfit.Agreement([]float64{0.21, 0.35, 0.62, 0.80, 1.02}, []float64{0.18, 0.36, 0.58, 0.79, 0.97})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("bias %.3f mm, limits %.3f to %.3f mm\n", b.Bias.Value, b.Lower, b.Upper)
	// Output:
	// bias 0.024 mm, limits -0.023 to 0.071 mm
}

func ExamplePlan_PerGroup() {
	p := wearfit.Plan{Times: []float64{1, 2, 5}, SD: 0.1, BetweenSD: 0.02, Difference: 0.03, Level: 0.95, Power: 0.8}
	n, err := p.PerGroup()
	fmt.Println(n, "hips in each group", err)
	// Output:
	// 29 hips in each group <nil>
}
