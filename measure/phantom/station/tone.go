package station

import "math"

// Stretch sets black and white at shares of the film's pixels.
type Stretch struct {
	Low, High float64 // shares of pixels below black and above white
	Room      float64 // added beyond both ends, as a share of the range between
}

// ends returns the depths of black and white.
func (s Stretch) ends(f field) (low, high float64) {
	q := f.quantiles(s.Low, 1-s.High)
	room := s.Room * (q[1] - q[0])
	low, high = q[0]-room, q[1]+room
	if !(high > low) {
		high = low + 1
	}
	return low, high
}

// curve turns depths into greys, 0 at low and 1 at high and beyond.
func curve(f field, low, high float64, tone Tone, steep float64) {
	if steep == 0 {
		steep = 1
	}
	law := lawOf(tone, steep, high-low)
	const n = 4096
	var table [n + 2]float32
	for i := range table {
		table[i] = float32(law(float64(i) / n))
	}
	scale := float32(n / (high - low))
	for i, d := range f.v {
		u := min(n, max(0, (d-float32(low))*scale))
		k := int(u)
		f.v[i] = table[k] + (u-float32(k))*(table[k+1]-table[k])
	}
}

// lawOf returns a rising curve from 0 to 1 onto 0 to 1; span is the range of
// depths.
func lawOf(tone Tone, steep, span float64) func(u float64) float64 {
	ends := func(f func(u float64) float64) func(u float64) float64 {
		a, b := f(0), f(1)
		return func(u float64) float64 { return (f(u) - a) / (b - a) }
	}
	switch tone {
	case Sigmoid:
		return ends(func(u float64) float64 { return 1 / (1 + math.Exp(-steep*8*(u-0.45))) })
	case Film:
		// Density falls with depth as a logistic curve; the light box shows its
		// negative power of ten.
		density := func(u float64) float64 { return 0.2 + 2.8/(1+math.Exp(steep*7*(u-0.38))) }
		return ends(func(u float64) float64 { return math.Pow(10, -0.55*density(u)) })
	case Linear:
		return ends(func(u float64) float64 { return -math.Exp(-span * u) })
	case Knee:
		knee, rest := 0.55, 0.3/steep
		return ends(func(u float64) float64 {
			soft := 0.06 * math.Log1p(math.Exp((u-knee)/0.06))
			return u - (1-rest)*soft
		})
	}
	return func(u float64) float64 { return u }
}
