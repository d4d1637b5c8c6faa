package measure

import "math"

// Radii is the range in which a circle's radius lies before it is clicked, px, each
// value of it as likely as another; the zero value knows nothing.
type Radii struct{ Least, Most float64 }

// within visits clicks that err by at, SD, across c, as nodes does, with weights that
// sum to one: those of the errors that lead from c to a circle in the range, on
// whichever side of the clicks its centre lies. Along the direction in which the
// curvature changes, to first order at a steady rate, it goes by steps through the
// range, across it by the rule of nodes. It reports false and visits nothing where
// nothing is known, or where clicks err by less in 19 cases of 20 than the range asks
// for: they contradict it.
func (k Radii) within(by [3]Click, c Circle, visit func(at []float64, w float64)) bool {
	const steps, far, odds = 24, 5, 1.96 // of the integral, SD as far as it goes, SD that 19 of 20 are within
	if !(k.Least > 0) || !(k.Most >= k.Least) {
		return false
	}
	along, rate := bending(by, c)
	var t, w []float64
	nearest, sum := math.Inf(1), 0.0
	for _, bend := range [2][2]float64{{1 / k.Most, 1 / k.Least}, {-1 / k.Least, -1 / k.Most}} {
		lo, hi := max((bend[0]-1/c.R)/rate, -far), min((bend[1]-1/c.R)/rate, far)
		if !(lo < hi) {
			continue
		}
		nearest = min(nearest, max(lo, -hi, 0))
		for i := range steps {
			x := lo + (hi-lo)*(float64(i)+0.5)/steps
			r := 1 / (1/c.R + rate*x)
			t = append(t, x)
			w = append(w, (hi-lo)*math.Exp(-x*x/2)*r*r) // even in the radius, not in the curvature
			sum += w[len(w)-1]
		}
	}
	if !(nearest < odds) || !(sum > 0) {
		return false
	}
	one, two := beside(along)
	at := make([]float64, 3)
	nodes(2, func(off []float64, v float64) {
		for i := range t {
			for j := range at {
				at[j] = along[j]*t[i] + one[j]*off[0] + two[j]*off[1]
			}
			visit(at, v*w[i]/sum)
		}
	})
	return true
}

// bending returns the direction of the clicks' errors, SD, in which the curvature of
// the circle through them grows most, and by how much for one, 1/px.
func bending(by [3]Click, c Circle) (along [3]float64, rate float64) {
	const step = 1e-3
	for i := range along {
		var at [3]float64
		at[i] = step
		out := erring(by, c, at[:]).R
		at[i] = -step
		in := erring(by, c, at[:]).R
		along[i] = (1/out - 1/in) / (2 * step)
		rate = math.Hypot(rate, along[i])
	}
	for i := range along {
		along[i] /= rate
	}
	return along, rate
}

// beside returns two unit vectors at right angles to u and to each other.
func beside(u [3]float64) (one, two [3]float64) {
	i := 0 // the axis from which u is farthest
	for j := range u {
		if math.Abs(u[j]) < math.Abs(u[i]) {
			i = j
		}
	}
	n := math.Sqrt(1 - u[i]*u[i])
	for j := range u {
		one[j] = -u[i] * u[j] / n
	}
	one[i] = n
	for j := range u {
		a, b := (j+1)%3, (j+2)%3
		two[j] = u[a]*one[b] - u[b]*one[a]
	}
	return one, two
}
