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

func even(sd float64) [2][2]float64 { return [2][2]float64{{sd * sd, 0}, {0, sd * sd}} }

func TestCombine(t *testing.T) {
	for _, c := range []struct {
		name                       string
		along, obliquity           float64
		superior, medial, anterior float64
	}{
		{"films agree", 0.8, 0, 0.8, 0.3, 0.4},
		{"films agree, angled beam", 0.8*math.Sqrt2/2 + 0.3*math.Sqrt2/2, 45, 0.8, 0.3, 0.4},
		{"means of two as good", 1.0, 0, 0.9, 0.3, 0.4},
		{"the difference is shared along the common direction", 0.8*math.Sqrt2/2 + 0.3*math.Sqrt2/2 + 0.2, 45, 0.8 + 0.1*math.Sqrt2/2, 0.3 + 0.1*math.Sqrt2/2, 0.4},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := measure.Combine(
				measure.Vector{Superior: 0.8, Medial: 0.3, Cov: even(0.05)},
				measure.Lateral{Along: c.along, Anterior: 0.4, Cov: even(0.05), Obliquity: c.obliquity}, measure.Slant{}, measure.Slant{})
			require.NoError(t, err)
			assert.InDelta(t, c.superior, s.Superior, 1e-12)
			assert.InDelta(t, c.medial, s.Medial, 1e-12)
			assert.InDelta(t, c.anterior, s.Anterior, 1e-12)
			assert.InDelta(t, 0.05*math.Sqrt2, s.SEDisagreement, 1e-12)
			assert.InDelta(t, 0.0025, s.Cov[2][2], 1e-15)
			if c.obliquity == 0 {
				assert.InDelta(t, 0.00125, s.Cov[0][0], 1e-15, "two as good halve the variance")
			}
		})
	}
}

// TestCombineErrors compares the stated covariance and the disagreement with
// simulated films whose errors are correlated.
func TestCombineErrors(t *testing.T) {
	rng := rand.New(rand.NewPCG(51, 52))
	truth := [3]float64{0.6, -0.2, 0.5}
	rootA, rootL := [2][2]float64{{0.04, 0}, {0.02, 0.05}}, [2][2]float64{{0.09, 0}, {-0.05, 0.12}}
	cov := func(r [2][2]float64) (c [2][2]float64) {
		for i := range c {
			for j := range c {
				c[i][j] = r[i][0]*r[j][0] + r[i][1]*r[j][1]
			}
		}
		return c
	}
	const n, obliquity = 20000, 40
	sin, cos := math.Sincos(obliquity * math.Pi / 180)
	var scatter [3][3]float64
	var apart float64
	var s measure.Spatial
	for range n {
		a := [2]float64{rng.NormFloat64(), rng.NormFloat64()}
		l := [2]float64{rng.NormFloat64(), rng.NormFloat64()}
		var err error
		s, err = measure.Combine(measure.Vector{
			Superior: truth[0] + rootA[0][0]*a[0], Medial: truth[1] + rootA[1][0]*a[0] + rootA[1][1]*a[1], Cov: cov(rootA),
		}, measure.Lateral{
			Along: cos*truth[0] + sin*truth[1] + rootL[0][0]*l[0], Anterior: truth[2] + rootL[1][0]*l[0] + rootL[1][1]*l[1],
			Cov: cov(rootL), Obliquity: obliquity,
		}, measure.Slant{}, measure.Slant{})
		require.NoError(t, err)
		d := [3]float64{s.Superior - truth[0], s.Medial - truth[1], s.Anterior - truth[2]}
		for i := range d {
			for j := range d {
				scatter[i][j] += d[i] * d[j] / n
			}
		}
		apart += s.Disagreement * s.Disagreement / n
	}
	assertCov(t, scatter, s.Cov, 0.03)
	assert.InEpsilon(t, s.SEDisagreement, math.Sqrt(apart), 0.02)
}

func TestCombineRefuses(t *testing.T) {
	good := measure.Vector{Superior: 1, Cov: even(0.05)}
	lateral := measure.Lateral{Along: 1, Cov: even(0.1)}
	for _, c := range []struct {
		name string
		edit func(*measure.Vector, *measure.Lateral)
		want string
	}{
		{"no covariance", func(v *measure.Vector, _ *measure.Lateral) { v.Cov = [2][2]float64{} }, "measure: shape.covariance"},
		{"a covariance that cannot be", func(_ *measure.Vector, l *measure.Lateral) { l.Cov[0][1] = 5; l.Cov[1][0] = 5 }, "measure: shape.covariance"},
		{"not a number in it", func(v *measure.Vector, _ *measure.Lateral) { v.Cov[0][0] = math.NaN() }, "measure: shape.covariance"},
		{"not a number", func(v *measure.Vector, _ *measure.Lateral) { v.Medial = math.NaN() }, "measure: shape.not-finite"},
		{"beam along the body", func(_ *measure.Vector, l *measure.Lateral) { l.Obliquity = 90 }, "measure: obliquity of the beam of 90 deg must lie in -80 to 80"},
	} {
		t.Run(c.name, func(t *testing.T) {
			v, l := good, lateral
			c.edit(&v, &l)
			_, err := measure.Combine(v, l, measure.Slant{}, measure.Slant{})
			assert.EqualError(t, err, c.want)
		})
	}
}

