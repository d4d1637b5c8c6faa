package find

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
	"linerwatch/measure/fit"
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

// correlation returns that of the two films at their common points, of an area in mm².
func (f pelvisFit) correlation(b sheet, points []pelvisPoint) (r, area float64) {
	var u, v []float64
	for _, p := range points {
		if w, _, _, ok := b.at(f.place(p)); ok {
			u, v = append(u, p.v), append(v, w)
		}
	}
	if r = stat.Correlation(u, v, nil); math.IsNaN(r) {
		return 0, 0
	}
	return r, float64(len(u))
}

// blocks returns the normal equations of each block for a step by turn, size and
// shift, weighted by the biweight of a scatter, and the scatter.
func (f pelvisFit) blocks(b sheet, points []pelvisPoint, scale float64) (blocks []fit.Block, next float64) {
	place := map[int]int{}
	var size []float64
	for _, p := range points {
		x, y := f.place(p)
		v, gx, gy, ok := b.at(x, y)
		if !ok {
			continue
		}
		d := p.v - v
		size = append(size, math.Abs(d))
		q := d / (biweight * scale)
		if q*q >= 1 {
			continue
		}
		rx, ry := x-f.dx, y-f.dy // about the shifted centre
		k, known := place[p.block]
		if !known {
			k, blocks = len(blocks), append(blocks, fit.Block{})
			place[p.block] = k
		}
		blocks[k].Add((1-q*q)*(1-q*q), d, fit.Row{gy*rx - gx*ry, gx*rx + gy*ry, gx, gy})
	}
	return blocks, max(0.05, 1.4826*film.Median(size))
}

func (f pelvisFit) settle(b sheet, points []pelvisPoint) (r measure.FilmRotation, err error) {
	scale := 1.0
	var blocks []fit.Block
	for range 25 {
		blocks, scale = f.blocks(b, points, scale)
		step, ok := fit.Step(blocks)
		if !ok {
			return r, ErrNoPelvis
		}
		f.turn, f.size, f.dx, f.dy = f.turn+step[0], f.size+step[1], f.dx+step[2], f.dy+step[3]
		if !measure.Finite(f.turn, f.size, f.dx, f.dy) || math.Abs(f.size) > 0.1 || math.Hypot(f.dx, f.dy) > 12 {
			return r, ErrNoPelvis
		}
		if math.Abs(step[0]) < 1e-6 && math.Hypot(step[2], step[3]) < 1e-4 {
			break
		}
	}
	agreement, area := f.correlation(b, points)
	if agreement < pelvisLeastAgreement || area < pelvisLeastArea {
		return r, ErrNoPelvis
	}
	cov, ok := fit.Sandwich(blocks, fit.Row{}, 0)
	if !ok || len(blocks) < 4 {
		return r, ErrNoPelvis
	}
	r.Degrees = f.turn * 180 / math.Pi
	r.SE = math.Hypot(math.Sqrt(cov[0][0])*180/math.Pi, pelvisModelSE)
	return r, nil
}
