package find_test

import (
	"fmt"
	"image"

	"linerwatch/measure"
	"linerwatch/measure/find"
)

// A later film is compared with the baseline film; where too little bone is seen,
// as on these empty ones, nothing is proposed.
func ExampleAlignPelvis() {
	view := find.PelvisView{
		Film: image.NewGray16(image.Rect(0, 0, 800, 800)), HeadMM: 28, Side: measure.Right,
		Head: measure.Circle{X: 400, Y: 400, R: 50}, Cup: measure.Circle{X: 400, Y: 402, R: 95},
	}
	r, err := find.AlignPelvis(view, view)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("turned by %.2f ± %.2f degrees\n", r.Degrees, r.SE)
	// Output:
	// measure: find.no-pelvis
}

// How well the beam is known is in the standard errors.
func ExampleBeam_ReadHipWithin() {
	b := measure.Beam{SourceImage: 1150, Spacing: 0.148, Center: measure.Point{X: 1440, Y: 1200}}
	h := measure.Hip{Side: measure.Right}
	h.Head.Circle = measure.Circle{X: 700, Y: 1430, R: 109}
	h.Cup.Circle = measure.Circle{X: 701, Y: 1433, R: 210}
	for _, doubt := range []measure.BeamDoubt{{}, {Center: 10, SourceImage: 12}} {
		r, err := b.ReadHipWithin(h, 28, 0, doubt)
		if err != nil {
			fmt.Println(err)
			return
		}
		_, medial := r.Offset.SE()
		fmt.Printf("%.2f ± %.4f mm medial\n", r.Offset.Medial, medial)
	}
	// Output:
	// -0.18 ± 0.0000 mm medial
	// -0.18 ± 0.0048 mm medial
}
