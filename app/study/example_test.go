package study_test

import (
	"fmt"
	"time"

	"linerwatch/app/study"
	"linerwatch/measure"
)

func date(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 0, 0, 0, 0, time.UTC) }

func film(name string, on time.Time, superior float64) study.Measurement {
	const variance = 0.03 * 0.03 // mm²
	return study.Measurement{
		Film: study.Film{Path: name, Facts: study.Facts{Date: on}}, Status: study.Measured, Side: measure.Left, HeadMM: 28,
		Reading: measure.Reading{Offset: measure.Vector{Superior: superior, Cov: [2][2]float64{{variance, 0}, {0, variance}}}},
	}
}

func ExampleNewTrend() {
	hip := study.Hip{Side: measure.Left, Surgery: date(2004, 5, 3), Implant: study.Implant{HeadMM: 28}}
	trend, err := study.NewTrend(hip, []study.Measurement{
		film("week6.dcm", date(2004, 6, 14), 0.10),
		film("year1.dcm", date(2005, 5, 3), 0.29),
		film("year5.dcm", date(2009, 5, 3), 0.71),
		film("year10.dcm", date(2014, 5, 3), 1.22),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range trend.Penetration {
		fmt.Printf("%-10s %5.2f years %5.2f mm\n", p.Film.Name(), p.Years, p.Superior)
	}
	f := trend.Fit
	fmt.Printf("rate %.3f mm/year (%.3f to %.3f)\n", f.Rate, f.Lo95, f.Hi95)
	fmt.Printf("bedding-in %.2f mm (%.2f to %.2f)\n", f.BeddingIn, f.BeddingLo95, f.BeddingHi95)
	// Output:
	// week6.dcm   0.11 years  0.00 mm
	// year1.dcm   1.00 years  0.19 mm
	// year5.dcm   5.00 years  0.61 mm
	// year10.dcm 10.00 years  1.12 mm
	// rate 0.103 mm/year (0.093 to 0.114)
	// bedding-in 0.09 mm (-0.01 to 0.19)
}

func ExampleHip_Validate() {
	hip := study.Hip{Side: measure.Left, Surgery: date(2024, 5, 3), Implant: study.Implant{HeadMM: 2.8, LinerMM: 6}}
	fmt.Println(study.Told(hip.Validate(date(2020, 1, 1))))
	// Output:
	// the date of surgery, 2024-05-03, is in the future; a head diameter of 2.8 mm is outside 22 to 44 mm
}

func ExampleNewHipRate() {
	r := study.NewHipRate("H-12", []study.Point{
		{Years: 0.1}, {Years: 1, MM: 0.19}, {Years: 5, MM: 0.61}, {Years: 10, MM: 1.12},
	}, study.DefaultStartYears)
	fmt.Printf("%s: %.3f mm/year from %d of %d films\n", r.Hip, r.Fit.Rate, r.Used, r.N)
	// Output:
	// H-12: 0.103 mm/year from 3 of 4 films
}
