package find

import (
	"cmp"
	"image"
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// bowl is what may be a cup: its outline, px of the film, and the logarithms of how many
// times likelier the film is with it than without.
type bowl struct {
	measure.Circle
	edge  float64          // for the outline
	body  float64          // for metal inside of it, and not the socket of a native hip
	ring  *measure.Outline // of a wire; nil of a shell
	faint bool             // the ring hardly shows
	other ball             // of another size than the head's, that shows inside of it; as weighed for the likeliest
}

func (b bowl) sure() float64 { return b.edge + b.body }

// bowls returns what may be the cup of a head, the likeliest first.
func (s *search) bowls(head ball) []bowl {
	mm := s.opt.HeadMM / 2 / head.R
	var all []bowl
	var ring measure.Outline
	var sure float64
	var ok bool
	film.Both(func() { all = s.shells(head) }, func() { ring, sure, ok = ringPast(s.img, head.Circle, mm).run(s.img) })
	if !ok || !holdsHead(ring, head.Circle) {
		return all
	}
	r := bowl{Circle: ring.Circle, edge: cupByChance.as(ringByChance, sure), ring: &ring, faint: sure < ringClear}
	if len(all) > 0 {
		shell := all[0]
		if sure < rimSure && shell.R-ring.R < mantle/mm {
			return all // the rim of a shell, which ends at its dome
		}
		// The edge and the body may be those of the cement around the ring.
		r.edge, r.body = max(r.edge, shell.edge), max(0, shell.body)
	}
	return append([]bowl{r}, all...)
}

// mantle is the least thickness of the cement around a cup, with what of the cup lies
// outside of its wire, mm (common practice, no source: 2 to 3 mm of cement are aimed at).
const mantle = 2.2

// Draws of the consensus on shells and on domes: of three edges drawn all belong to an
// outline that shows on a third of the rays once in 27 times, so that 100 draws miss it
// in one film of 40 (Fischler and Bolles 1981); tried by .ci/vary.
const (
	shellDraws = 1000
	domeDraws  = 300
)

// shells returns circles about a head, each weighed as the outline of metal, the
// likeliest first.
func (s *search) shells(head ball) (all []bowl) {
	mm := s.opt.HeadMM / 2 / head.R
	least, most := cupRange(head.Circle, mm)
	if most < least {
		return nil
	}
	v, ok := s.around(head.place)
	if !ok {
		return nil
	}
	c := v.cells(head.Circle)
	least, most, shift := least/v.k, most/v.k, cupShift/mm/v.k
	k, spots := v.aroundShells(c.Center(), c.R*1.05, least, most, shift)
	var domes []dome
	for range mostShells {
		best, score := k.search(spots, shellDraws)
		if score == 0 {
			break
		}
		for i, ray := range spots { // the next one has other edges
			spots[i] = slices.DeleteFunc(ray, func(p spot) bool { return math.Abs(best.Distance(p.Point)) < k.tol })
		}
		if best.Center().Distance(c.Center()) > best.R-c.R {
			continue
		}
		if d, ok := v.dome(best); ok {
			domes = append(domes, d)
		}
	}
	slices.SortFunc(domes, func(a, b dome) int { return cmp.Compare(b.edge, a.edge) })
	likeliest := math.Inf(-1)
	for _, d := range domes {
		b := bowl{Circle: v.px(d.Circle), edge: d.edge}
		if d.edge+mostBody > likeliest { // else it cannot be that
			b.body = shellBody(&v.Patch, d.Circle, c, &d.odds, d.first)
		}
		likeliest = max(likeliest, b.sure())
		all = append(all, b)
	}
	slices.SortFunc(all, func(a, b bowl) int { return cmp.Compare(b.sure(), a.sure()) })
	return all
}

// aroundShells looks across circles of radius inner to outer about a place, within shift,
// but not within from cells of it, for the consensus on them, and the spots for that.
func (v *view) aroundShells(at measure.Point, from, inner, outer, shift float64) (k consensus, spots [][]spot) {
	r := (inner + outer) / 2
	sigma := film.Smoothing(r)
	rays := film.Scan{Center: at, Inner: max(from, inner-shift), Outer: outer + shift, N: 144, Across: 1, Sigma: 1.5 * sigma}.Run(&v.Patch)
	k = consensus{
		start: measure.Circle{X: at.X, Y: at.Y, R: r}, shift: shift,
		inner: inner, outer: outer, tol: 1 + 2*sigma, strength: strong(rays),
	}
	return k, k.spots(rays, at, 0.25*k.strength)
}

const (
	cupShift   = 6 // mm, from the head's centre to the cup's (common practice, no source: liners wear less); tried by .ci/vary
	mostShells = 3 // weighed about a head: the dome, the lip or the liner, the bone; tried by .ci/vary
)

// dome is the dome of a shell, in cells, with what speaks for its outline: the odds, and
// the first sector of the half turn that shows most.
type dome struct {
	measure.Circle
	edge  float64
	odds  odds
	first int
}

// dome looks for the dome near a circle, in cells: for one that is smooth, and unless
// that shows well for a coated one.
func (v *view) dome(c measure.Circle) (d dome, ok bool) {
	d = v.coat(c, coats[0])
	if d.edge <= smoothEdge {
		if rough := v.coat(c, coats[1]); rough.edge > d.edge {
			d = rough
		}
	}
	return d, d.edge > 0
}

// coat is dome for one as rough as that; its edge is 0 where there is none.
func (v *view) coat(c measure.Circle, rough int) (d dome) {
	for range 2 {
		near, _, fits := domeOf(&v.Patch, c, domeDraws, rough)
		if !fits {
			break
		}
		q := ranksOf(&v.Patch, near, rough)
		for k := -1.0; k <= 1; k++ {
			o := q.at(near.R + k*q.tol)
			if most, first := o.dome(); most > d.edge {
				d = dome{near, most, o, first}
			}
		}
		if near.Center().Distance(c.Center()) < 0.2 {
			break
		}
		c = near
	}
	return d
}

// smoothEdge is what the edge of a dome comes to at most that is looked at as a rough one:
// of a rough one no more can be told, since its places are fewer; tried by .ci/vary.
const smoothEdge = 80

// domeTol is how far an edge may lie from the dome, in scales of the slope filter; tried
// by .ci/vary.
const domeTol = 0.8

// domeOf looks for the circle of a shell's dome near c: a sphere cut by a plane shows
// half of its outline, and the lip of its rim runs close beside the other half. It
// returns the sectors that agree, too. A rough one scatters as many times as far.
func domeOf(p *film.Patch, c measure.Circle, draws, rough int) (near measure.Circle, counts [sectors]bool, ok bool) {
	q := ranksOf(p, c, rough)
	o := q.at(c.R)
	_, first := o.dome()
	k := consensus{
		start: c, shift: 0.08 * c.R, inner: 0.93 * c.R, outer: 1.07 * c.R,
		tol: float64(rough) * max(1, domeTol*film.Smoothing(c.R)), strength: strong(q.rays),
	}
	spots := k.spots(q.rays, c.Center(), 0.1*k.strength)
	for j := sectors / 2; j < sectors; j++ {
		spots[(first+j)%sectors] = nil
	}
	near, score := k.search(spots, draws)
	for i, ray := range spots {
		counts[i] = slices.ContainsFunc(ray, func(p spot) bool { return math.Abs(near.Distance(p.Point)) < 1.5*k.tol })
	}
	return near, counts, score > 0
}

// coats are how many times as rough as the film's blur a dome may be: one that is smooth,
// and one coated with beads of up to a millimetre (common practice, no source).
var coats = [...]int{1, 2, 3}

// settleDome fits the circle of a shell to its dome, looking closely if its outline is
// smooth.
func settleDome(img *image.Gray16, c measure.Circle) (o measure.Outline, err error) {
	patch := film.Crop(img, c.X, c.Y, 1.3*c.R+20)
	if patch.V == nil {
		return o, ErrNoOutline
	}
	for _, rough := range coats {
		if o, err = settleCoat(&patch, c, rough); err == nil && o.RMS < wild(o.Circle, rough)/2 {
			return o, nil
		}
	}
	return o, err
}

// settleCoat is settleDome of a dome as rough as that: from where the first fit leads to
// once more.
func settleCoat(patch *film.Patch, c measure.Circle, rough int) (measure.Outline, error) {
	near := func(c measure.Circle) (measure.Outline, error) {
		at, counts, ok := domeOf(patch, c, shellDraws, rough)
		if !ok {
			return measure.Outline{}, ErrNoOutline
		}
		return settle(patch, at, measure.Cup, &counts, rough)
	}
	first, err := near(c)
	if err != nil || first.Center().Distance(c.Center()) < 0.3 {
		return first, err
	}
	second, err := near(first.Circle)
	if err != nil {
		return first, err
	}
	return either(second, first), nil
}
