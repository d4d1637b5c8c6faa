package film

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"linerwatch/measure"
)

// ball draws a disc by a law, blurred, in a background that differs from side to side.
func ball(c measure.Circle, law Law, sigma, noise float64) *Patch {
	p := &Patch{W: 400, H: 400, V: make([]float32, 400*400)}
	const fine = 10
	var level [120 * fine]float64 // from 100 px inside the outline to 20 outside
	for i := range level {
		d := 100 - float64(i)/fine
		var sum, total float64
		for z := -4.0; z <= 4; z += 0.1 {
			g, at := math.Exp(-z*z/2), d+sigma*z
			total += g
			switch {
			case at <= 0:
			case law == StepLaw:
				sum += g
			default:
				sum += g * math.Sqrt(at*(2*c.R-at)) / c.R
			}
		}
		level[i] = sum / total
	}
	rng := rand.New(rand.NewPCG(3, 4))
	for y := range p.H {
		for x := range p.W {
			at := measure.Point{X: float64(x) + 0.5, Y: float64(y) + 0.5}
			i := int((c.Distance(at) + 100) * fine)
			v := 3000 + 2*at.X - at.Y
			v += (1000 + 2*at.X) * level[max(0, min(i, len(level)-1))]
			p.V[y*p.W+x] = float32(v + noise*rng.NormFloat64())
		}
	}
	return p
}

func TestSectorsTellBalls(t *testing.T) {
	truth := measure.Circle{X: 201.3, Y: 198.6, R: 120}
	near := measure.Circle{X: 202.5, Y: 199.5, R: 118.5} // steepest inside the outline
	for _, noise := range []float64{0, 20} {
		for law, other := range map[Law]Law{RootLaw: StepLaw, StepLaw: RootLaw} {
			s := ball(truth, law, 1.5, noise).Sectors(near, 60, 4)
			edges, blur, misfit := s.Edges(law)
			_, _, worse := s.Edges(other)
			assert.Less(t, misfit, worse, "law %d, noise %g", law, noise)
			assert.InDelta(t, 1.5, blur, 0.5, "law %d, noise %g", law, noise)
			var sum, n, z float64
			for _, e := range edges {
				if e.Reject == "" {
					d := truth.Distance(e.Point)
					sum += d
					z += d * d / (e.SD*e.SD + 0.05*0.05)
					n++
				}
			}
			assert.Greater(t, n, 55.0)
			// The blurs tried are a factor of the root of two apart, which moves a soft edge.
			assert.InDelta(t, 0, sum/n, 0.25, "law %d, noise %g", law, noise)
			assert.Less(t, z/n, 12.0, "law %d, noise %g", law, noise)
		}
	}
}

func TestSectorsOffTheFilm(t *testing.T) {
	p := ball(measure.Circle{X: 200, Y: 200, R: 120}, RootLaw, 1.5, 0)
	s := p.Sectors(measure.Circle{X: 20, Y: 200, R: 120}, 60, 4)
	edges, _, _ := s.Edges(RootLaw)
	off := 0
	for _, e := range edges {
		if e.Reject == "off the film" {
			off++
		}
	}
	assert.Greater(t, off, 20)
	nothing := Patch{W: 3, H: 3, V: make([]float32, 9)}
	s = nothing.Sectors(measure.Circle{X: 1, Y: 1, R: 50}, 60, 4)
	_, _, misfit := s.Edges(RootLaw)
	assert.True(t, math.IsInf(misfit, 1))
}

// Against the parabolic cylinder function: the mean of the root of a positive part at
// zero is 2^(1/4) Gamma(3/4) / (2 sqrt pi) (Gradshteyn & Ryzhik, 3.462).
func TestBlurredRoot(t *testing.T) {
	assert.InDelta(t, math.Pow(2, 0.25)*math.Gamma(0.75)/(2*math.Sqrt(math.Pi)), blurredRoot(0), 1e-6)
	assert.Zero(t, blurredRoot(-6))
	assert.InDelta(t, math.Sqrt(30), blurredRoot(30), 1e-3)
	assert.InDelta(t, blurredRoot(rootTo-rootStep-1e-6), blurredRoot(rootTo-rootStep+1e-6), 1e-3)
}
