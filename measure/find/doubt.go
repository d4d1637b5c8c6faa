package find

import (
	_ "embed"
	"encoding/json"
	"sync"

	"linerwatch/measure"
	"linerwatch/measure/fit"
)

// departures is the number of harmonics of an outline, from the first on, that a model
// of its edge may leave: a shift, an oval and a triangle. Higher ones move a circle less
// and less.
const departures = 3

// leftBy says what a kind of edge leaves beyond what an outline's own edges tell.
type leftBy struct {
	Shared    float64 // standard deviation of each harmonic, in units of the blur, the same on all films of a hip
	Alone     float64 // on each film its own
	Radius    float64 // of the radius
	Inflation float64 // of the standard errors that the edges tell
}

// doubts holds what each kind of edge leaves, learned from the project's own films by
//
//	go test ./measure/find -run TestDoubt -learn 120 -timeout 1h
//
//go:embed doubt.json
var doubtData []byte

var doubts = sync.OnceValue(func() map[edgeKind]leftBy {
	var d map[edgeKind]leftBy
	if err := json.Unmarshal(doubtData, &d); err != nil {
		panic("find: doubt.json: " + err.Error())
	}
	return d
})

// doubt sets the covariance of a circle: what its edges depart from it, and what the
// model of the edge leaves.
func (f *fitted) doubt(c *measure.CircleFit, kind edgeKind, blur float64) {
	unit, d := f.departures(blur), doubts()[kind]
	shared, alone := d.Shared*d.Shared, d.Alone*d.Alone
	for x := range unit {
		for y := range unit {
			c.Shared[x][y] = shared * unit[x][y]
			c.Cov[x][y] = d.Inflation*d.Inflation*c.Cov[x][y] + (shared+alone)*unit[x][y]
		}
	}
	v := d.Radius * blur * d.Radius * blur
	c.Cov[2][2] += v
	c.Shared[2][2] += v
}

// departures returns the covariance of the circle where the harmonics 1 to departures
// of the outline have a standard deviation of one blur each.
func (f *fitted) departures(blur float64) (cov [3][3]float64) {
	var sums [2 * departures]fit.Row
	for i, w := range f.weights {
		if w == 0 {
			continue
		}
		j := f.Row(i, f.points[i], f.terms)
		cos, sin := 1.0, 0.0
		for h := range departures {
			cos, sin = cos*j[0]-sin*j[1], sin*j[0]+cos*j[1]
			for x, v := range j {
				sums[2*h][x] += w * cos * v
				sums[2*h+1][x] += w * sin * v
			}
		}
	}
	for _, s := range sums {
		p := fit.Times(f.Inverse[:], s)
		measure.AddSquares(cov[:], blur*blur, [3]float64(p[:3]))
	}
	return cov
}

// blockDegrees is the length of a block along the outline, degrees: 4 mm on a head and
// 7 on a cup, longer than what moves neighbouring edges together (bone's trabeculae and
// borders, a screw, a hole, the blocks of lossy compression); tried by .ci/vary.
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
