package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// lineOdds are those of a line of half a width, px, along an ellipse: in each sector
// the crest of the grey level there against those on either side, by rank. Sectors are
// of equal length; where the ellipse is so narrow that both its sides are one line,
// those of one side count. They are told of n sectors from first on.
func lineOdds(p *film.Patch, ring measure.Ellipse, width float64, first, n int) (o odds) {
	tol, reach := max(1, width/2), 8*width
	l := newLine(width)
	places := evenly(ring, sectors)
	for j := range n {
		i := (first + j) % sectors
		t := places[i]
		q := ring.At(t)
		o[i] = 1
		if t > 180 && 2*ring.B*math.Abs(math.Sin(t*math.Pi/180)) < 2*tol {
			continue
		}
		if l.across(p, q, ring.Normal(q)) {
			rank, there := rankNear(l.crests, 0, tol)
			o[i] = likelihood(rank, tol/reach, there)
		}
	}
	return o
}

// line is what lies across a line: a profile, and the crests on it.
type line struct {
	from    float64     // px from the line to the start of the profile
	gap     int         // samples to the levels beside a crest
	levels  []float64   // sums of five side by side
	means   []float64   // sums of three samples
	heights []float64   // over the higher of the levels beside
	crests  []film.Fall // px from the line, and their heights
}

// lineFall is how far a line falls on either side at least, as a share of how far it falls
// on the other. A wire falls by about as much on both and the bone of a socket by a third
// or more on most films (of LearnAlarms), by a seventh on some; metal that a film was
// sharpened at by a tenth or less. No limit and one twice as high tell them apart worse.
const lineFall = 0.125

// newLine looks across lines of half a width, px, so far that crests within 8 widths are
// told.
func newLine(width float64) *line {
	far := 10 * width
	n := int(2*far/film.Step) + 1
	return &line{from: -far, gap: int(2 * width / film.Step), levels: make([]float64, n), means: make([]float64, n), heights: make([]float64, n)}
}

// across finds the crests across the line through q along its normal; it reports false
// where the profile leaves p. A crest is as high as it stands over the higher of the
// levels to its sides.
func (l *line) across(p *film.Patch, q, normal measure.Point) bool {
	at := measure.Point{X: q.X + l.from*normal.X, Y: q.Y + l.from*normal.Y}
	if p.Along(at, normal, film.Step, 2, l.levels) < len(l.levels) {
		return false
	}
	v, last := l.levels, len(l.levels)-1
	for j := 1; j < last; j++ {
		l.means[j] = v[j-1] + v[j] + v[j+1]
	}
	l.means[0], l.means[last] = l.means[1], l.means[last-1]
	h := l.heights[l.gap : len(v)-l.gap]
	for j := range h {
		at := l.means[j+l.gap]
		in, out := at-l.means[j], at-l.means[j+2*l.gap]
		if h[j] = min(in, out); h[j] < lineFall*max(in, out) {
			h[j] = 0
		}
	}
	l.crests = l.crests[:0]
	for j := range h {
		if h[j] > 0 && (j == 0 || h[j] >= h[j-1]) && (j+1 == len(h) || h[j] > h[j+1]) {
			l.crests = append(l.crests, film.Fall{At: l.from + film.Step*float64(j+l.gap), Strength: h[j]})
		}
	}
	return true
}

// evenly returns n parameters, degrees, of places along e that are as far from each
// other as along its outline.
func evenly(e measure.Ellipse, n int) (t []float64) {
	const fine = 720
	var along [fine + 1]float64
	for i := range fine {
		s, c := math.Sincos((float64(i) + 0.5) / fine * 2 * math.Pi)
		along[i+1] = along[i] + math.Hypot(e.A*s, e.B*c)
	}
	i := 0
	for k := range n {
		want := (float64(k) + 0.5) / float64(n) * along[fine]
		for along[i+1] < want {
			i++
		}
		t = append(t, (float64(i)+(want-along[i])/(along[i+1]-along[i]))*360/fine)
	}
	return t
}

// socketLine returns the logarithm of the likelihood ratio that a circle is the edge of
// a bright line, which the socket of a native hip shows and metal does not: along half of
// its turn, from the first sector on. The bone below the cartilage is 1 to 2 mm thick, so
// that its crest lies half of that inside the edge, up to 4 % of the radius; a shell's is
// where rays pass most of its wall, a wall of 2.5 mm or more inside (common practice, no
// source).
func socketLine(p *film.Patch, c measure.Circle, first int) (most float64) {
	for d := 0.0; d < 0.045; d += 0.01 {
		r := c.R * (1 - d)
		o := lineOdds(p, measure.Ellipse{X: c.X, Y: c.Y, A: r, B: r}, max(2, r/60), first, sectors/2)
		most = max(most, o.total(first, sectors/2))
	}
	return most
}
