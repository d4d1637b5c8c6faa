package settle_test

import (
	"fmt"
	"math"
	"math/rand/v2"

	"linerwatch/wearfit/settle"
)

// invented films of some hips: bedding-in some 0.15 mm, wear some 0.06 mm/year.
func invented(hips int) settle.Data {
	r := rand.New(rand.NewPCG(1, 1))
	var d settle.Data
	for h := range hips {
		creep, rate := 0.15+0.05*r.NormFloat64(), 0.06+0.02*r.NormFloat64()
		for _, t := range []float64{0, 0.25, 1, 2, 5, 8} {
			d.Hip, d.Time = append(d.Hip, fmt.Sprint("H", h+1)), append(d.Time, t)
			d.Value = append(d.Value, creep*(1-math.Exp(-t/0.4))+rate*t+0.03*r.NormFloat64())
		}
	}
	return d
}

func ExampleFit() {
	c, err := settle.Fit(invented(20), settle.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	rate := c.Estimate(1)
	i := rate.Interval(0.95)
	fmt.Printf("%d films of %d hips\n", c.Films, c.Hips)
	fmt.Printf("rate %.3f mm/year (%.3f to %.3f, %.0f degrees of freedom)\n", rate.Value, i.Lo, i.Hi, rate.DF)
	fmt.Printf("between hips: rate ±%.3f mm/year, bedding-in ±%.2f mm\n", c.SDRate, c.SDCreep)
	fmt.Println("time constant told:", c.Low && c.High)
	// Output:
	// 120 films of 20 hips
	// rate 0.064 mm/year (0.051 to 0.076, 19 degrees of freedom)
	// between hips: rate ±0.026 mm/year, bedding-in ±0.04 mm
	// time constant told: true
}

func ExampleBelief_Hip() {
	c, err := settle.Fit(invented(20), settle.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	b, err := c.Believe(1)
	if err != nil {
		fmt.Println(err)
		return
	}
	h, ok := b.Hip("H3")
	rate, five := h.Rate(0.95), h.Penetration(5, 0.95)
	fmt.Printf("%v: %.2f mm/year (%.2f to %.2f)\n", ok, rate.Value, rate.Lo, rate.Hi)
	fmt.Printf("at 5 years %.2f mm (%.2f to %.2f)\n", five.Value, five.Lo, five.Hi)
	// Output:
	// true: 0.09 mm/year (0.08 to 0.10)
	// at 5 years 0.63 mm (0.58 to 0.69)
}

func ExampleBelief_Course() {
	c, err := settle.Fit(invented(20), settle.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	b, err := c.Believe(1)
	if err != nil {
		fmt.Println(err)
		return
	}
	h, err := b.Course(settle.Films{Hip: "new", Time: []float64{0, 1, 2}, Value: []float64{0, 0.19, 0.27}})
	if err != nil {
		fmt.Println(err)
		return
	}
	rate := h.Rate(0.95)
	fmt.Printf("%.2f mm/year (%.2f to %.2f), by %d films and %d hips\n", rate.Value, rate.Lo, rate.Hi, h.Films, h.Hips)
	// Output:
	// 0.06 mm/year (0.03 to 0.10), by 3 films and 20 hips
}
