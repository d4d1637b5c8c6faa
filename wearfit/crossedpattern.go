package wearfit

import (
	"encoding/binary"
	"math"
)

// pattern are the rows that have the same cells, so that the same variances weigh them.
// Means are told by the first cell's and by how the others differ from it, which loses
// nothing where rows differ more than readings of one.
type pattern struct {
	cells        []cell // whose means are those of one row
	rows         float64
	base, square float64   // sums over rows of the first cell's mean, and of its square
	differ       []float64 // of what each cell's mean differs from the first
	along        []float64 // of that times the first cell's mean
	products     []float64 // of that times each other's, row by row
}

// gatherPatterns sums what rows of the same cells say.
func (r *cells) gatherPatterns() {
	at := map[string]int{}
	var key []byte
	r.patterns = nil
	for _, row := range r.at {
		key = key[:0]
		for _, c := range row {
			key = binary.AppendUvarint(key, uint64(c.with))
			key = binary.AppendUvarint(key, math.Float64bits(c.n))
		}
		i, ok := at[string(key)]
		if !ok {
			i, at[string(key)] = len(r.patterns), len(r.patterns)
			k := len(row)
			r.patterns = append(r.patterns, pattern{cells: row, differ: make([]float64, k), along: make([]float64, k), products: make([]float64, k*k)})
		}
		r.patterns[i].add(row)
	}
}

func (p *pattern) add(row []cell) {
	p.rows++
	first := row[0].mean
	p.base += first
	p.square += first * first
	for i, c := range row {
		d := c.mean - first
		p.differ[i] += d
		p.along[i] += d * first
		for j := range i + 1 {
			p.products[i*len(row)+j] += d * (row[j].mean - first)
		}
	}
}

// across is the sum over rows of the first cell's mean times what weights make of the
// differences.
func (p *pattern) across(w []float64) (sum float64) {
	for i, v := range p.along {
		sum += w[i] * v
	}
	return sum
}

// quadratic is the sum over rows of the square of what weights make of the differences.
func (p *pattern) quadratic(w []float64) (sum float64) {
	k := len(p.cells)
	for i := range k {
		sum += w[i] * w[i] * p.products[i*k+i]
		for j := range i {
			sum += 2 * w[i] * w[j] * p.products[i*k+j]
		}
	}
	return sum
}
