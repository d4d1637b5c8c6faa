package measure_test

import (
	"context"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/fit"
	"linerwatch/measure/phantom"
)

type sphereShadow struct {
	R, Offset, Depth, Detector float64
	A                          float64 `json:"major_semi_axis"`
	B                          float64 `json:"minor_semi_axis"`
	ShadowCenter               float64 `json:"shadow_centre"`
	Center                     float64 `json:"projected_sphere_centre"`
	Nominal                    float64 `json:"nominal_magnification"`
}

func sphereShadows(t *testing.T) []sphereShadow {
	t.Helper()
	var ref struct {
		Spheres []sphereShadow `json:"sphere_shadow_cone_beam"`
	}
	loadJSON(t, "geometry_examples.json", &ref)
	require.Len(t, ref.Spheres, 20)
	return ref.Spheres
}

// TestShadow compares with tangent rays computed with numpy, along several
// directions and at 0.15 mm per pixel.
func TestShadow(t *testing.T) {
	for _, s := range sphereShadows(t) {
		for _, direction := range []float64{0, 30, 135, 250} {
			sin, cos := math.Sincos(direction * math.Pi / 180)
			const px = 0.15
			b := measure.Beam{SourceImage: s.Detector, Center: measure.Point{X: 1400, Y: 1100}, Spacing: px}
			sphere := measure.Circle{X: 1400 + cos*s.Center/px, Y: 1100 + sin*s.Center/px, R: s.R * s.Nominal / px}
			e, err := b.Shadow(sphere)
			require.NoError(t, err)
			assert.InDelta(t, s.A/px, e.A, 1e-9)
			assert.InDelta(t, s.B/px, e.B, 1e-9)
			assert.InDelta(t, 1400+cos*s.ShadowCenter/px, e.X, 1e-9)
			assert.InDelta(t, 1100+sin*s.ShadowCenter/px, e.Y, 1e-9)

			// A circle as a reader fits it, from all of the outline, from the half
			// away from the beam and from a third of it across.
			for name, arc := range map[string][2]float64{
				"whole": {0, 360}, "half": {direction - 90, direction + 90}, "third": {direction + 30, direction + 150},
			} {
				var points []measure.Point
				for i := range 180 {
					phi := (arc[0] + (arc[1]-arc[0])*(float64(i)+0.5)/180 - e.Angle) * math.Pi / 180
					points = append(points, e.At(math.Atan2(math.Sin(phi)/e.B, math.Cos(phi)/e.A)*180/math.Pi))
				}
				f, err := fit.Circle(points, measure.Circle{X: e.X, Y: e.Y, R: e.A})
				require.NoError(t, err)
				got, err := b.CorrectFit(f)
				require.NoError(t, err)
				assertCircle(t, planeCircle{XC: sphere.X, YC: sphere.Y, R: sphere.R}, got.Circle, 1e-4)
				if name == "whole" {
					f.Points = nil
					got, err := b.CorrectFit(f)
					require.NoError(t, err)
					assertCircle(t, planeCircle{XC: sphere.X, YC: sphere.Y, R: sphere.R}, got.Circle, 1e-4)
				}
			}
		}
	}
}

// TestConcentricSpheres sets a head of 28 mm and a shell of 52 mm about one
// point: the centres of their shadows lie apart, the corrected ones do not.
func TestConcentricSpheres(t *testing.T) {
	find := func(r float64) sphereShadow {
		for _, s := range sphereShadows(t) {
			if s.R == r && s.Offset == 100 && s.Depth == 1000 {
				return s
			}
		}
		t.Fatal("no such sphere")
		return sphereShadow{}
	}
	head, shell := find(14), find(26)
	apart := shell.ShadowCenter - head.ShadowCenter
	assert.InDelta(t, 0.055, apart, 0.001, "mm on the film")
	b := measure.Beam{SourceImage: 1150, Spacing: 1}
	h, err := b.CorrectFit(circle(head.ShadowCenter, 0, (head.A+head.B)/2))
	require.NoError(t, err)
	c, err := b.CorrectFit(circle(shell.ShadowCenter, 0, (shell.A+shell.B)/2))
	require.NoError(t, err)
	assert.InDelta(t, 0, c.X-h.X, 2e-5)
	assert.InDelta(t, 14.0/26, h.R/c.R, 1e-6)
}

