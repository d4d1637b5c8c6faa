package wearfit_test

import (
	"fmt"

	"linerwatch/wearfit"
)

func ExampleFitLine() {
	years := []float64{1, 2, 5, 8, 10}
	mm := []float64{0.21, 0.32, 0.58, 0.93, 1.10}
	l, err := wearfit.FitLine(years, mm, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	lo, hi := l.SlopeInterval(0.95)
	fmt.Printf("rate %.3f mm/year (95 %% interval %.3f to %.3f)\n", l.Slope, lo, hi)
	lo, hi = l.PredictInterval(12, 0.95)
	fmt.Printf("a film at 12 years: %.2f to %.2f mm\n", lo, hi)
	// Output:
	// rate 0.100 mm/year (95 % interval 0.090 to 0.109)
	// a film at 12 years: 1.21 to 1.41 mm
}

func ExampleLine_WithSigma() {
	// Two films give no interval of their own; a known reading error does.
	l, err := wearfit.FitLine([]float64{1, 5}, []float64{0.20, 0.60}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	lo, hi := l.WithSigma(0.05).SlopeInterval(0.95)
	fmt.Printf("rate %.3f mm/year (%.3f to %.3f)\n", l.Slope, lo, hi)
	// Output:
	// rate 0.100 mm/year (0.065 to 0.135)
}

func ExampleFitOrigin() {
	l, err := wearfit.FitOrigin([]float64{5, 10, 15}, []float64{1, 2, 3}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f mm/year\n", l.Slope)
	// Output:
	// 0.20 mm/year
}

func ExampleFirstToLast() {
	r, err := wearfit.FirstToLast([]float64{1, 3, 5}, []float64{0.20, 0.45, 0.60})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f mm/year\n", r)
	// Output:
	// 0.10 mm/year
}
