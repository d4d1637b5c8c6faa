package mixed

import "math"

// leastStep is what a step of a search must promise of a deviance, or of a density's
// logarithm, to be taken.
const leastStep = 1e-10

// moments is a start for the search: the scatter of the hips' own lines less
// what the error of their films explains.
func (s *sums) moments(random Random) factor {
	k := s.p + 1
	var n, films, explained float64
	var mean [2]float64
	var square, noise [3]float64
	for h := range len(s.names) {
		z := s.zz[3*h : 3*h+3]
		w0, w1 := s.zw[2*k*h+s.p], s.zw[2*k*h+k+s.p]
		det := z[0]*z[2] - z[1]*z[1]
		if random == InterceptOnly {
			z, w1, det = []float64{z[0], 0, 1}, 0, z[0]
		}
		if z[0] < 2 || det <= 1e-6*z[0]*z[2] {
			continue
		}
		b0, b1 := (z[2]*w0-z[1]*w1)/det, (z[0]*w1-z[1]*w0)/det
		n++
		films += z[0]
		explained += b0*w0 + b1*w1
		mean[0] += b0
		mean[1] += b1
		for i, v := range [3]float64{b0 * b0, b0 * b1, b1 * b1} {
			square[i] += v
		}
		for i, v := range [3]float64{z[2] / det, -z[1] / det, z[0] / det} {
			noise[i] += v
		}
	}
	plain := factor{0.7, 0, 0.7, 0.4}
	sigma2 := (s.ww[s.p*k+s.p] - explained) / max(films-2*n, 1)
	if n < 3 || !(sigma2 > 0) {
		return plain
	}
	d00 := (square[0]-mean[0]*mean[0]/n)/n/sigma2 - noise[0]/n
	d01 := (square[1]-mean[0]*mean[1]/n)/n/sigma2 - noise[1]/n
	d11 := (square[2]-mean[1]*mean[1]/n)/n/sigma2 - noise[2]/n
	f := factor{math.Sqrt(max(d00, 0.01))}
	if random == InterceptAndSlope {
		f[1] = d01 / f[0]
	}
	f[2] = math.Sqrt(max(d11-f[1]*f[1], 0.01))
	if contains(s.free, 3) {
		f[3] = f[0] / 2
		f[0] *= 0.8
	}
	for _, v := range f {
		if !finite(v) || math.Abs(v) > 1e6 {
			return plain
		}
	}
	return f
}
