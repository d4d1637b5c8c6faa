package find

import (
	"linerwatch/measure"
	"linerwatch/measure/fit"
)

// blockDegrees is the length of a block along the outline, degrees: 4 mm on a head and
// 7 on a cup, longer than what moves neighbouring edges together (bone's trabeculae and
// borders, a screw, a hole, the blocks of lossy compression).
const blockDegrees = 15

// sandwich returns the covariance of the circle from how far blocks of edges depart
// from the outline, whatever the reason.
func (f *fitted) sandwich(edges []measure.Edge) (cov [3][3]float64, ok bool) {
	blocks := make([]fit.Block, 360/blockDegrees)
	for i, w := range f.weights {
		if w > 0 {
			b := &blocks[i*len(blocks)/len(edges)]
			b.Add(w, f.Residual(i, f.points[i], f.terms), f.Row(i, f.points[i], f.terms))
		}
	}
	noise := f.spread * f.length
	all, ok := fit.Sandwich(blocks, fit.Priors(f.terms, noise), noise)
	for i := range cov {
		copy(cov[i][:], all[i][:])
	}
	return cov, ok
}
