package measure

import (
	"image"
	"math"
	"slices"
)

const (
	ringReach = 4.0 // mm that RefineRing looks around the start
	ringStay  = 0.5 // mm within which it takes the ring for found where the start lies
)

// RefineRing fits the ellipse of a wire marker ring near start, which may be 3 mm
// off, as Detect does. head is the outline of the head, which hides a part of the
// ring, and headMM its diameter, which tells what a mm is.
//
// The picture of the whole ring, both lines and their bright ends, is fitted to the
// curvature of the film from start. Only where that leads elsewhere are the places
// around start looked at. Where the two lines lie well apart, their crests are
// fitted instead.
//
// The error is ErrNoOutline where no wire stands out.
func RefineRing(img *image.Gray16, start Ellipse, head Circle, headMM float64) (Outline, error) {
	if err := positive("head diameter", headMM, "mm"); err != nil {
		return Outline{}, err
	}
	if !isFinite(start.X, start.Y, start.A, start.B, start.Angle, head.X, head.Y, head.R) || !(head.R >= 4) || head.R > 1e5 {
		return Outline{}, ErrNoOutline
	}
	start.Angle = math.Mod(math.Mod(start.Angle, 180)+180, 180)
	mm := headMM / 2 / head.R
	wide := ringAround(head, mm)
	near := wide
	near.start.X, near.start.Y, near.shift = start.X, start.Y, ringReach/mm
	near.inner = max(wide.inner, start.A-near.shift)
	near.outer = min(wide.outer, start.A+near.shift)
	if near.inner > near.outer {
		return Outline{}, ErrNoOutline
	}
	m, ok := wide.newMap(img)
	if !ok {
		return Outline{}, ErrNoOutline
	}
	seeds := []Ellipse{start}
	match, cov := near.modelHere(m, start)
	if found := m.ellipse(match.theta); match.share < ringShare || found.apart(start) > ringStay/mm {
		seeds = near.moved(m, start)
		match, cov = near.model(m, seeds)
	}
	if match.share >= ringShare {
		seeds = nil
	}
	o, ok := near.clearer(img, m, seeds, match, cov)
	if !ok || !o.holds(head) {
		return Outline{}, ErrNoOutline
	}
	return o, nil
}

// modelHere is model from a start that already explains some of the map.
func (s ringSearch) modelHere(m *ringMap, start Ellipse) (match ringMatch, cov [5][5]float64) {
	blur := max(1, 0.5*s.start.R/27/m.k)
	if s.newModel(m, 0, 0).match(m.theta(start, blur), false).share < ringShare/2 {
		return match, cov
	}
	return s.model(m, []Ellipse{start})
}

// moved returns up to two ellipses near start that explain much of the coarse map:
// it is looked at in all places within reach, in other sizes, turns and widths.
func (s ringSearch) moved(m *ringMap, start Ellipse) []Ellipse {
	unit := s.start.R / 27 // about a mm
	blur := max(1, 1.05*unit/m.coarse.k)
	n := int(s.shift / (1.5 * unit))
	pools := make([][]found, 2*n+1)
	inBands(len(pools), func(from, to int) {
		r := s.newModel(m.coarse, 0.02, 10)
		for i := from; i < to; i++ {
			for j := -n; j <= n; j++ {
				e := start
				e.X, e.Y = e.X+1.5*unit*float64(i-n), e.Y+1.5*unit*float64(j)
				for _, e := range e.like(2 * unit) {
					pools[i] = append(pools[i], found{e, r.match(m.coarse.theta(e, blur), false).weight()})
				}
			}
		}
	})
	all := apart(slices.Concat(pools...), 4, 0.7*unit)
	inBands(len(all), func(from, to int) {
		r := s.newModel(m.coarse, 0.02, 10)
		for i := from; i < to; i++ {
			best := all[i]
			for _, e := range all[i].like(2 * unit) {
				if w := r.match(m.coarse.theta(e, blur), false).weight(); w > best.grade {
					best = found{e, w}
				}
			}
			k, _, _ := r.descend(m.coarse.theta(best.Ellipse, blur))
			all[i] = found{m.coarse.ellipse(k.theta), k.weight()}
		}
	})
	var out []Ellipse
	for _, f := range apart(all, 2, 0.3*unit) {
		out = append(out, f.Ellipse)
	}
	return out
}

// like returns e and ellipses that are larger, smaller, turned to either side, wider
// or narrower than e by up to d px.
func (e Ellipse) like(d float64) [7]Ellipse {
	all := [7]Ellipse{e, e, e, e, e, e, e}
	all[1].A, all[1].B = e.A+d, e.B*(e.A+d)/e.A
	all[2].A, all[2].B = e.A-d, e.B*(e.A-d)/e.A
	turn := d / e.A * 180 / math.Pi
	all[3].Angle, all[4].Angle = e.Angle+turn, e.Angle-turn
	all[5].B, all[6].B = e.B+d, max(0, e.B-d)
	return all
}

// apart returns about how far two ellipses lie apart where that is most, px.
func (e Ellipse) apart(f Ellipse) float64 {
	turn := math.Abs(math.Mod(e.Angle-f.Angle+270, 180) - 90)
	return max(math.Hypot(e.X-f.X, e.Y-f.Y), math.Abs(e.A-f.A), math.Abs(e.B-f.B), turn*math.Pi/180*e.A)
}