// TestBeamOnPhantom lays a patient with a moving head in many places and asks
// the ideal observer's outlines for the movement built in.
func TestBeamOnPhantom(t *testing.T) {
	for _, side := range []measure.Side{measure.Right, measure.Left} {
		t.Run(side.String(), func(t *testing.T) {
			course := phantom.Course{BeddingIn: 0.2, Rate: 0.1, Direction: 20}
			years := []float64{0, 1, 2, 4, 6, 8, 10, 12}
			again := phantom.Repositioning{ShiftMM: 25, BeamMM: 15}
			var before, after, middle float64
			var first [3]measure.Vector // built in, uncorrected, corrected
			for i, s := range phantom.Series(phantom.Plain(side), course, years, again) {
				truths, err := phantom.Truths(s)
				require.NoError(t, err)
				hip := s.Hips[0]
				b := measure.Beam{SourceImage: s.SourceImage, Spacing: s.Spacing, Center: measure.Point{
					X: float64(s.Width)/2 + s.BeamX/s.Spacing, Y: float64(s.Height)/2 + s.BeamY/s.Spacing,
				}}
				// The dome points up and medially, by the cup's inclination.
				sin, cos := math.Sincos(hip.Inclination * math.Pi / 180)
				dome := math.Atan2(-cos, side.Medial()*sin) * 180 / math.Pi
				shell := measure.CircleFit{Circle: truths[0].Cup}
				for i := range 90 {
					s, c := math.Sincos((dome - 89 + 2*float64(i)) * math.Pi / 180)
					shell.Points = append(shell.Points, measure.Point{X: shell.X + shell.R*c, Y: shell.Y + shell.R*s})
				}
				r, err := b.ReadHip(spheres(measure.CircleFit{Circle: truths[0].Head}, shell, side), hip.HeadMM, 0)
				require.NoError(t, err)
				now := [3]measure.Vector{{Superior: hip.Superior, Medial: hip.Medial}, truths[0].Offset, r.Offset}
				if i == 0 {
					first = now
				}
				var moved [3]measure.Vector
				for k := range now {
					moved[k] = now[k].Sub(first[k])
				}
				e1, _ := moved[1].Sub(moved[0]).Magnitude()
				e2, _ := moved[2].Sub(moved[0]).Magnitude()
				before, after = max(before, e1), max(after, e2)
				middle = max(middle, math.Abs(r.SourceHip-s.SourceHip))
				static, _ := r.Offset.Sub(now[0]).Magnitude()
				assert.Less(t, static, 0.02, "offset on one film, mm")
			}
			t.Logf("largest error of movement: %.4f mm uncorrected, %.4f mm corrected", before, after)
			assert.Greater(t, before, 0.01)
			assert.Less(t, after, before/4)
			assert.Less(t, middle, 0.5, "distance from source to hip, mm")
		})
	}
}

// TestBeamOnFilms renders such films, finds the hip on them and compares the
// movement read with the one built in.
func TestBeamOnFilms(t *testing.T) {
	if testing.Short() {
		t.Skip("renders films")
	}
	for _, c := range []struct {
		kind measure.CupKind
		part float64 // of the uncorrected error that may be left
	}{
		{measure.Shell, 0.5},
		{measure.Wire, 1.2}, // the wire's own error is as large as the shift
	} {
		t.Run(string(c.kind), func(t *testing.T) {
			before, after := movementErrors(t, c.kind)
			t.Logf("root mean square error of movement: %.4f mm uncorrected, %.4f mm corrected", before, after)
			assert.Less(t, after, c.part*before)
		})
	}
}

