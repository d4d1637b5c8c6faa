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