// TestOutOfPlane checks what an AP film loses of a movement out of its plane.
func TestOutOfPlane(t *testing.T) {
	var ref struct {
		Loss []struct {
			D3    float64 `json:"d3_mm"`
			Angle float64 `json:"angle_out_of_film_plane_deg"`
			D2    float64 `json:"d2_mm"`
		} `json:"out_of_plane_loss"`
	}
	loadJSON(t, "geometry_examples.json", &ref)
	require.NotEmpty(t, ref.Loss)
	for _, c := range ref.Loss {
		v := measure.Vector3{Superior: c.D2 * 0.8, Medial: c.D2 * 0.6, Anterior: math.Sqrt(c.D3*c.D3 - c.D2*c.D2)}
		d3, _ := v.Magnitude()
		assert.InDelta(t, c.D3, d3, 1e-12)
		assert.InDelta(t, c.Angle, v.OutOfPlane(), 1e-6)
	}
	none := measure.Vector3{Cov: [3][3]float64{{1, 0, 0}, {0, 9, 0}, {0, 0, 4}}}
	_, se := none.Magnitude()
	assert.InDelta(t, 3, se, 1e-12)
}

func ExampleCombine() {
	ap := measure.Vector{Superior: 0.9, Medial: 0.2, Cov: [2][2]float64{{0.0025, 0}, {0, 0.0025}}}
	lateral := measure.Lateral{Along: 0.8, Anterior: 0.5, Cov: [2][2]float64{{0.01, 0}, {0, 0.01}}}
	s, err := measure.Combine(ap, lateral, measure.Slant{}, measure.Slant{})
	if err != nil {
		fmt.Println(err)
		return
	}
	d, se := s.Magnitude()
	fmt.Printf("%.2f mm (standard error %.2f), %.0f degrees forward of the AP film's plane\n", d, se, s.OutOfPlane())
	// Output: 1.03 mm (standard error 0.06), 29 degrees forward of the AP film's plane
}

// A head that moves to the front beside the central ray moves outwards on the AP
// film: with the rays' slant both films tell the same movement.
func TestCombineSlant(t *testing.T) {
	b := measure.Beam{SourceImage: 1150, Spacing: 0.15, Center: measure.Point{X: 1000, Y: 800}}
	ap, err := b.Slant(measure.Point{X: 1000 - 105.8/0.15, Y: 800 + 34.5/0.15}, measure.Right, 0) // 92 mm lateral, 30 mm caudal at the hip
	require.NoError(t, err)
	assert.InDelta(t, -0.03, ap[0], 1e-12)
	assert.InDelta(t, -0.092, ap[1], 1e-12)
	lateral := measure.Slant{0.02, 0.05}
	const sup, med, ant, obliquity = 0.8, 0.2, 0.6, 30.0
	sin, cos := math.Sincos(obliquity * math.Pi / 180)
	towards := med*cos - sup*sin // the source of the lateral film
	s, err := measure.Combine(
		measure.Vector{Superior: sup + ap[0]*ant, Medial: med + ap[1]*ant, Cov: even(0.02)},
		measure.Lateral{Along: sup*cos + med*sin + lateral[0]*towards, Anterior: ant + lateral[1]*towards, Cov: even(0.03), Obliquity: obliquity},
		ap, lateral)
	require.NoError(t, err)
	assert.InDelta(t, sup, s.Superior, 1e-12)
	assert.InDelta(t, med, s.Medial, 1e-12)
	assert.InDelta(t, ant, s.Anterior, 1e-12)
	assert.InDelta(t, 0, s.Disagreement, 1e-12)
	_, err = b.Slant(measure.Point{X: math.NaN()}, measure.Right, 0)
	assert.ErrorIs(t, err, measure.ErrNotFinite)
	_, err = b.Slant(measure.Point{}, measure.SideUnknown, 0)
	assert.ErrorIs(t, err, measure.ErrNoSide)
}