func movementErrors(t *testing.T, kind measure.CupKind) (before, after float64) {
	course := phantom.Course{BeddingIn: 0.2, Rate: 0.1, Direction: 20}
	again := phantom.Repositioning{ShiftMM: 25, BeamMM: 15}
	scene := phantom.Plain(measure.Right)
	scene.Hips[0].Cup = kind
	var first [3]measure.Vector // built in, uncorrected, corrected
	var squares [3]float64
	for i, s := range phantom.Series(scene, course, []float64{0, 2, 4, 6, 8}, again) {
		s = s.Around(measure.Right, 140)
		film, err := phantom.Render(s)
		require.NoError(t, err)
		hips, err := find.Hips(context.Background(), film, find.Options{HeadMM: 28, Spacing: s.Spacing, Side: measure.Right})
		require.NoError(t, err)
		require.Equal(t, kind, hips[0].CupKind)
		b := measure.Beam{SourceImage: s.SourceImage, Spacing: s.Spacing, Center: measure.Point{
			X: float64(s.Width)/2 + s.BeamX/s.Spacing - float64(s.Window.Min.X),
			Y: float64(s.Height)/2 + s.BeamY/s.Spacing - float64(s.Window.Min.Y),
		}}
		plain, err := measure.Read(hips[0].Head.CircleFit, hips[0].Cup.CircleFit, 28, measure.Right, 0)
		require.NoError(t, err)
		r, err := b.ReadHip(hips[0], 28, 0)
		require.NoError(t, err)
		assert.InDelta(t, s.SourceHip, r.SourceHip, 5)
		now := [3]measure.Vector{{Superior: s.Hips[0].Superior, Medial: s.Hips[0].Medial}, plain.Offset, r.Offset}
		if i == 0 {
			first = now
			continue
		}
		for k := range now {
			e, _ := now[k].Sub(first[k]).Sub(now[0].Sub(first[0])).Magnitude()
			squares[k] += e * e / 4
		}
	}
	return math.Sqrt(squares[1]), math.Sqrt(squares[2])
}

func TestBeamRead(t *testing.T) {
	b := measure.Beam{SourceImage: 1150, Spacing: 0.148, Center: measure.Point{X: 1440, Y: 1200}}
	// Concentric, 100 mm lateral and 30 mm caudal at the hip.
	sphere := func(mm float64) measure.CircleFit {
		e, err := b.Shadow(measure.Circle{X: 1440 - 115/0.148, Y: 1200 + 34.5/0.148, R: mm * 1.15 / 0.148})
		require.NoError(t, err)
		var points []measure.Point
		for i := range 120 {
			points = append(points, e.At(3*float64(i)))
		}
		f, err := fit.Circle(points, measure.Circle{X: e.X, Y: e.Y, R: e.A})
		require.NoError(t, err)
		return f
	}
	head, cup := sphere(14), sphere(27)
	plain, err := measure.Read(head, cup, 28, measure.Right, 0)
	require.NoError(t, err)
	r, err := b.ReadHip(spheres(head, cup, measure.Right), 28, 0)
	require.NoError(t, err)
	size, _ := plain.Offset.Magnitude()
	assert.Greater(t, size, 0.05)
	size, _ = r.Offset.Magnitude()
	assert.Less(t, size, 1e-4)
	assert.InDelta(t, -plain.Offset.Medial, r.Moved.Medial, 1e-4)
	assert.InDelta(t, 0.148/1.15, r.Scale, 1e-6)
	assert.InDelta(t, 1000, r.SourceHip, 0.01)
}

