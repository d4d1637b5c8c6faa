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

// ringFilm is one film of a ring whose centre is known.
type ringFilm struct {
	hip measure.Hip
	mm  float64 // per px
}

// ringOn projects a ring about a small head concentric with it.
func ringOn(t *testing.T, cup measure.Radiographic, side measure.Side, radius, lateral, caudal, source, depth float64) ringFilm {
	b := measure.Beam{SourceImage: source, Center: measure.Point{X: 1440, Y: 1200}, Spacing: 0.148}
	e := ellipseOf(rimPoints(b, cup, side, radius, lateral, caudal, depth))
	px := source / depth / b.Spacing
	h := measure.Hip{Side: side, CupKind: measure.Wire}
	h.Head.Circle = measure.Circle{X: b.Center.X - side.Medial()*lateral*px, Y: b.Center.Y + caudal*px, R: 14 * px}
	h.Cup.Circle, h.Cup.Ring = measure.Circle{X: e.X, Y: e.Y, R: e.A}, e.Ellipse
	h.Cup.RingCov = measure.RingScatter(1e-4, e.A)
	return ringFilm{hip: h, mm: 1 / px}
}

// readHip reads a hip of which the beam is not known.
func readHip(h measure.Hip) (measure.Reading, error) {
	cup, err := h.CupCircle(28, 0)
	if err != nil {
		return measure.Reading{}, err
	}
	return measure.Read(h.Head.CircleFit, cup, 28, h.Side, 0)
}

// TestCupCircle checks the distance of the two centres by the closed formula, and
// that what is left of it for other beams than the usual one is little.
func TestCupCircle(t *testing.T) {
	for _, side := range []measure.Side{measure.Right, measure.Left} {
		for _, version := range []float64{3, 12, 20, 30} {
			cup := measure.Radiographic{Inclination: 43, Anteversion: version}
			f := ringOn(t, cup, side, 24, 0, 0, 1150, 970)
			ring := f.hip.Cup.Ring
			q := ring.B / ring.A
			apart := math.Hypot(ring.X-f.hip.Head.X, ring.Y-f.hip.Head.Y) * f.mm
			assert.InDelta(t, 24*24*q*math.Sqrt(1-q*q)/970, apart, 0.002, "version %g", version)
			assert.Less(t, ring.Y, f.hip.Head.Y, "an anteverted ring's nearer half is the upper one")
			for _, at := range [][3]float64{{90, 0, 970}, {75, 30, 900}, {105, -20, 1050}} {
				f := ringOn(t, cup, side, 24, at[0], at[1], 1150, at[2])
				c, err := f.hip.CupCircle(28, 0)
				require.NoError(t, err)
				left := math.Hypot(c.X-f.hip.Head.X, c.Y-f.hip.Head.Y) * f.mm
				sd := math.Sqrt(c.Cov[0][0]+c.Cov[1][1]) * f.mm
				assert.Less(t, left, 2.5*sd, "version %g at %v", version, at)
				if version > 15 {
					assert.Less(t, left, 0.035, "version %g at %v", version, at)
				}
			}
		}
	}
}

// TestCupCircleHolds counts how often the stated 95 % intervals hold the truth on films
// of cups and rooms drawn by what is said to be usual: of the offset and, between two
// films of one hip, of the penetration.
func TestCupCircleHolds(t *testing.T) {
	const hips = 4000
	rng := rand.New(rand.NewPCG(5, 12))
	even := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	var held [2][2]float64
	for range hips {
		radius, body := even(20, 27), even(100, 200)
		cup := measure.Radiographic{Inclination: even(33, 55), Anteversion: 15 + 10*rng.NormFloat64()}
		room, aside, caudal := even(1000, 1200), 90+30*rng.NormFloat64(), 30*rng.NormFloat64()
		var offsets [2]measure.Vector
		for i := range offsets {
			source, o := room, cup
			if rng.IntN(2) == 0 {
				source = even(1000, 1200)
			}
			o.Anteversion += 3 / math.Sqrt2 * rng.NormFloat64()
			f := ringOn(t, o, measure.Right, radius, aside+9*rng.NormFloat64(), caudal+9*rng.NormFloat64(), source, source-body+10*rng.NormFloat64())
			r, err := readHip(f.hip)
			require.NoError(t, err)
			offsets[i] = r.Offset // the truth is none
		}
		for i, v := range []measure.Vector{offsets[0], offsets[1].Sub(offsets[0])} {
			s, m := v.SE()
			for j, z := range []float64{v.Superior / s, v.Medial / m} {
				if math.Abs(z) < 1.96 {
					held[i][j] += 1. / hips
				}
			}
		}
	}
	t.Logf("offset held %.3f superior, %.3f medial; penetration %.3f, %.3f", held[0][0], held[0][1], held[1][0], held[1][1])
	for _, v := range held {
		for _, share := range v {
			assert.InDelta(t, 0.95, share, 0.03)
		}
	}
}

