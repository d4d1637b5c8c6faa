package measure_test

import (
	"context"
	"fmt"
	"image"
	"math"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
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

// film renders a phantom film with a 28 mm head moved 1 mm upwards in a 54 mm
// shell.
func film() (*image.Gray16, phantom.Scene) {
	s := phantom.Default()
	h := phantom.DefaultHip(measure.Right)
	h.Superior = 1
	s.Hips = []phantom.Hip{h}
	img, err := phantom.Render(s)
	if err != nil {
		panic(err)
	}
	return img, s
}

func ExampleDetect() {
	img, s := film()
	hips, err := measure.Detect(context.Background(), img, measure.Options{HeadMM: 28, Spacing: s.Spacing})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, h := range hips {
		r, err := measure.Read(h.Head.CircleFit, h.Cup.CircleFit, 28, h.Side, 0)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s hip, %s: head %.1f mm superior of the cup's centre\n", h.Side, h.CupKind, r.Offset.Superior)
	}
	// Output: right hip, shell: head 1.0 mm superior of the cup's centre
}

func ExampleRefine() {
	want := measure.Circle{X: 201.3, Y: 188.8, R: 95.4}
	img := disc(400, 400, want, 15000, 30000, 1.2, 300, 3)
	o, err := measure.Refine(img, measure.Circle{X: 210, Y: 180, R: 100}, measure.Head)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("centre (%.1f, %.1f), radius %.1f px\n", o.X, o.Y, o.R)
	// Output: centre (201.3, 188.8), radius 95.2 px
}

func ExampleRefineRing() {
	s := phantom.Plain(measure.Right)
	s.Hips[0].Cup = measure.Wire
	s = s.Around(measure.Right, 150)
	img, err := phantom.Render(s)
	if err != nil {
		panic(err)
	}
	headMM := s.Hips[0].HeadMM
	hips, err := measure.Detect(context.Background(), img, measure.Options{HeadMM: headMM, Spacing: s.Spacing})
	if err != nil {
		fmt.Println(err)
		return
	}
	head, ring := hips[0].Head.Circle, hips[0].Cup.Ring
	dragged := ring
	dragged.X += 20
	o, err := measure.RefineRing(img, dragged, head, headMM)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f px from where it was\n", math.Hypot(o.Ring.X-ring.X, o.Ring.Y-ring.Y))
	// Output: 0 px from where it was
}
