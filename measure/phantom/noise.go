package phantom

import (
	"math"
	"sync"
)

// mix is the finaliser of a 64-bit counter hash (SplitMix64; Steele GL, Lea D,
// Flood CH. OOPSLA 2014:453-472).
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// normals holds the quantiles of the standard normal distribution at the
// middle of 65536 equal steps.
var normals = sync.OnceValue(func() *[65536]float32 {
	var t [65536]float32
	for i := range t {
		t[i] = float32(-math.Sqrt2 * math.Erfcinv(2*(float64(i)+0.5)/65536))
	}
	return &t
})

// poisson returns a Poisson variate of a small mean by inversion of u in (0, 1).
func poisson(mean, u float64) float64 {
	p := math.Exp(-mean)
	sum, k := p, 0.0
	for u > sum && k < 200 {
		k++
		p *= mean / k
		sum += p
	}
	return k
}

const tileSize = 256

// tile is a periodic smooth random field of mean 0 and variance 1 over
// tileSize cells a side.
type tile [tileSize * tileSize]float32

func newTile(seed uint64) *tile {
	var t tile
	n := normals()
	for i := range t {
		t[i] = n[mix(seed^mix(uint64(i)))>>48]
	}
	return &t
}

// at returns the field at a place in cells.
func (t *tile) at(x, y float64) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	tx, ty := x-fx, y-fy
	tx, ty = tx*tx*(3-2*tx), ty*ty*(3-2*ty)
	i0, j0 := int(fx)&(tileSize-1), (int(fy)&(tileSize-1))*tileSize
	i1, j1 := (i0+1)&(tileSize-1), (j0+tileSize)&(tileSize*tileSize-1)
	a, b := float64(t[j0+i0]), float64(t[j0+i1])
	c, d := float64(t[j1+i0]), float64(t[j1+i1])
	a += tx * (b - a)
	c += tx * (d - c)
	return a + ty*(c-a)
}