func TestCupCircleEnds(t *testing.T) {
	f := ringOn(t, measure.Radiographic{Inclination: 43, Anteversion: 0.01}, measure.Right, 24, 0, 0, 1150, 970)
	f.hip.Cup.Ring.B = 0 // edge-on there is nothing to correct
	r, err := readHip(f.hip)
	require.NoError(t, err)
	assert.InDelta(t, 0, math.Hypot(r.Offset.Superior, r.Offset.Medial), 0.06, "but for where the central ray may be")
	f.hip.Cup.Ring = measure.Ellipse{}
	plain, err := measure.Read(f.hip.Head.CircleFit, f.hip.Cup.CircleFit, 28, measure.Right, 0)
	require.NoError(t, err)
	shell, err := readHip(f.hip)
	require.NoError(t, err)
	assert.Equal(t, plain, shell)
	_, err = f.hip.CupCircle(0, 0)
	assert.Error(t, err)
}

func ExampleHip_CupCircle() {
	h := measure.Hip{Side: measure.Right, CupKind: measure.Wire}
	h.Head.Circle = measure.Circle{X: 600, Y: 1400, R: 110}
	h.Cup.Circle = measure.Circle{X: 601, Y: 1403, R: 190}
	h.Cup.Ring = measure.Ellipse{X: 601, Y: 1403, A: 190, B: 55, Angle: 42}
	cup, err := h.CupCircle(28, 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	mm := 28 / (2 * h.Head.R)
	fmt.Printf("the ring's centre is %.2f mm below its ellipse's\n", (cup.Y-h.Cup.Y)*mm)
	// Output: the ring's centre is 0.14 mm below its ellipse's
}

// TestHipOrientation counts how often the stated 95 % intervals hold the version and
// inclination of rims in rooms drawn by what is said to be usual, and how often they come
// nearer than a parallel beam.
func TestHipOrientation(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	const n = 400
	var version, inclination, nearer int
	for range n {
		cup := measure.Radiographic{Inclination: 35 + 20*rng.Float64(), Anteversion: 10 + 15*rng.Float64()}
		f := ringOn(t, cup, measure.Right, 25, 90+30*rng.NormFloat64(), 30*rng.NormFloat64(), 1150, 970+65*rng.NormFloat64())
		e := measure.EllipseFit{Ellipse: f.hip.Cup.Ring}
		usual, err := f.hip.Orientation(e, 28, 0)
		require.NoError(t, err)
		parallel, err := measure.ReadRim(e, measure.Right, 0)
		require.NoError(t, err)
		off := math.Abs(usual.Anteversion - cup.Anteversion)
		if off < 1.96*usual.SEAnteversion {
			version++
		}
		if math.Abs(usual.Inclination-cup.Inclination) < 1.96*usual.SEInclination {
			inclination++
		}
		if off < math.Abs(parallel.Anteversion-cup.Anteversion) {
			nearer++
		}
	}
	assert.InDelta(t, 0.95*n, version, 0.03*n)
	assert.InDelta(t, 0.95*n, inclination, 0.03*n)
	assert.Greater(t, nearer, 3*n/4)
}
