package survive_test

import (
	"fmt"

	"linerwatch/wearfit/survive"
)

func ExampleKaplanMeier() {
	c, err := survive.KaplanMeier([]survive.Liner{{Years: 2, Event: survive.Revised}, {Years: 5},
		{Years: 7, Event: survive.Revised}, {Years: 10}, {Years: 12}})
	if err != nil {
		fmt.Println(err)
		return
	}
	s := c.At(10)
	ci := s.Interval(0.95)
	fmt.Printf("at 10 years %.2f (%.2f to %.2f), %d at risk\n", s.Value, ci.Lo, ci.Hi, s.AtRisk)
	// Output:
	// at 10 years 0.53 (0.07 to 0.86), 2 at risk
}

func ExampleCurve_QuantileInterval() {
	var liners []survive.Liner
	for i := range 20 {
		liners = append(liners, survive.Liner{Years: float64(i + 1), Event: i % 2})
	}
	c, err := survive.KaplanMeier(liners)
	if err != nil {
		fmt.Println(err)
		return
	}
	y, ok := c.Quantile(0.25)
	ci := c.QuantileInterval(0.25, 0.95)
	fmt.Printf("a quarter revised by year %g (%g to %g), %v\n", y, ci.Lo, ci.Hi, ok)
	// Output:
	// a quarter revised by year 10 (2 to 16), true
}

// Ten liners that all lasted do not say that every liner does.
func ExampleShare_Interval() {
	c, err := survive.KaplanMeier(make([]survive.Liner, 10))
	if err != nil {
		fmt.Println(err)
		return
	}
	s := c.At(0)
	ci := s.Interval(0.95)
	fmt.Printf("%.2f (%.2f to %.2f), %s\n", s.Value, ci.Lo, ci.Hi, s.Method())
	// Output:
	// 1.00 (0.69 to 1.00), exact
}

func ExampleLogRank() {
	a := []survive.Liner{{Years: 2, Event: 1}, {Years: 4, Event: 1}, {Years: 9}, {Years: 10}}
	b := []survive.Liner{{Years: 8, Event: 1}, {Years: 9}, {Years: 11}, {Years: 12}}
	r, err := survive.LogRank(a, b)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%g and %g revised, %.2f and %.2f expected, p = %.2f\n", r.Observed[0], r.Observed[1], r.Expected[0], r.Expected[1], r.P)
	// Output:
	// 2 and 1 revised, 1.26 and 1.74 expected, p = 0.38
}

func ExampleAalenJohansen() {
	const died = 2
	liners := []survive.Liner{{Years: 2, Event: survive.Revised}, {Years: 3, Event: died}, {Years: 6, Event: survive.Revised}, {Years: 9}}
	inc, err := survive.AalenJohansen(liners, []float64{5, 8}, 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, i := range inc {
		fmt.Printf("year %g: %.2f revised, %.2f died first\n", i.Years, i.Of[0].Value, i.Of[1].Value)
	}
	// Output:
	// year 5: 0.25 revised, 0.25 died first
	// year 8: 0.50 revised, 0.25 died first
}

func ExampleGray() {
	const died = 2
	a := []survive.Liner{{Years: 2, Event: 1}, {Years: 4, Event: 1}, {Years: 9, Event: died}, {Years: 10}}
	b := []survive.Liner{{Years: 3, Event: died}, {Years: 8, Event: 1}, {Years: 11}, {Years: 12}}
	r, err := survive.Gray(survive.Revised, a, b)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("chi-square %.3f, p = %.2f\n", r.ChiSquare, r.P)
	// Output:
	// chi-square 0.717, p = 0.40
}

func ExampleCox() {
	rate := []float64{0.21, 0.05, 0.14, 0.08, 0.11, 0.04} // mm/year
	liners := []survive.Liner{{Years: 4, Event: 1}, {Years: 9}, {Years: 6, Event: 1}, {Years: 7, Event: 1}, {Years: 12}, {Years: 11}}
	h, err := survive.Cox(liners, [][]float64{rate})
	if err != nil {
		fmt.Println(err)
		return
	}
	hr, ci := h.Ratio(0, 0.01, 0.95)
	fmt.Printf("hazard ratio for 0.01 mm/year %.2f (%.2f to %.2f), p = %.2f\n", hr, ci.Lo, ci.Hi, h.Likelihood.P)
	same, _ := h.Proportional()
	fmt.Printf("proportional: p = %.2f\n", same[0].P)
	// Output:
	// hazard ratio for 0.01 mm/year 1.52 (0.90 to 2.57), p = 0.02
	// proportional: p = 0.43
}
