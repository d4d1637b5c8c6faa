package phantom_test

import (
	"fmt"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

func ExampleRender() {
	s := phantom.Plain(measure.Right).Around(measure.Right, 90)
	film, err := phantom.Render(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(film.Bounds().Size())
	// Output: (608,608)
}

func ExampleTruths() {
	s := phantom.Plain(measure.Right)
	s.Hips[0].Superior, s.Hips[0].Medial = 1, 0.5
	truth, err := phantom.Truths(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	t := truth[0]
	fmt.Printf("%s: head radius %.1f px, cup radius %.1f px\n", t.Side, t.Head.R, t.Cup.R)
	// Output: right: head radius 109.0 px, cup radius 210.0 px
}

func ExampleSeries() {
	course := phantom.Course{BeddingIn: 0.2, Rate: 0.1}
	films := phantom.Series(phantom.Plain(measure.Left), course, []float64{0, 1, 5}, phantom.Repositioning{ShiftMM: 4})
	for _, s := range films {
		fmt.Printf("%.2f mm\n", s.Hips[0].Superior)
	}
	// Output:
	// 0.00 mm
	// 0.30 mm
	// 0.70 mm
}

func ExampleExpose() {
	s := phantom.Plain(measure.Right).Around(measure.Right, 40)
	s.Hips[0].Detail.FlangeMM = 1
	s.Pieces = []phantom.Piece{{Shape: phantom.Ball, From: [3]float64{-92, 60, 0}, Radius: 12.5}}
	depth, err := phantom.Expose(s)
	if err != nil {
		fmt.Println(err)
		return
	}
	middle := depth.V[depth.H/2*depth.W+depth.W/2]
	fmt.Println("metal is deeper than soft tissue:", middle > 0.5)
	// Output: metal is deeper than soft tissue: true
}
