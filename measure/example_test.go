package measure_test

import (
	"fmt"

	"linerwatch/measure"
)

func ExampleFitCircle() {
	points := []measure.Point{{X: 1, Y: 7}, {X: 2, Y: 6}, {X: 5, Y: 8}, {X: 7, Y: 7}, {X: 9, Y: 5}, {X: 3, Y: 7}}
	f, err := measure.FitCircle(points, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("centre (%.4f, %.4f), radius %.4f\n", f.X, f.Y, f.R)
	// Output: centre (4.7398, 2.9835), radius 4.7142
}

func ExampleRead() {
	head := measure.CircleFit{Circle: measure.Circle{X: 1005, Y: 990, R: 100}}
	cup := measure.CircleFit{Circle: measure.Circle{X: 1000, Y: 1000, R: 180}}
	r, err := measure.Read(head, cup, 28, measure.Right, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f mm per pixel, head %.2f mm superior and %.2f mm medial of the cup's centre\n",
		r.Scale, r.Offset.Superior, r.Offset.Medial)
	// Output: 0.14 mm per pixel, head 1.40 mm superior and 0.70 mm medial of the cup's centre
}

func ExampleVector_Sub() {
	baseline := measure.Vector{Superior: 0.2, Medial: 0.1}
	followUp := measure.Vector{Superior: 0.8, Medial: 0.9}
	penetration := followUp.Sub(baseline)
	length, _ := penetration.Magnitude()
	fmt.Printf("%.1f mm at %.0f degrees from superior towards medial\n", length, penetration.Direction())
	// Output: 1.0 mm at 53 degrees from superior towards medial
}
