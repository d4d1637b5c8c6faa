package find

import (
	"math"
	"slices"

	"linerwatch/measure"
	"linerwatch/measure/find/internal/film"
)

// search returns poses that fit the coarse grid, the best first, each with another
// version, since narrow rims have more than one place to settle. Directions are
// tried with all cells alike; then, around the best, versions and depths with those
// that do not fit counting less.
func (m *rimModel) search() (starts []rimTheta, err error) {
	const degree = math.Pi / 180
	var tries []rimTheta
	for turn := -24.0; turn <= 24; turn += 8 {
		for _, tip := range []float64{3, 12, 25} {
			tries = append(tries, rimTheta{m.start + turn*degree, tip * degree, 0, rimPrior[rimWall]})
		}
	}
	least := leastOf(m.costs(tries), func(int) bool { return true })
	if least < 0 {
		return nil, measure.Fault("rim.nothing", nil)
	}
	best, cells := tries[least], m.coarse.cells
	paths := make([][rimPaths]float64, len(cells))
	m.coarse.paths(best, paths)
	coef, _, _ := linear(cells, paths, groundSums(cells))
	reweigh(cells, residuals(cells, paths, coef), 0.15*coef.level(rimPrior[rimWall]))
	tries = tries[:0]
	for _, turn := range []float64{-4, 0, 4} {
		for _, tip := range []float64{2, 7, 13, 21, 32} {
			for _, depth := range []float64{-0.1, -0.04, 0.02, 0.08} {
				tries = append(tries, rimTheta{best[rimAxis] + turn*degree, tip * degree, depth, rimPrior[rimWall]})
			}
		}
	}
	costs := m.costs(tries)
	const most = 3
	for len(starts) < most {
		least = leastOf(costs, func(i int) bool {
			return !slices.ContainsFunc(starts, func(p rimTheta) bool { return p[rimVersion] == tries[i][rimVersion] })
		})
		if least < 0 {
			break
		}
		starts = append(starts, tries[least])
	}
	return starts, nil
}

// costs returns how the tries fit the coarse grid, infinite where they cannot.
func (m *rimModel) costs(tries []rimTheta) []float64 {
	costs, ground := make([]float64, len(tries)), groundSums(m.coarse.cells)
	film.InBands(len(tries), func(from, to int) {
		g := m.coarse.twin()
		paths := make([][rimPaths]float64, len(g.cells))
		for i := from; i < to; i++ {
			g.paths(tries[i], paths)
			var ok bool
			if _, costs[i], ok = linear(g.cells, paths, ground); !ok {
				costs[i] = math.Inf(1)
			}
		}
	})
	return costs
}

// leastOf returns the least of those that count, or -1 where all are infinite.
func leastOf(costs []float64, counts func(int) bool) int {
	least := -1
	for i, c := range costs {
		if counts(i) && !math.IsInf(c, 1) && (least < 0 || c < costs[least]) {
			least = i
		}
	}
	return least
}
