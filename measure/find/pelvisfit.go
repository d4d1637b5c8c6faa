package find

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// pelvisFit lays a later film on the baseline: a point p of the baseline, mm from
// the cup's centre, lies at e^size R(turn) p + shift on the later film.
type pelvisFit struct {
	turn, size float64 // radians; logarithm
	dx, dy     float64 // mm
}

func (f pelvisFit) place(p pelvisPoint) (x, y float64) {
	s, c := math.Sincos(f.turn)
	k := math.Exp(f.size)
	return k*(c*p.x-s*p.y) + f.dx, k*(s*p.x+c*p.y) + f.dy
}

// correlation returns that of the two films at n common points.
func (f pelvisFit) correlation(a, b sheet, points []pelvisPoint) (r float64, n int) {
	var sa, sb, aa, bb, ab float64
	for _, p := range points {
		x, y := f.place(p)
		v, _, _, ok := b.at(x, y)
		if !ok {
			continue
		}
		u := a.v[(int(p.y/pelvisStep)+a.y0)*a.w+int(p.x/pelvisStep)+a.x0]
		sa, sb, aa, bb, ab = sa+u, sb+v, aa+u*u, bb+v*v, ab+u*v
		n++
	}
	if n == 0 {
		return 0, 0
	}
	k := float64(n)
	den := math.Sqrt((aa - sa*sa/k) * (bb - sb*sb/k))
	if !(den > 0) {
		return 0, n
	}
	return (ab - sa*sb/k) / den, n
}

// pelvisSystem is the normal equations of one Gauss-Newton step.
type pelvisSystem struct {
	a [4][4]float64
	g [4]float64
}

func (s *pelvisSystem) add(o *pelvisSystem, k float64) {
	for i := range s.a {
		s.g[i] += k * o.g[i]
		for j := range s.a[i] {
			s.a[i][j] += k * o.a[i][j]
		}
	}
}

func (s *pelvisSystem) solve() (step [4]float64, ok bool) {
	m := mat.NewSymDense(4, nil)
	for i := range 4 {
		for j := i; j < 4; j++ {
			m.SetSym(i, j, s.a[i][j])
		}
	}
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(m) || chol.SolveVecTo(&x, mat.NewVecDense(4, s.g[:])) != nil {
		return step, false
	}
	for i := range step {
		step[i] = x.AtVec(i)
	}
	return step, true
}

// systems returns the equations of each block, about f. gain fits the contrast of
// the later film to the baseline's.
func (f pelvisFit) systems(a, b sheet, points []pelvisPoint, scale float64) (blocks []*pelvisSystem, next float64) {
	of := map[int]*pelvisSystem{}
	var size []float64
	for _, p := range points {
		x, y := f.place(p)
		v, gx, gy, ok := b.at(x, y)
		if !ok {
			continue
		}
		u := a.v[(int(p.y/pelvisStep)+a.y0)*a.w+int(p.x/pelvisStep)+a.x0]
		d := u - v
		size = append(size, math.Abs(d))
		q := d / (4.7 * scale)
		if q*q >= 1 {
			continue
		}
		w := (1 - q*q) * (1 - q*q)
		// By turn, size and shift, about the shifted centre.
		rx, ry := x-f.dx, y-f.dy
		j := [4]float64{gy*rx - gx*ry, gx*rx + gy*ry, gx, gy}
		s := of[p.block]
		if s == nil {
			s = &pelvisSystem{}
			of[p.block] = s
			blocks = append(blocks, s)
		}
		for m := range j {
			s.g[m] += w * j[m] * d
			for n := range j {
				s.a[m][n] += w * j[m] * j[n]
			}
		}
	}
	return blocks, max(0.05, 1.4826*film.Median(size))
}

// settle adjusts the fit and tells its error.
func (f pelvisFit) settle(a, b sheet, points []pelvisPoint) (PelvisRotation, error) {
	scale := 1.0
	var blocks []*pelvisSystem
	for range 25 {
		blocks, scale = f.systems(a, b, points, scale)
		var all pelvisSystem
		for _, s := range blocks {
			all.add(s, 1)
		}
		step, ok := all.solve()
		if !ok {
			return PelvisRotation{}, ErrNoPelvis
		}
		f.turn, f.size, f.dx, f.dy = f.turn+step[0], f.size+step[1], f.dx+step[2], f.dy+step[3]
		if !measure.Finite(f.turn, f.size, f.dx, f.dy) || math.Abs(f.size) > 0.1 || math.Hypot(f.dx, f.dy) > 12 {
			return PelvisRotation{}, ErrNoPelvis
		}
		if math.Abs(step[0]) < 1e-6 && math.Hypot(step[2], step[3]) < 1e-4 {
			break
		}
	}
	r := PelvisRotation{}
	var n int
	r.Agreement, n = f.correlation(a, b, points)
	r.Area = float64(n) * pelvisStep * pelvisStep
	if r.Agreement < pelvisLeastAgreement || r.Area < pelvisLeastArea {
		return PelvisRotation{}, ErrNoPelvis
	}
	se, ok := f.jackknife(blocks)
	if !ok {
		return PelvisRotation{}, ErrNoPelvis
	}
	r.Degrees = f.turn * 180 / math.Pi
	r.SE = math.Hypot(se*180/math.Pi, pelvisModelSE)
	return r, nil
}

// jackknife returns the standard error of the turn from leaving out each block.
func (f pelvisFit) jackknife(blocks []*pelvisSystem) (se float64, ok bool) {
	var all pelvisSystem
	for _, s := range blocks {
		all.add(s, 1)
	}
	var turns []float64
	for _, s := range blocks {
		rest := all
		rest.add(s, -1)
		step, ok := rest.solve()
		if !ok {
			return 0, false
		}
		turns = append(turns, step[0])
	}
	n := float64(len(turns))
	if n < 4 {
		return 0, false
	}
	var mean, sum float64
	for _, t := range turns {
		mean += t / n
	}
	for _, t := range turns {
		sum += (t - mean) * (t - mean)
	}
	return math.Sqrt((n - 1) / n * sum), true
}
