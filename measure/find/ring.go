package find

import (
	"image"
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
	"linerwatch/measure/fit"
)

// ringSearch looks for the bright line of a wire marker ring, which projects to
// an ellipse, in a shrunken part of a film.
type ringSearch struct {
	start        measure.Circle // centre, and half of the long axis, px of the film
	shift        float64        // largest distance of the centre from the start's, px
	inner, outer float64        // smallest and largest half of the long axis, px
	hole         measure.Circle // what to leave out: the head, where it is known
	neck         float64        // direction of the neck, degrees
	oblique      float64        // how far the long axis may turn from the square to it, degrees; 0 for any
}

// mostOblique limits how far the long axis of a ring turns from the square to the
// neck, which leaves through the ring, degrees. Without a limit the edges of the
// neck pass for a ring seen edge-on. On phantom films it turns by up to 19.
const mostOblique = 50

// crosses reports whether a long axis of that angle crosses the neck.
func (s ringSearch) crosses(angle float64) bool {
	return s.oblique == 0 || math.Abs(math.Mod(angle-s.neck+540, 180)-90) <= s.oblique
}

// ringCells is the half of the long axis in px of the shrunken film, at least.
const ringCells = 70

// wireOf returns half of the width of the wire of a ring, px, and how many normals of
// the ring to look along.
func wireOf(e measure.Ellipse) (width float64, normals int) {
	return max(1.2, e.A/40), max(120, min(int(4*e.A), 720)) // 1.2 mm on a ring of 48 mm
}

// settleRing brings an ellipse that is right to a few per cent to the sub-pixel
// fit of the wire's centre line.
func settleRing(img *image.Gray16, e measure.Ellipse) (measure.Outline, bool) {
	patch := film.Crop(img, e.X, e.Y, 1.25*e.A+8)
	if patch.V == nil {
		return measure.Outline{}, false
	}
	width, n := wireOf(e)
	for _, reach := range []float64{4 * width, 2.5 * width} {
		edges := crests(&patch, e, max(120, n/3), reach, width) // enough to come near
		f, err := fitCrests(edges, e, reach)
		if err != nil {
			return measure.Outline{}, false
		}
		e = f.Ellipse
	}
	return crestRing(crests(&patch, e, n, 2*width, width), e, 2*width)
}

// crestRing returns the fit to crests, which were found within reach px of e.
func crestRing(edges []measure.Edge, e measure.Ellipse, reach float64) (measure.Outline, bool) {
	f, err := fitCrests(edges, e, reach)
	if err != nil {
		return measure.Outline{}, false
	}
	length := correlation(edges)
	for i := range f.Cov {
		for j := range f.Cov[i] {
			f.Cov[i][j] *= length
		}
	}
	return ringOutline(f, edges), true
}

// fitCrests fits an ellipse to the crests within reach px of e, which lie at even
// steps around it, and rejects those that stray.
func fitCrests(edges []measure.Edge, e measure.Ellipse, reach float64) (f measure.EllipseFit, err error) {
	points, t, weights := make([]measure.Point, len(edges)), make([]float64, len(edges)), make([]float64, len(edges))
	for i, edge := range edges {
		points[i], t[i] = edge.Point, 360*float64(i)/float64(len(edges))
	}
	scale := reach
	for pass := range 4 {
		for i, edge := range edges {
			weights[i] = 0
			if edge.Reject != "" {
				continue
			}
			d := edge.Residual
			if pass > 0 {
				d = f.Residuals[i]
			}
			if u := d / scale; math.Abs(u) < 1 {
				weights[i] = (1 - u*u) * (1 - u*u)
			}
		}
		if f, err = fit.Ellipse(points, t, weights, e); err != nil {
			return f, err
		}
		e = f.Ellipse
		scale = max(0.3, 4.7*spreadOf(f.Residuals, weights))
	}
	for i := range edges {
		edges[i].Residual = f.Residuals[i]
		if edges[i].Reject == "" && weights[i] == 0 {
			edges[i].Reject = rejectOther
		}
	}
	return f, nil
}

// spreadOf returns a robust standard deviation of the residuals that count.
func spreadOf(residuals, weights []float64) float64 {
	var d []float64
	for i, r := range residuals {
		if weights[i] > 0 {
			d = append(d, math.Abs(r))
		}
	}
	return 1.4826 * film.Median(d)
}

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
			p, normal := e.Frame(360 * float64(i) / float64(n))
			edge := &edges[i]
			edge.Point, edge.Reject = p, rejectNone
			if !patch.Along(p, normal, pitch, profile) {
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

// ringOutline reports an ellipse as the circle about its centre over its long
// axis. Residuals are distances to the ellipse.
func ringOutline(f measure.EllipseFit, edges []measure.Edge) measure.Outline {
	o := measure.Outline{Edges: edges, Ring: f.Ellipse}
	o.Ring.Angle = math.Mod(math.Mod(o.Ring.Angle, 180)+180, 180)
	o.Circle, o.RingCov = measure.Circle{X: f.X, Y: f.Y, R: f.A}, f.Cov
	var sum float64
	for _, e := range edges {
		if e.Reject == "" {
			o.Points = append(o.Points, e.Point)
			o.Residuals = append(o.Residuals, e.Residual)
			sum += e.Residual * e.Residual
		}
	}
	o.Arc = 360 * float64(len(o.Points)) / float64(len(edges))
	o.RMS = math.Sqrt(sum / float64(max(1, len(o.Points))))
	doubtRing(&o)
	return o
}
