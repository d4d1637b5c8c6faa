package find

import (
	"cmp"
	"math"
	"slices"
	"sync"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// ringPoints is the number of points of an ellipse that are looked at, and a
// multiple of four.
const ringPoints = 48

// ringShape is an ellipse about the origin, as points to look at in cells.
type ringShape struct {
	measure.Ellipse
	x, y [ringPoints]float32
	bin  [ringPoints]int
}

func newRingShape(e measure.Ellipse, k float64) *ringShape {
	s := &ringShape{Ellipse: e}
	e.X, e.Y = 0, 0
	for i := range ringPoints {
		p, n := e.Frame(360 * (float64(i) + 0.5) / ringPoints)
		s.x[i], s.y[i] = float32(p.X/k), float32(p.Y/k)
		turn := math.Atan2(n.Y, n.X) / math.Pi * bins
		s.bin[i] = (int(math.Round(turn)) + 2*bins) % bins
	}
	return s
}

// share returns the mean of the lines along the shape about (x, y) where it is
// not hidden, 0 once that cannot reach least.
func (m *ringMap) share(s *ringShape, x, y, least float64) float64 {
	cx, cy := float32((x-m.x0)/m.k), float32((y-m.y0)/m.k)
	sum, lost, seen := 0, 0, 0
	most := int(255 * ringPoints * (1 - least))
	for j := range ringPoints {
		i := j * 7 % ringPoints // spread, so that what fails does so soon
		px, py := cx+s.x[i], cy+s.y[i]
		v := 0
		if px >= 0 && py >= 0 && px < float32(m.w) && py < float32(m.h) {
			c := int(py)*m.w + int(px)
			if m.hidden[c] {
				continue
			}
			v = int(m.line[s.bin[i]][c])
		}
		seen++
		sum += v
		if lost += 255 - v; lost > most {
			return 0
		}
	}
	if seen < ringPoints/4 {
		return 0
	}
	return float64(sum) / 255 / float64(seen)
}

// found is an ellipse that lines follow.
type found struct {
	measure.Ellipse
	grade float64
}

// seek returns up to most ellipses that lines follow best, the best first. It
// looks through all sizes, shapes and places in steps, then walks uphill from
// the best.
func (s ringSearch) seek(m *ringMap, most int) []measure.Ellipse {
	unit := s.start.R / 24 // about a mm
	var mu sync.Mutex
	var all []found
	sizes := int((s.outer-s.inner)/(1.3*unit)) + 1
	film.InBands(sizes, func(from, to int) {
		for i := from; i < to; i++ {
			mine := s.ofSize(m, s.inner+float64(i)*1.3*unit, unit)
			mu.Lock()
			all = append(all, mine...)
			mu.Unlock()
		}
	})
	all = apart(all, 3*most, 1.2*unit)
	film.InBands(len(all), func(from, to int) {
		for i := from; i < to; i++ {
			all[i] = s.climb(m, all[i], unit)
		}
	})
	var out []measure.Ellipse
	for _, f := range apart(all, most, 0.6*unit) {
		out = append(out, f.Ellipse)
	}
	return out
}

// ofSize returns the best ellipses with the half a of the long axis.
func (s ringSearch) ofSize(m *ringMap, a, unit float64) []found {
	var all []found
	for b := 0.0; b <= 0.66*a; b += 1.3 * unit {
		for angle := 0.0; angle < 180; angle += 4.5 {
			if !s.crosses(angle) {
				continue
			}
			shape := newRingShape(measure.Ellipse{A: a, B: b, Angle: angle}, m.k)
			best := found{}
			for dy := -s.shift; dy <= s.shift; dy += 1.3 * unit {
				for dx := -s.shift; dx <= s.shift; dx += 1.3 * unit {
					if dx*dx+dy*dy > s.shift*s.shift {
						continue
					}
					if g := m.grade(shape, s.start.X+dx, s.start.Y+dy, s.hole.R, best.grade); g > best.grade {
						best = found{shape.Ellipse, g}
						best.X, best.Y = s.start.X+dx, s.start.Y+dy
					}
				}
			}
			if best.grade > 0 {
				all = append(all, best)
			}
		}
	}
	slices.SortStableFunc(all, byGrade)
	return all[:min(12, len(all))]
}

// grade is how much line there is on a shape, longer lines counting more, 0
// where it is not more than least.
func (m *ringMap) grade(s *ringShape, x, y, hole, least float64) float64 {
	const floor = 0.45 // of a chance line
	size := s.A - 0.8*hole
	if size <= 0 {
		return 0
	}
	return max(0, m.share(s, x, y, floor+least/size)-floor) * size
}

func byGrade(a, b found) int {
	return cmp.Or(cmp.Compare(b.grade, a.grade), cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y), cmp.Compare(a.A, b.A), cmp.Compare(a.Angle, b.Angle))
}

// apart returns the best of all of which no two lie closer than d px around
// their whole turns.
func apart(all []found, most int, d float64) (kept []found) {
	slices.SortStableFunc(all, byGrade)
	for _, f := range all {
		near := func(g found) bool {
			return ringsApart(f.Ellipse, g.Ellipse) < 2*d
		}
		if f.grade > 0 && !slices.ContainsFunc(kept, near) {
			if kept = append(kept, f); len(kept) == most {
				break
			}
		}
	}
	return kept
}

// climb improves an ellipse one parameter after the other in shrinking steps.
func (s ringSearch) climb(m *ringMap, f found, unit float64) found {
	for step := 0.8 * unit; step > 0.15*unit; step /= 2 {
		for range 3 {
			before := f.grade
			for axis := range 5 {
				for _, sign := range []float64{-1, 1} {
					e := f.Ellipse
					switch axis {
					case 0:
						e.X += sign * step
					case 1:
						e.Y += sign * step
					case 2:
						e.A += sign * step
					case 3:
						e.B = max(0, e.B+sign*step)
					case 4:
						e.Angle += sign * step / e.A * 180 / math.Pi
					}
					if e.A < s.inner || e.A > s.outer {
						continue
					}
					if g := m.grade(newRingShape(e, m.k), e.X, e.Y, s.hole.R, f.grade); g > f.grade {
						f = found{e, g}
					}
				}
			}
			if f.grade <= before {
				break
			}
		}
	}
	return f
}
