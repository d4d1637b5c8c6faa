package pack

import (
	"encoding/binary"
	"math"

	"linerwatch/app/study"
)

// Unpack returns the edge points that Pack wrote of an outline with the circle c. No
// bytes are no edges. The error is ErrMalformed.
func Unpack(b []byte, c study.Circle) (study.EdgePoints, error) {
	if len(b) == 0 {
		return study.EdgePoints{}, nil
	}
	b, err := inflated(b)
	if err != nil {
		return study.EdgePoints{}, err
	}
	r := reader{left: b}
	edges := r.edges(c)
	out := study.EdgePoints{All: edges}
	if r.count(1) == 0 {
		out.Fitted, out.Residuals = kept(edges)
	} else {
		for range r.count(16) {
			out.Fitted = append(out.Fitted, study.Pixel{X: r.float(), Y: r.float()})
		}
		for range r.count(8) {
			out.Residuals = append(out.Residuals, r.float())
		}
	}
	if r.short || len(r.left) > 0 {
		return study.EdgePoints{}, ErrMalformed
	}
	return out, nil
}

// reader takes values off bytes; short says that there were not enough, or others than
// Pack writes.
type reader struct {
	left  []byte
	short bool
}

// count reads how many values follow, of at least size bytes each.
func (r *reader) count(size int) int {
	v, n := binary.Uvarint(r.left)
	if n <= 0 || v > 1 && v > uint64(len(r.left)-n)/uint64(size) {
		r.left, r.short = nil, true
		return 0
	}
	r.left = r.left[n:]
	return int(v)
}

func (r *reader) bytes(n int) []byte {
	if n > len(r.left) {
		r.left, r.short = nil, true
		return make([]byte, n)
	}
	b := r.left[:n]
	r.left = r.left[n:]
	return b
}

func (r *reader) planes(n int) []int64 {
	sum := make([]uint64, n)
	for p := range r.bytes(1)[0] {
		if p == 8 {
			r.short = true
			break
		}
		for i, b := range r.bytes(n) {
			sum[i] |= uint64(b) << (8 * p)
		}
	}
	out := make([]int64, n)
	for i, x := range sum {
		out[i] = zagzig(x)
	}
	return out
}

func (r *reader) float() float64 {
	return math.Float64frombits(binary.LittleEndian.Uint64(r.bytes(8)))
}

func (r *reader) text() string {
	return string(r.bytes(r.count(1)))
}

func (r *reader) edges(c study.Circle) []study.Edge {
	n := r.count(1)
	texts := make([]string, r.count(1))
	for i := range texts {
		texts[i] = r.text()
	}
	var column [columns][]int64
	for k := range column {
		column[k] = r.planes(n)
		for range orderOf(k) {
			sum := int64(0)
			for i := range column[k] {
				sum += column[k][i]
				column[k][i] = sum
			}
		}
	}
	var out []study.Edge
	for i := range n {
		var e study.Edge
		e.Angle = float64(column[angle][i]) * degree
		sin, cos := math.Sincos(e.Angle * math.Pi / 180)
		d := float64(column[along][i]) * pixel
		side := float64(column[across][i]) * pixel
		e.X, e.Y = c.X+(c.R+d)*cos-side*sin, c.Y+(c.R+d)*sin+side*cos
		e.Residual = d + float64(column[residual][i])*pixel
		e.Strength = exponential(float64(column[strength][i]) * ratio)
		e.SD = exponential(float64(column[deviation][i]) * ratio)
		if k := column[reason][i]; k >= 0 && k < int64(len(texts)) {
			e.Reject = texts[k]
		} else {
			r.short = true
		}
		r.short = r.short || math.IsInf(e.Strength, 0) || math.IsInf(e.SD, 0)
		out = append(out, e)
	}
	return out
}
