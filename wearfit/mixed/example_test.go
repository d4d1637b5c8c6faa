package mixed_test

import (
	"fmt"

	"linerwatch/wearfit/mixed"
)

func ExampleFit() {
	var d mixed.Data
	d.Names, d.Fixed = []string{"bedding-in", "rate"}, make([][]float64, 2)
	for hip, rate := range map[string]float64{"A": 0.04, "B": 0.06, "C": 0.05, "D": 0.07} {
		for i, t := range []float64{1, 2, 5, 10} {
			d.Hip, d.Time = append(d.Hip, hip), append(d.Time, t)
			d.Value = append(d.Value, 0.1+rate*t+[]float64{0.01, -0.01, -0.01, 0.01}[i])
			d.Fixed[0], d.Fixed[1] = append(d.Fixed[0], 1), append(d.Fixed[1], t)
		}
	}
	m, err := mixed.Fit(d, mixed.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("rate %.3f mm/year, between hips ±%.3f\n", m.Coef[1], m.SDSlope)
	// Output:
	// rate 0.056 mm/year, between hips ±0.013
}

func ExampleEachRate() {
	d := mixed.Data{
		Hip:   []string{"A", "A", "B", "B", "C", "C", "D", "D"},
		Time:  []float64{1, 5, 1, 5, 1, 5, 1, 5},
		Value: []float64{0.2, 0.6, 0.2, 0.64, 0.1, 0.3, 0.1, 0.34},
	}
	r, err := mixed.EachRate(d, 2, func(hip string) int {
		if hip < "C" {
			return 0
		}
		return 1
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f and %.2f mm/year\n", r.Slopes[0], r.Slopes[1])
	// Output:
	// [0.10 0.11] and [0.05 0.06] mm/year
}

func ExampleLikelihoodRatio() {
	d := mixed.Data{Names: []string{"intercept", "rate"}, Fixed: make([][]float64, 2)}
	for h, own := range []float64{-0.05, 0.02, 0.04, -0.01} {
		for k := range 4 {
			x := float64(k + 1)
			d.Hip = append(d.Hip, string(rune('A'+h)))
			d.Time, d.Value = append(d.Time, x), append(d.Value, 0.1+(0.1+own)*x+0.01*float64(k%2))
			d.Fixed[0], d.Fixed[1] = append(d.Fixed[0], 1), append(d.Fixed[1], x)
		}
	}
	slope, err := mixed.Fit(d, mixed.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	level, err := mixed.Fit(d, mixed.Options{Random: mixed.InterceptOnly})
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := mixed.LikelihoodRatio(slope, level)
	fmt.Printf("%d degrees of freedom, rates vary between hips: %v, %v\n", r.DF, r.Mixture < 0.001, err)
	// Output:
	// 2 degrees of freedom, rates vary between hips: true, <nil>
}
