package raster

import (
	"image"
	"math"
)

// Local is a circle of the film, film pixels, in which greys are spread by their
// neighbourhood: for the head behind the shell. It changes what is shown, never the
// film.
type Local struct{ X, Y, R float64 }

// The squares of the circle's neighbourhoods, along one side, the grey levels told
// apart, and how many times the mean a level may count: more would show the
// film's noise.
const (
	localTiles  = 5
	localLevels = 512
	localClip   = 7.0
)

// spread holds the circle with its greys spread, as a film of its own whose
// corner is (x, y) of the film.
type spread struct {
	plane plane
	x, y  int
	done  Local
	of    *image.Gray16
	turn  int
}

// set computes the circle anew where it, or the film, has changed. It reports
// whether there is anything to show.
//
// Contrast-limited adaptive histogram equalisation: Pizer SM et al. Comput Vis
// Graph Image Process 1987;39:355-368; the limit after Zuiderveld K, Graphics Gems
// IV 1994:474-485.
func (s *spread) set(p *plane, l Local) bool {
	if s.done == l && s.of == p.of && s.turn == p.turn {
		return s.plane.of != nil
	}
	s.done, s.of, s.turn = l, p.of, p.turn
	s.plane.of = nil
	x0, x1 := clip(l.X-l.R, l.X+l.R, p.w)
	y0, y1 := clip(l.Y-l.R, l.Y+l.R, p.h)
	if x1-x0 < 4*localTiles || y1-y0 < 4*localTiles || p.of == nil {
		return false
	}
	s.x, s.y = x0, y0
	s.plane.reset(x1-x0, y1-y0)
	s.plane.of = p.of
	rows := func(y int) (src []uint16, a, b int) { // the row of the film, and the circle's part of it
		half := l.R*l.R - (float64(y0+y)+0.5-l.Y)*(float64(y0+y)+0.5-l.Y)
		if half > 0 {
			a, b = chord(l.X-float64(x0), half, x1-x0)
		}
		return p.pix[(y0+y)*p.w+x0:][:x1-x0], a, b
	}
	lo, hi := s.extremes(rows)
	if hi <= lo {
		s.plane.of = nil
		return false
	}
	s.equalise(rows, lo, hi)
	return true
}

type rowsOf func(y int) (src []uint16, a, b int)

// extremes returns the greys between which nearly all of the circle lies.
func (s *spread) extremes(rows rowsOf) (lo, hi float64) {
	var hist [1 << 12]uint32
	n := uint32(0)
	for y := 0; y < s.plane.h; y += 2 {
		src, a, b := rows(y)
		for x := a; x < b; x += 2 {
			hist[src[x]>>4]++
			n++
		}
	}
	quantile := func(want uint32) float64 {
		sum := uint32(0)
		for v, k := range hist {
			if sum += k; sum > want {
				return float64(v << 4)
			}
		}
		return float64(len(hist) << 4)
	}
	return quantile(n / 200), quantile(n-n/500-1) + 16
}

// equalise maps each pixel by the curves of the four squares nearest to it.
func (s *spread) equalise(rows rowsOf, lo, hi float64) {
	w, h, k := s.plane.w, s.plane.h, localLevels/(hi-lo)
	level := func(v uint16) int { return int(min(max((float64(v)-lo)*k, 0), localLevels-1)) }
	var counts [localTiles][localTiles][localLevels]float32
	bandsBy(h, localTiles, func(tile, y0, y1 int) {
		for y := y0; y < y1; y++ {
			src, a, b := rows(y)
			for x := a; x < b; x++ {
				counts[tile][x*localTiles/w][level(src[x])]++
			}
		}
	})
	for i := range counts {
		for j := range counts[i] {
			curve(&counts[i][j])
		}
	}
	across := make([]near, w)
	for x := range across {
		across[x] = nearest(x, w)
	}
	bands(h, func(y0, y1 int) {
		for y := y0; y < y1; y++ {
			src, a, b := rows(y)
			v := nearest(y, h)
			up, down := &counts[v.a], &counts[v.b]
			out := s.plane.pix[y*w:][:w]
			for x := a; x < b; x++ {
				g, u := level(src[x]), across[x]
				top := up[u.a][g]*(1-u.f) + up[u.b][g]*u.f
				low := down[u.a][g]*(1-u.f) + down[u.b][g]*u.f
				out[x] = uint16(top*(1-v.f) + low*v.f)
			}
		}
	})
}

// near is a place between the middles of two squares.
type near struct {
	a, b int
	f    float32
}

func nearest(i, n int) near {
	t := (float64(i)+0.5)*localTiles/float64(n) - 0.5
	a := math.Floor(t)
	return near{min(max(int(a), 0), localTiles-1), min(int(a)+1, localTiles-1), float32(t - a)}
}

// curve turns counts of grey levels into the grey that each is shown as, 0 to
// 65535. Counts above the limit are shared out among all levels.
func curve(c *[localLevels]float32) {
	total := float32(0)
	for _, v := range c {
		total += v
	}
	if total == 0 { // no part of the circle lies here
		for i := range c {
			c[i] = float32(i) / (localLevels - 1) * 65535
		}
		return
	}
	limit, over := localClip*total/localLevels, float32(0)
	for i, v := range c {
		if v > limit {
			over += v - limit
			c[i] = limit
		}
	}
	sum := float32(0)
	for i := range c {
		sum += c[i] + over/localLevels
		c[i] = sum / total * 65535
	}
}
