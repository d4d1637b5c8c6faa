package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"linerwatch/measure"
)

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

func circle(x, y, r float64) measure.CircleFit {
	return measure.CircleFit{Circle: measure.Circle{X: x, Y: y, R: r}}
}

// Worked by hand: a head of 28 mm and radius 100 px is 0.14 mm per pixel.
func TestRead(t *testing.T) {
	for _, c := range []struct {
		name             string
		head             measure.CircleFit
		side             measure.Side
		alpha            float64
		superior, medial float64
	}{
		{"right, up and to image right", circle(1010, 980, 100), measure.Right, 0, 2.8, 1.4},
		{"left, up and to image right", circle(1010, 980, 100), measure.Left, 0, 2.8, -1.4},
		{"right, down and to image left", circle(990, 1010, 100), measure.Right, 0, -1.4, -1.4},
		// A film turned clockwise by 30 degrees on the screen turns the line
		// and the offset alike.
		{"right, turned film", circle(1000+20*math.Sin(math.Pi/6), 1000-20*math.Cos(math.Pi/6), 100), measure.Right, 30, 2.8, 0},
		{"left, turned film", circle(1000+10*math.Cos(math.Pi/6), 1000+10*math.Sin(math.Pi/6), 100), measure.Left, 30, 0, -1.4},
		{"concentric", circle(1000, 1000, 100), measure.Left, 0, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			cup := circle(1000, 1000, 180)
			r, err := measure.Read(c.head, cup, 28, c.side, c.alpha)
			require.NoError(t, err)
			assert.InDelta(t, 0.14, r.Scale, 1e-15)
			assert.InDelta(t, c.superior, r.Offset.Superior, 1e-12)
			assert.InDelta(t, c.medial, r.Offset.Medial, 1e-12)
			dx, dy := r.Offset.OnFilm(r.Scale, c.side, c.alpha)
			assert.InDelta(t, c.head.X-cup.X, dx, 1e-10, "back on the film")
			assert.InDelta(t, c.head.Y-cup.Y, dy, 1e-10, "back on the film")
			length := math.Hypot(c.superior, c.medial)
			assert.InDelta(t, length/(80*0.14), r.Eccentricity, 1e-12)
			assert.InDelta(t, 80*0.14-length, r.Thinnest, 1e-12)
			// With t the widest and narrowest distances between the outlines,
			// (t_max - t_min)/2 is the offset (Charnley & Cupic 1973).
			widest := 80*0.14 + length
			assert.InDelta(t, length, (widest-r.Thinnest)/2, 1e-12)
			assert.InDelta(t, r.Eccentricity, (widest-r.Thinnest)/(widest+r.Thinnest), 1e-12)
		})
	}
}

func TestReadRefuses(t *testing.T) {
	for _, c := range []struct {
		name      string
		head, cup measure.CircleFit
		mm        float64
		side      measure.Side
		want      string
	}{
		{"no side", circle(0, 0, 1), circle(0, 0, 2), 28, measure.SideUnknown, "measure: shape.no-side"},
		{"no diameter", circle(0, 0, 1), circle(0, 0, 2), 0, measure.Left, "measure: shape.head-diameter MM=0"},
		{"no head", circle(0, 0, 0), circle(0, 0, 2), 28, measure.Left, "measure: shape.head-radius Px=0"},
		{"cup not larger", circle(0, 0, 2), circle(0, 0, 2), 28, measure.Left, "measure: shape.small-cup Cup=2 Head=2"},
		{"not a number", circle(math.NaN(), 0, 2), circle(0, 0, 3), 28, measure.Left, "measure: shape.outline-not-finite"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := measure.Read(c.head, c.cup, c.mm, c.side, 0)
			assert.EqualError(t, err, c.want)
		})
	}
}

