package study_test

import (
	"fmt"

	"linerwatch/app/study"
)

func ExampleParseAxes() {
	a, err := study.ParseAxes("left,up,45")
	fmt.Println(a.Head, a.Front, a.Obliquity, err)
	_, err = study.ParseAxes("left,right")
	fmt.Println(study.Told(err))
	// Output:
	// left up 45 <nil>
	// "left,right" does not say where head end and front lie, such as left,up
}

func ExampleDrawLine() {
	l, err := study.DrawLine(study.Pixel{X: 400, Y: 900}, study.Pixel{X: 1200, Y: 914}, 0.13)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(l.Words())
	// Output:
	// superior is at right angles to the reference line drawn, +1.0 ± 0.8 degrees to the rows
}

func ExampleFilm_Beam() {
	f := study.Film{Facts: study.Facts{Width: 1000, Height: 1000, SpacingMM: 0.148, SourceMM: 1150}}
	_, _, use := f.Beam()
	fmt.Println(use.Words())
	// Output:
	// not corrected for off-axis projection: the film is 148 x 148 mm, a part of an exposure: where the central ray met it is not known
}
