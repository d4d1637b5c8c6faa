package film

import (
	"math"
	"sync"
)

// beam is a beam of 80 kV behind a pelvis in four parts: share, and attenuation
// by metal relative to that at 60 keV, which falls with the energy as E to the
// -2.6 or so between 40 and 80 keV (NIST Standard Reference Database 126,
// titanium to molybdenum). The shares are common practice, no source.
var beam = [4]struct{ share, mu float64 }{{0.08, 2.9}, {0.23, 1.6}, {0.35, 1}, {0.34, 0.49}}

// blurred is the profile of intensity across the outline of a ball of metal, as
// a share of the intensity outside: along a ray that runs through the ball at
// the distance x inside its outline exp(-2 mu sqrt(2 R x)) passes, blurred by a
// Gaussian. Beams have many energies: the tail inside is that of the hard ones.
type blurred struct {
	sigma float64 // of the Gaussian, px
	share [shares]float64
	turn  [shares]float64 // derivative of share by half the logarithm of sigma over depth
}

// A profile is tabulated from first to first + shares - 1, in steps of a tenth
// of sigma.
const (
	first     = -80
	shares    = 126
	shareStep = 0.1
)

// newBlurred returns the profile of a ball that weakens a ray of 60 keV to 1/e
// at depth px inside its outline.
func newBlurred(sigma, depth float64) *blurred {
	b := &blurred{sigma: sigma}
	t := passing()
	for _, p := range beam {
		f := (math.Log(p.mu*math.Sqrt(sigma/depth)) - passingFrom) / passingStep
		f = max(0, min(f, passings-1.001))
		i := int(f)
		v, w := p.share*(1-(f-float64(i))), p.share*(f-float64(i))
		for j := range b.share {
			b.share[j] += v*t[i][j] + w*t[i+1][j]
			b.turn[j] += p.share * (t[i+1][j] - t[i][j]) / passingStep
		}
	}
	return b
}

// at returns the profile at x px outside the outline, its slope, and its turn.
func (b *blurred) at(x float64) (share, slope, turn float64) {
	f := x/(shareStep*b.sigma) - first
	if f <= 0 {
		return b.share[0], 0, b.turn[0]
	}
	if f >= shares-1 {
		return b.share[shares-1], 0, 0
	}
	i := int(f)
	d := b.share[i+1] - b.share[i]
	return b.share[i] + (f-float64(i))*d, d / (shareStep * b.sigma), b.turn[i]
}

// passingTable holds, for logarithms of k in equal steps, exp(-k sqrt(-x)) for
// x < 0 and 1 for x > 0, blurred by a Gaussian of sigma 1.
type passingTable [passings][shares]float64

const ( // of k: 0.03 to 65, for blurs of any film and depths of any metal
	passings    = 60
	passingFrom = -3.5
	passingStep = 0.13
)

var passing = sync.OnceValue(func() *passingTable {
	const half = 40
	var gauss [2*half + 1]float64
	var total float64
	for i := range gauss {
		x := shareStep * float64(i-half)
		gauss[i] = math.Exp(-x * x / 2)
		total += gauss[i]
	}
	var t passingTable
	for n := range t {
		k := math.Exp(passingFrom + passingStep*float64(n))
		// mean of exp(-k sqrt(x)) over a cell, from its integral
		integral := func(x float64) float64 {
			s := k * math.Sqrt(x)
			return -2 * (1 + s) * math.Exp(-s) / (k * k)
		}
		var sharp [shares + 2*half]float64
		for i := range sharp {
			x := -shareStep * float64(i+first-half)
			switch h := shareStep / 2; {
			case x > h/2:
				sharp[i] = (integral(x+h) - integral(x-h)) / (2 * h)
			case x > -h/2: // the cell of the outline itself
				sharp[i] = 0.5 + (integral(h)-integral(0))/(2*h)
			default:
				sharp[i] = 1
			}
		}
		for i := range t[n] {
			for j, g := range gauss {
				t[n][i] += g / total * sharp[i+j]
			}
		}
	}
	return &t
})