// TestReadErrors compares the propagated standard errors with the scatter of
// readings whose outlines are drawn from the stated covariances.
func TestReadErrors(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, c := range []struct {
		name   string
		dx, dy float64
	}{{"worn", 12, -22}, {"hardly worn", 1, -3}} {
		t.Run(c.name, func(t *testing.T) {
			head, cup := circle(1000+c.dx, 1000+c.dy, 100), circle(1000, 1000, 180)
			// Lower triangular roots: correlated errors.
			rootH := [3][3]float64{{0.3, 0, 0}, {0.1, 0.25, 0}, {-0.05, 0.1, 0.15}}
			rootC := [3][3]float64{{0.2, 0, 0}, {-0.1, 0.4, 0}, {0.05, -0.2, 0.1}}
			head.Cov, cup.Cov = square(rootH), square(rootC)
			want, err := measure.Read(head, cup, 28, measure.Right, 7)
			require.NoError(t, err)
			const n = 40000
			var scale, ecc, thin, sup, med, cross float64
			for range n {
				h, k := head, cup
				h.Circle, k.Circle = shifted(head.Circle, rootH, rng), shifted(cup.Circle, rootC, rng)
				r, err := measure.Read(h, k, 28, measure.Right, 7)
				require.NoError(t, err)
				d := r.Offset.Sub(want.Offset)
				scale += (r.Scale - want.Scale) * (r.Scale - want.Scale)
				ecc += (r.Eccentricity - want.Eccentricity) * (r.Eccentricity - want.Eccentricity)
				thin += (r.Thinnest - want.Thinnest) * (r.Thinnest - want.Thinnest)
				sup += d.Superior * d.Superior
				med += d.Medial * d.Medial
				cross += d.Superior * d.Medial
			}
			seS, seM := want.Offset.SE()
			// Scatter of a standard deviation from n draws: 1/sqrt(2n) = 0.35 %.
			assert.InEpsilon(t, seS, math.Sqrt(sup/n), 0.02)
			assert.InEpsilon(t, seM, math.Sqrt(med/n), 0.02)
			assert.InDelta(t, want.Offset.Cov[0][1], cross/n, 0.02*seS*seM)
			assert.InEpsilon(t, want.SEScale, math.Sqrt(scale/n), 0.02)
			assert.InEpsilon(t, want.SEEccentricity, math.Sqrt(ecc/n), 0.03)
			assert.InEpsilon(t, want.SEThinnest, math.Sqrt(thin/n), 0.03)
		})
	}
}

func square(root [3][3]float64) (cov [3][3]float64) {
	for i := range cov {
		for j := range cov {
			for k := range cov {
				cov[i][j] += root[i][k] * root[j][k]
			}
		}
	}
	return cov
}

func shifted(c measure.Circle, root [3][3]float64, rng *rand.Rand) measure.Circle {
	var z, d [3]float64
	for i := range z {
		z[i] = rng.NormFloat64()
		for j := 0; j <= i; j++ {
			d[i] += root[i][j] * z[j]
		}
	}
	return measure.Circle{X: c.X + d[0], Y: c.Y + d[1], R: c.R + d[2]}
}

func TestVector(t *testing.T) {
	base := measure.Vector{Superior: 0.1, Medial: -0.2, Cov: [2][2]float64{{0.0004, 0.0001}, {0.0001, 0.0009}}}
	later := measure.Vector{Superior: 0.4, Medial: 0.2, Cov: [2][2]float64{{0.0005, 0}, {0, 0.0007}}}
	p := later.Sub(base)
	assert.InDelta(t, 0.3, p.Superior, 1e-15)
	assert.InDelta(t, 0.4, p.Medial, 1e-15)
	s, m := p.SE()
	assert.InDelta(t, 0.03, s, 1e-15)
	assert.InDelta(t, 0.04, m, 1e-15)
	length, se := p.Magnitude()
	assert.InDelta(t, 0.5, length, 1e-15)
	// u = (0.6, 0.8): 0.36 * 0.0009 + 2 * 0.48 * 0.0001 + 0.64 * 0.0016.
	assert.InDelta(t, math.Sqrt(0.000324+0.000096+0.001024), se, 1e-12)
	zero := later.Sub(later)
	length, se = zero.Magnitude()
	assert.Zero(t, length)
	assert.InDelta(t, math.Sqrt(0.0014), se, 1e-12, "the direction known least")
	length, se = measure.Vector{}.Magnitude()
	assert.Zero(t, length)
	assert.Zero(t, se)
}

func TestDirection(t *testing.T) {
	for _, c := range []struct {
		name string
		v    measure.Vector
		want float64
	}{
		{"superior", measure.Vector{Superior: 1}, 0},
		{"medial", measure.Vector{Medial: 1}, 90},
		{"lateral", measure.Vector{Medial: -1}, -90},
		{"inferior", measure.Vector{Superior: -1}, 180},
		{"inferior, minus zero", measure.Vector{Superior: -1, Medial: math.Copysign(0, -1)}, 180},
		{"superomedial", measure.Vector{Superior: 1, Medial: 1}, 45},
	} {
		t.Run(c.name, func(t *testing.T) { assert.InDelta(t, c.want, c.v.Direction(), 1e-12) })
	}
}