func TestBeamRefuses(t *testing.T) {
	good := measure.Beam{SourceImage: 1150, Spacing: 0.15}
	nan := math.NaN()
	for _, c := range []struct {
		name string
		beam measure.Beam
		c    measure.Circle
		want string
	}{
		{"no distance", measure.Beam{Spacing: 0.15}, measure.Circle{R: 90}, "measure: distance from source to film of 0 mm must be positive"},
		{"no spacing", measure.Beam{SourceImage: 1150}, measure.Circle{R: 90}, "measure: pixel spacing of 0 mm must be positive"},
		{"no radius", good, measure.Circle{}, "measure: radius of 0 px must be positive"},
		{"no place", good, measure.Circle{X: nan, R: 90}, "measure: shape.not-finite"},
		{"no beam centre", measure.Beam{SourceImage: 1, Spacing: 1, Center: measure.Point{X: nan}}, measure.Circle{R: 90}, "measure: shape.not-finite"},
		{"the source inside", measure.Beam{SourceImage: 10, Spacing: 0.15}, measure.Circle{R: 90}, "measure: radius of 90 px is too large for the distance from source to film"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := c.beam.CorrectFit(measure.CircleFit{Circle: c.c})
			assert.EqualError(t, err, c.want)
		})
	}
	short := measure.CircleFit{Circle: measure.Circle{X: 500, R: 90}, Points: []measure.Point{{X: 590}, {X: 590, Y: 1}, {X: 590, Y: 2}}}
	_, err := good.CorrectFit(short)
	var arc *measure.ArcError
	assert.ErrorAs(t, err, &arc, "points over too little of the outline")
	for _, b := range []measure.Beam{{}, {SourceImage: 1150}} {
		_, err = b.ReadHip(spheres(circle(0, 0, 90), circle(0, 0, 170), measure.Left), 28, 0)
		assert.Error(t, err)
	}
	_, err = good.ReadHip(spheres(circle(0, 0, 90), short, measure.Left), 28, 0)
	assert.Error(t, err)
}

func spheres(head, cup measure.CircleFit, side measure.Side) measure.Hip {
	return measure.Hip{Side: side, Head: measure.Outline{CircleFit: head}, Cup: measure.Outline{CircleFit: cup}}
}

// FuzzBeam asks for an error or finite numbers, whatever the beam and circle.
func FuzzBeam(f *testing.F) {
	f.Add(1150.0, 0.15, 1400.0, 900.0, 100.0)
	f.Add(1.0, 1.0, 0.0, 0.0, 1e-9)
	f.Add(1e300, 1e-300, 1e200, -1e200, 1e150)
	f.Fuzz(func(t *testing.T, source, spacing, x, y, r float64) {
		b := measure.Beam{SourceImage: source, Spacing: spacing, Center: measure.Point{X: 1000, Y: 1000}}
		c, err := b.CorrectFit(measure.CircleFit{Circle: measure.Circle{X: x, Y: y, R: r}})
		if err == nil && !measure.Finite(c.X, c.Y, c.R) {
			t.Fatalf("not finite: %+v", c)
		}
	})
}

func ExampleBeam_CorrectFit() {
	// A head 115 mm beside the central ray, on a film 1150 mm from the source.
	b := measure.Beam{SourceImage: 1150, Center: measure.Point{X: 1500, Y: 1200}, Spacing: 0.15}
	head := measure.CircleFit{Circle: measure.Circle{X: 733.2, Y: 1200, R: 107.6}}
	c, err := b.CorrectFit(head)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("centre moved by %.2f px, radius by %.2f px\n", c.X-head.X, c.R-head.R)
	// Output: centre moved by 0.15 px, radius by -0.28 px
}

func BenchmarkBeamCorrect(b *testing.B) {
	beam := measure.Beam{SourceImage: 1150, Center: measure.Point{X: 1500, Y: 1200}, Spacing: 0.15}
	for b.Loop() {
		if _, err := beam.CorrectFit(circle(733.2, 1200, 107.6)); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleBeam_ReadHip() {
	b := measure.Beam{SourceImage: 1150, Center: measure.Point{X: 1440, Y: 1200}, Spacing: 0.148}
	head := measure.CircleFit{Circle: measure.Circle{X: 663.1, Y: 1433.2, R: 109.1}}
	cup := measure.CircleFit{Circle: measure.Circle{X: 662.8, Y: 1434.9, R: 210.4}}
	r, err := b.ReadHip(spheres(head, cup, measure.Right), 28, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("head %.0f mm off the central ray, source to hip %.0f mm; offset changed by %+.3f mm superior and %+.3f mm medial\n",
		r.OffAxis, r.SourceHip, r.Moved.Superior, r.Moved.Medial)
	// Output: head 120 mm off the central ray, source to hip 1000 mm; offset changed by -0.016 mm superior and -0.053 mm medial
}
