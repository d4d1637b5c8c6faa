package find

import (
	"math"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// lineOdds are those of a line of half a width, px, along an ellipse: in each sector
// the crest of the grey level there against those on either side, by rank. Sectors are
// of equal length; where the ellipse is so narrow that both its sides are one line,
// those of one side count.
func lineOdds(p *film.Patch, ring measure.Ellipse, width float64) (o odds) {
	tol, reach := max(1, width/2), 8*width
	outline := measure.Outline{Ring: ring}
	v := make([]float64, 2*int((reach+2*width)/film.Step)+1)
	for i, t := range evenly(ring, sectors) {
		q := ring.At(t)
		o[i] = 1
		if t > 180 && 2*ring.B*math.Abs(math.Sin(t*math.Pi/180)) < 2*tol {
			continue
		}
		if p.Along(q, outward(&outline, measure.Edge{Point: q}), film.Step, 2, v) {
			rank, there := crestRank(v, int(2*width/film.Step), tol)
			o[i] = likelihood(rank, tol/reach, there)
		}
	}
	return o
}

// lineFall is how far a line falls on either side at least, as a share of how far it falls
// on the other. A wire falls by about as much on both and the bone of a socket by a third
// or more (films of LearnAlarms); metal whose edge a film was sharpened at falls by a
// tenth or less, and half as much or twice as much tells them apart worse.
const lineFall = 0.125

// crestRank returns the rank by height of the highest crest within tol px of the middle
// of a profile, and whether there is one. A crest is as high as it stands over the
// higher of the levels gap samples to its sides.
func crestRank(v []float64, gap int, tol float64) (rank float64, there bool) {
	var best float64
	all := make([]float64, 0, len(v)/4)
	mean := func(j int) float64 { return v[j-1] + v[j] + v[j+1] }
	at := func(j int) float64 {
		in, out := mean(j)-mean(max(1, j-gap)), mean(j)-mean(min(len(v)-2, j+gap))
		if min(in, out) < lineFall*max(in, out) {
			return 0
		}
		return min(in, out)
	}
	for j := gap; j+gap < len(v); j++ {
		h := at(j)
		if h > 0 && (j == gap || h >= at(j-1)) && (j+gap+1 == len(v) || h > at(j+1)) {
			all = append(all, h)
			if film.Step*math.Abs(float64(j-len(v)/2)) <= tol {
				best = max(best, h)
			}
		}
	}
	for _, h := range all {
		if h >= best {
			rank++
		}
	}
	return rank, best > 0
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
		o := lineOdds(p, measure.Ellipse{X: c.X, Y: c.Y, A: r, B: r}, max(2, r/60))
		most = max(most, o.total(first, sectors/2))
	}
	return most
}
