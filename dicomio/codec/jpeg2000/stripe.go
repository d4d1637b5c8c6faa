package jpeg2000

import "sync"

// sample is a coefficient or sample in synthesis: int32 for the reversible
// transform, float32 for the irreversible one.
type sample interface{ int32 | float32 }

// bandRows gives a band's coefficients row by row. Its code-blocks are decoded a
// stripe at a time, the next stripe while the rows of this one are taken.
type bandRows[T sample] struct {
	pool   *pool
	coding *coding
	band   *band
	y      int // the next row
	line   int // the row of code-blocks that next decodes
	now    *stripe[T]
	next   *stripe[T]
}

// stripe is a row of code-blocks.
type stripe[T sample] struct {
	area    rect
	rows    []T
	decoded sync.WaitGroup
}

// newBandRows begins decoding.
func newBandRows[T sample](p *pool, b *band, c *coding) *bandRows[T] {
	r := &bandRows[T]{pool: p, coding: c, band: b, y: b.area.y0, line: b.grid.y0}
	r.now, r.next = new(stripe[T]), new(stripe[T])
	r.ahead()
	return r
}

// ahead begins decoding the next row of code-blocks, if there is one.
func (r *bandRows[T]) ahead() {
	if r.line >= r.band.grid.y1 {
		return
	}
	b, s := r.band, r.next
	s.area = rect{b.area.x0, r.line << b.height, b.area.x1, (r.line + 1) << b.height}.intersect(b.area)
	if n := s.area.width() * s.area.height(); cap(s.rows) < n {
		s.rows = make([]T, n)
	} else {
		s.rows = s.rows[:n]
		clear(s.rows)
	}
	for x := b.grid.x0; x < b.grid.x1; x++ {
		block, area := b.block(x, r.line), b.blockArea(x, r.line)
		if len(block.segments) == 0 {
			continue
		}
		s.decoded.Add(1)
		r.pool.jobs <- func(d *blockDecoder) {
			defer s.decoded.Done()
			r.pool.fail(d.decode(block, b.orientation, area.width(), area.height(), r.coding.modes, r.coding.region))
			block.segments = nil
			s.put(d, area, b.step)
		}
	}
	r.line++
}

// put writes a decoded code-block into the stripe, as integers or scaled by the
// band's step (E.1).
func (s *stripe[T]) put(d *blockDecoder, area rect, step float32) {
	for y := range area.height() {
		at := (area.y0-s.area.y0+y)*s.area.width() + area.x0 - s.area.x0
		from := d.data[y*d.width : (y+1)*d.width]
		switch to := any(s.rows[at : at+d.width]).(type) {
		case []int32:
			for x, v := range from {
				to[x] = v / 2
			}
		case []float32:
			half := step * 0.5
			for x, v := range from {
				to[x] = float32(v) * half
			}
		}
	}
}

// row is the next row, good until the one after is taken.
func (r *bandRows[T]) row() []T {
	if r.now.area.y1 <= r.y {
		r.now, r.next = r.next, r.now
		r.ahead()
		r.now.decoded.Wait()
	}
	width := r.band.area.width()
	at := (r.y - r.now.area.y0) * width
	r.y++
	return r.now.rows[at : at+width]
}
