package find_test

import (
	"context"
	"fmt"
	"image"
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

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

func ExampleHips() {
	img, s := film()
	hips, err := find.Hips(context.Background(), img, find.Options{HeadMM: 28, Spacing: s.Spacing})
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
	o, err := find.Refine(img, measure.Circle{X: 210, Y: 180, R: 100}, measure.Head)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("centre (%.1f, %.1f), radius %.1f px\n", o.X, o.Y, o.R)
	// Output: centre (201.3, 188.8), radius 95.2 px
}

func ExampleRing() {
	s := phantom.Plain(measure.Right)
	s.Hips[0].Cup = measure.Wire
	s = s.Around(measure.Right, 150)
	img, err := phantom.Render(s)
	if err != nil {
		panic(err)
	}
	headMM := s.Hips[0].HeadMM
	hips, err := find.Hips(context.Background(), img, find.Options{HeadMM: headMM, Spacing: s.Spacing})
	if err != nil {
		fmt.Println(err)
		return
	}
	head, ring := hips[0].Head.Circle, hips[0].Cup.Ring
	dragged := ring
	dragged.X += 20
	o, err := find.Ring(img, dragged, head, headMM)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f px from where it was\n", math.Hypot(o.Ring.X-ring.X, o.Ring.Y-ring.Y))
	// Output: 0 px from where it was
}
