package find

import (
	"image"
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// ringSearch looks for the bright line of a wire marker ring, which projects to
// an ellipse, in a shrunken part of a film.
type ringSearch struct {
	start        measure.Point  // about the centre, px of the film
	mm           float64        // px of a mm
	shift        float64        // largest distance of the centre from the start's, px
	inner, outer float64        // smallest and largest half of the long axis, px
	hole         measure.Circle // what to leave out: the head, where it is known
	neck         float64        // direction of the neck, degrees
	oblique      float64        // how far the long axis may turn from the square to it, degrees; 0 for any
}

// ringPast is ringAround where the neck, if it shows, says how a ring may lie.
func ringPast(img *image.Gray16, head measure.Circle, mm float64) ringSearch {
	s := ringAround(head, mm)
	if neck, ok := brightest(img, head); ok {
		s.neck, s.oblique = neck, mostOblique
	}
	return s
}

// ringAround looks for the ring around a head on a film of mm per px.
func ringAround(head measure.Circle, mm float64) ringSearch {
	return ringSearch{
		start: head.Center(), mm: 1 / mm, shift: 6 / mm,
		inner: max(16/mm, head.R+2/mm), outer: 33 / mm, hole: head,
	}
}

// mostOblique limits how far the long axis of a ring turns from the square to the
// neck, which leaves through the ring, degrees. Without a limit the edges of the
// neck pass for a ring seen edge-on. On phantom films it turns by up to 19. Tried by
// .ci/vary.
const mostOblique = 50

// crosses reports whether a long axis of that angle crosses the neck.
func (s ringSearch) crosses(angle float64) bool {
	return s.oblique == 0 || math.Abs(math.Mod(angle-s.neck+720, 180)-90) <= s.oblique
}

// ringByChance is the law of what speaks for a ring about a head in a shell where it is
// not the shell's rim; about balls on films of native hips there is less. Printed by
//
//	go test ./measure/find -run LearnRings -learn 300 -v
var ringByChance = tail{from: 0, scale: 0.18}

// ringSure is what a ring that is taken has at least: what one shell in 300 shows; with
// less than ringClear, which one in 10,000 shows, it is not to be taken unseen.
var (
	ringSure  = ringByChance.limit(1. / 300)
	ringClear = ringByChance.limit(1e-4)
)

// rimByChance is the law of what speaks for the rim of a shell, of those that a ring's
// picture follows, printed by the same; and rimSure is what a ring has that may end where
// a shell's rim does: what one such rim in 1000 shows.
var (
	rimByChance = tail{from: -0.35, scale: 0.39}
	rimSure     = rimByChance.limit(1e-3)
)

// run finds and fits the ellipse of a wire ring by its whole picture, and returns what
// speaks for it.
func (s ringSearch) run(img *image.Gray16) (o measure.Outline, sure float64, ok bool) {
	m, ok := s.newMap(img)
	if !ok {
		return o, 0, false
	}
	k, ok := s.fit(m, s.seek(m))
	if !ok || k.sure() < ringSure {
		return o, 0, false
	}
	o, ok = m.outline(img, k)
	return o, k.sure(), ok
}

// fit returns the picture near one of the starts that explains most of the map.
func (s ringSearch) fit(m *ringMap, starts []measure.Ellipse) (best ringMatch, ok bool) {
	r := s.newModel(m)
	for _, e := range starts {
		if best.share > clearShare {
			break
		}
		if k, fits := r.descend(m.theta(e, wireBlur*s.mm/m.k)); fits && k.weight() > best.weight() {
			best = k
		}
	}
	for range 3 {
		if best.explains == 0 || best.share > clearShare {
			break
		}
		k, fits := r.descend(r.ends(best, s.mm/m.k))
		if !fits || k.weight() <= best.weight() {
			break
		}
		best = k
	}
	if best.share < seedShare {
		return best, false
	}
	e := best.theta.ellipse()
	o := lineOdds(&m.Patch, e, wireWidth(e), 0, sectors)
	best.line = o.whole()
	best.cov, ok = r.covariance(best)
	return best, ok
}

// outline reports what was fitted; its edges are the crests near it.
func (m *ringMap) outline(img *image.Gray16, k ringMatch) (o measure.Outline, ok bool) {
	e := m.ellipse(k.theta)
	width := wireWidth(e)
	patch := film.Crop(img, e.X, e.Y, 1.25*e.A+12)
	if patch.V == nil {
		return o, false
	}
	edges := crests(&patch, e, max(120, min(int(4*e.A), 720)), 1.5*width, width)
	for i := range edges {
		if x, y := int((edges[i].X-m.corner.X)/m.k), int((edges[i].Y-m.corner.Y)/m.k); x < 0 || y < 0 || x >= m.W || y >= m.H || m.hidden[y*m.W+x] {
			edges[i].Reject = rejectNeck
		}
	}
	f := measure.EllipseFit{Ellipse: e, Cov: k.cov}
	unit := [5]float64{m.k, m.k, m.k, m.k, 1} // px, but for the angle
	for i := range f.Cov {
		for j := range f.Cov[i] {
			f.Cov[i][j] *= unit[i] * unit[j]
		}
	}
	o = ringOutline(f, edges, m.bulge(k))
	show(&o, &patch)
	return o, len(o.Points) > 0
}

// wireWidth is half of the width of the wire of a ring, px: 0.6 mm on one of 48 mm.
func wireWidth(e measure.Ellipse) float64 { return max(1.2, e.A/40) }

// crests finds the brightest line across each of n normals of e.
func crests(patch *film.Patch, e measure.Ellipse, n int, reach, width float64) []measure.Edge {
	edges, heights := make([]measure.Edge, n), make([]float64, n)
	pitch := max(film.Step, width/4) // between the samples of a profile
	m := 2*int(math.Ceil(reach/pitch)) + 1
	half := int(math.Ceil(2.5 * width / pitch))
	kernel := crestKernel(width/pitch, half)
	film.InBands(n, func(from, to int) {
		profile, bend := make([]float64, m+2*half), make([]float64, m)
		for i := from; i < to; i++ {
			p := e.At(360 * float64(i) / float64(n))
			normal := e.Normal(p)
			edge := &edges[i]
			edge.Point, edge.Reject = p, rejectNone
			far := pitch * float64(len(profile)/2)
			if patch.Along(measure.Point{X: p.X - far*normal.X, Y: p.Y - far*normal.Y}, normal, pitch, 0, profile) < len(profile) {
				edge.Reject = rejectOff
			} else if d, h, ok := crest(profile, kernel, bend); ok {
				d *= pitch
				edge.Point = measure.Point{X: p.X + d*normal.X, Y: p.Y + d*normal.Y}
				edge.Residual, edge.Reject, heights[i] = d, "", h
			}
			edge.Angle = math.Mod(math.Atan2(edge.Y-e.Y, edge.X-e.X)*180/math.Pi+360, 360)
		}
	})
	var found []float64
	for i := range edges {
		if edges[i].Reject == "" {
			found = append(found, heights[i])
		}
	}
	least := 0.3 * film.Median(found)
	for i := range edges {
		if edges[i].Reject == "" && heights[i] < least {
			edges[i].Reject = rejectNone
		}
	}
	return edges
}

// crest returns the place of the profile's strongest downward curvature, in
// samples from its middle.
func crest(profile, kernel, bend []float64) (at, height float64, ok bool) {
	for j := range bend {
		var sum float64
		part := profile[j:][:len(kernel)]
		for k, w := range kernel {
			sum += w * part[k]
		}
		bend[j] = sum
	}
	best := 0
	for j := 1; j+1 < len(bend); j++ {
		if bend[j] > 0 && bend[j] >= bend[j-1] && bend[j] > bend[j+1] && (best == 0 || bend[j] > bend[best]) {
			best = j
		}
	}
	if best == 0 {
		return 0, 0, false
	}
	a, b, c := bend[best-1], bend[best], bend[best+1]
	shift := 0.5 * (a - c) / (a - 2*b + c)
	return float64(best-len(bend)/2) + shift, b, true
}

// crestKernel returns minus the second derivative of a Gaussian of sigma samples,
// with sum zero.
func crestKernel(sigma float64, half int) []float64 {
	k := make([]float64, 2*half+1)
	var sum float64
	for i := range k {
		x := float64(i-half) / sigma
		k[i] = (1 - x*x) * math.Exp(-x*x/2)
		sum += k[i]
	}
	for i := range k {
		k[i] -= sum / float64(len(k))
	}
	return k
}
