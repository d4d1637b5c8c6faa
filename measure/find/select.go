package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
	"linerwatch/measure/fit"
)

// pick chooses one edge per ray: the strongest fall within reach px of c. A ray
// without one gets a place on c with the reason.
func pick(rays []film.Ray, center measure.Point, c measure.Circle, reach float64) []measure.Edge {
	reference := typical(rays, center, c, reach)
	edges := make([]measure.Edge, len(rays))
	for i, r := range rays {
		e := &edges[i]
		best, found := film.Fall{At: c.R}, false
		other := false
		for _, f := range r.Falls {
			if f.Strength < 0.2*reference.Strength {
				continue
			}
			if !near(c, r.Point(center, f.At), reach) {
				other = other || f.Strength > 0.5*reference.Strength
				continue
			}
			if !found || f.Strength > best.Strength {
				best, found = f, true
			}
		}
		e.Point = r.Point(center, best.At)
		e.Strength = best.Strength
		e.Angle = 360 * float64(i) / float64(len(rays))
		switch {
		case found:
		case r.Off:
			e.Reject = rejectOff
		case other:
			e.Reject = rejectOther
		default:
			e.Reject = rejectNone
		}
	}
	return edges
}

// near reports whether p lies within reach px of c.
func near(c measure.Circle, p measure.Point, reach float64) bool {
	dx, dy := p.X-c.X, p.Y-c.Y
	square := dx*dx + dy*dy
	inner, outer := max(0, c.R-reach), c.R+reach
	return square >= inner*inner && square <= outer*outer
}

// typical returns the median over the rays of the strongest fall within reach.
func typical(rays []film.Ray, center measure.Point, c measure.Circle, reach float64) film.Fall {
	strength := make([]float64, 0, len(rays))
	for _, r := range rays {
		var most float64
		for _, f := range r.Falls {
			if f.Strength > most && near(c, r.Point(center, f.At), reach) {
				most = f.Strength
			}
		}
		if most > 0 {
			strength = append(strength, most)
		}
	}
	return film.Fall{Strength: film.Median(strength)}
}

// fitEdges fits a circle to the edges not yet rejected: from c, with the
// biweight of Beaton and Tukey, then plainly to those within 3.5 robust
// standard deviations and with enough neighbours. It marks what it leaves out.
func fitEdges(edges []measure.Edge, c measure.Circle) (measure.CircleFit, error) {
	off := make([]float64, 0, len(edges))
	points, weights := make([]measure.Point, 0, len(edges)), make([]float64, 0, len(edges))
	for range 4 {
		scale := scatter(edges, c, off)
		points, weights = points[:0], weights[:0]
		for _, e := range edges {
			if e.Reject != "" {
				continue
			}
			u := c.Distance(e.Point) / (4.7 * scale)
			if w := 1 - u*u; w > 0 {
				points, weights = append(points, e.Point), append(weights, w*w)
			}
		}
		if len(points) < 3 {
			return measure.CircleFit{}, fit.ErrTooFewPoints
		}
		next, ok := fit.CircleFrom(points, weights, c)
		if !ok {
			return measure.CircleFit{}, fit.ErrCollinear
		}
		c = next
	}
	limit := 3.5 * scatter(edges, c, off)
	for i := range edges {
		if edges[i].Reject == "" && math.Abs(c.Distance(edges[i].Point)) > limit {
			edges[i].Reject = rejectOther
		}
	}
	dropAlone(edges)
	points = points[:0]
	for _, e := range edges {
		if e.Reject == "" {
			points = append(points, e.Point)
		}
	}
	f, err := fit.Circle(points, nil)
	if err != nil {
		return f, err
	}
	for i := range edges {
		edges[i].Residual = f.Distance(edges[i].Point)
	}
	return f, nil
}

// fitShell is fitEdges for a shell, again from what it gives: of a shell an arc
// shows, and a handful of strays across from it may have kept their weight when c
// was off by a few px.
func fitShell(edges []measure.Edge, c measure.Circle) (measure.CircleFit, error) {
	f, err := fitEdges(edges, c)
	if err != nil {
		return f, err
	}
	return fitEdges(edges, f.Circle)
}

// scatter returns a robust standard deviation of the kept edges' distances, at
// least 0.05 px. It works in d, which holds nothing.
func scatter(edges []measure.Edge, c measure.Circle, d []float64) float64 {
	for _, e := range edges {
		if e.Reject == "" {
			d = append(d, math.Abs(c.Distance(e.Point)))
		}
	}
	return max(0.05, 1.4826*film.Median(d))
}

// dropAlone rejects kept edges of which fewer than half the neighbours within 4
// degrees are kept.
func dropAlone(edges []measure.Edge) {
	n := len(edges)
	half := max(2, n*4/360)
	kept := make([]bool, n)
	for i, e := range edges {
		kept[i] = e.Reject == ""
	}
	count := 0
	for i := -half; i <= half; i++ {
		if kept[(i+n)%n] {
			count++
		}
	}
	for i := range edges {
		if kept[i] && count*2 < 2*half+1 {
			edges[i].Reject = rejectStray
		}
		if kept[(i-half+n)%n] {
			count--
		}
		if kept[(i+half+1)%n] {
			count++
		}
	}
}

// correlation returns the correlation length of the residuals along the outline,
// in edges: 1 + 2 times the sum of their autocorrelations up to the first that is
// not positive, within a sixth of the turn.
func correlation(edges []measure.Edge) float64 {
	n := len(edges)
	var zero float64
	var kept int
	for _, e := range edges {
		if e.Reject == "" {
			zero += e.Residual * e.Residual
			kept++
		}
	}
	if kept == 0 || zero == 0 {
		return 1
	}
	zero /= float64(kept)
	length := 1.0
	for lag := 1; lag <= n/6; lag++ {
		var sum float64
		var pairs int
		for i := range edges {
			j := (i + lag) % n
			if edges[i].Reject == "" && edges[j].Reject == "" {
				sum += edges[i].Residual * edges[j].Residual
				pairs++
			}
		}
		if pairs < kept/4 || sum <= 0 {
			break
		}
		length += 2 * sum / float64(pairs) / zero
	}
	return length
}
