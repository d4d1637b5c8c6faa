package find

import (
	"errors"
	"image"
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// PelvisView is one film of a hip for AlignPelvis.
type PelvisView struct {
	Film      *image.Gray16
	Head, Cup measure.Circle // px
	HeadMM    float64        // the head's nominal diameter, which gives the scale
	Side      measure.Side
}

// ErrNoPelvis is the error of films on which too little of the same pelvis is
// seen to be compared.
var ErrNoPelvis = measure.Fault("find.no-pelvis", nil)

const (
	pelvisReach = 12.0 // degrees looked through on either side: twice what tests turn patients by
	// The bone that moves with the cup, mm from its centre (common practice, no source),
	// and how much of it has to be seen and to agree; tried by .ci/vary.
	pelvisMedial, pelvisLateral = 135.0, 60.0
	pelvisAbove, pelvisBelow    = 105.0, 80.0
	pelvisLeastArea             = 2500.0 // mm²
	pelvisLeastAgreement        = 0.35
	pelvisModelSE               = 0.10 // degrees that blocks do not show; tried by .ci/vary
)

// AlignPelvis estimates by how much a later film is turned in its plane against
// the baseline film, from the bone around the cup that moves with it: ilium,
// pubis, ischium and sacrum, without implant, femur and the other hip. The cup
// sits fast, so the films are laid on one another by its centre and by the scale
// of the head, evened out in grey, and turned until they agree best; then turn,
// shift and size are adjusted together by Gauss-Newton steps with the biweight
// of Beaton and Tukey, so that bowel gas and letters do not pull.
//
// The standard error is that of fit.Sandwich over blocks of 30 mm (neighbouring
// points err together), and a part for what blocks do not show. It is
// a proposal: a pelvis that is turned out of the plane changes its outline as
// well. The errors are ErrNoPelvis, ErrNoSide, ErrNotFinite and *RangeError.
func AlignPelvis(baseline, later PelvisView) (r measure.FilmRotation, err error) {
	a, err := baseline.sheet()
	if err != nil {
		return r, err
	}
	b, err := later.sheet()
	if err != nil {
		return r, err
	}
	if baseline.Side != later.Side {
		return r, measure.Fault("shape.two-sides", nil)
	}
	points := a.region(max(baseline.Cup.R*baseline.HeadMM/(2*baseline.Head.R), later.Cup.R*later.HeadMM/(2*later.Head.R)))
	best, most := 0.0, math.Inf(-1)
	for _, span := range []struct{ from, to, step float64 }{{-pelvisReach, pelvisReach, 1}, {-1, 1, 0.25}} {
		middle := best
		for d := span.from; d <= span.to; d += span.step {
			f := pelvisFit{turn: (middle + d) * math.Pi / 180}
			if alike, area := f.correlation(b, points); area >= pelvisLeastArea && alike > most {
				best, most = middle+d, alike
			}
		}
		if math.IsInf(most, -1) {
			return r, ErrNoPelvis
		}
	}
	return pelvisFit{turn: best * math.Pi / 180}.settle(b, points)
}

// sheet is a film on a grid of 1 mm about the cup's centre, evened out; x to image
// right, y down.
type sheet struct {
	medial float64
	v      []float64 // NaN off the film
}

const (
	sheetReach = 160 // mm to every side, with room to turn
	sheetSize  = 2*sheetReach + 1
)

func (p PelvisView) sheet() (sheet, error) {
	if p.Side.Medial() == 0 {
		return sheet{}, measure.ErrNoSide
	}
	if !measure.Finite(p.Head.R, p.Cup.X, p.Cup.Y, p.Cup.R) {
		return sheet{}, measure.ErrNotFinite
	}
	if err := errors.Join(measure.Positive("head diameter", p.HeadMM, "mm"),
		measure.Positive("head radius", p.Head.R, "px"), measure.Positive("cup radius", p.Cup.R, "px")); err != nil {
		return sheet{}, err
	}
	s := sheet{medial: p.Side.Medial(), v: make([]float64, sheetSize*sheetSize)}
	px := 2 * p.Head.R / p.HeadMM // film pixels per mm
	k := max(1, int(px+0.5))
	small := film.Shrink(p.Film, k)
	for i := range s.v {
		x, y := p.Cup.X+float64(i%sheetSize-sheetReach)*px, p.Cup.Y+float64(i/sheetSize-sheetReach)*px
		var on bool
		if s.v[i], on = small.At(x/float64(k), y/float64(k)); !on {
			s.v[i] = math.NaN()
		}
	}
	s.even()
	return s, nil
}

// even takes away slow changes of grey and divides by the contrast around, so that
// exposure and the body's thickness drop out.
func (s *sheet) even() {
	fine, slow := s.blurred(1.2), s.blurred(7)
	square := make([]float64, len(s.v))
	for i := range s.v {
		s.v[i] = fine[i] - slow[i]
		square[i] = s.v[i] * s.v[i]
	}
	around := (&sheet{v: square}).blurred(15)
	for i := range s.v {
		if sd := math.Sqrt(around[i]); sd > 0 {
			s.v[i] = max(-2.5, min(2.5, s.v[i]/sd))
		} else if !math.IsNaN(s.v[i]) {
			s.v[i] = 0
		}
	}
}

// blurred returns s blurred by a Gaussian of sigma grid steps; points off the film
// take no part and stay NaN.
func (s *sheet) blurred(sigma float64) []float64 {
	n := int(3*sigma + 1)
	kernel := make([]float64, 2*n+1)
	for i := range kernel {
		d := float64(i-n) / sigma
		kernel[i] = math.Exp(-d * d / 2)
	}
	pass := func(in []float64, dx, dy int) []float64 {
		out := make([]float64, len(in))
		for y := range sheetSize {
			for x := range sheetSize {
				at := y*sheetSize + x
				if math.IsNaN(in[at]) {
					out[at] = math.NaN()
					continue
				}
				var sum, total float64
				for k := -n; k <= n; k++ {
					u, v := x+k*dx, y+k*dy
					if u < 0 || v < 0 || u >= sheetSize || v >= sheetSize {
						continue
					}
					if g := in[v*sheetSize+u]; !math.IsNaN(g) {
						sum += kernel[k+n] * g
						total += kernel[k+n]
					}
				}
				out[at] = sum / total
			}
		}
		return out
	}
	return pass(pass(s.v, 1, 0), 0, 1)
}

// pelvisPoint is a grid point of the baseline that takes part, mm from the cup's
// centre, with its value and the block it belongs to.
type pelvisPoint struct {
	x, y, v float64
	block   int
}

// region returns the points of s that show bone moving with the cup. The femur
// lies lateral of and below the cup, the other hip far medial.
func (s *sheet) region(cup float64) (points []pelvisPoint) {
	const margin = 8 // from the film's edges and the cup, where evening out sees them
	const block = 30
	for j := margin; j < sheetSize-margin; j++ {
		for i := margin; i < sheetSize-margin; i++ {
			x, y := float64(i-sheetReach), float64(j-sheetReach)
			medial, above := x*s.medial, -y
			switch {
			case medial > pelvisMedial || medial < -pelvisLateral || above > pelvisAbove || above < -pelvisBelow:
				continue
			case math.Hypot(x, y) < cup+margin:
				continue
			case above < cup+margin && medial < 0.8*cup: // femur and stem
				continue
			}
			if !s.seen(i, j, margin) {
				continue
			}
			b := (int(medial+200)/block)*100 + int(above+200)/block
			points = append(points, pelvisPoint{x, y, s.v[j*sheetSize+i], b})
		}
	}
	return points
}

// seen reports whether the grid around a point lies on the film.
func (s *sheet) seen(i, j, margin int) bool {
	for _, d := range [4][2]int{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
		if math.IsNaN(s.v[(j+d[1]*margin)*sheetSize+i+d[0]*margin]) {
			return false
		}
	}
	return true
}

// at returns the value and the gradient at a place in mm from the cup's centre.
func (s *sheet) at(x, y float64) (v, gx, gy float64, ok bool) {
	u, w := x+sheetReach, y+sheetReach
	i, j := int(math.Floor(u)), int(math.Floor(w))
	if i < 0 || j < 0 || i+1 >= sheetSize || j+1 >= sheetSize {
		return 0, 0, 0, false
	}
	fx, fy := u-float64(i), w-float64(j)
	k := j*sheetSize + i
	a, b, c, d := s.v[k], s.v[k+1], s.v[k+sheetSize], s.v[k+sheetSize+1]
	v = (a*(1-fx)+b*fx)*(1-fy) + (c*(1-fx)+d*fx)*fy
	gx = (b-a)*(1-fy) + (d-c)*fy
	gy = (c-a)*(1-fx) + (d-b)*fx
	return v, gx, gy, !math.IsNaN(v)
}
