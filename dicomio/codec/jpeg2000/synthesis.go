package jpeg2000

// rows is a source of a resolution's rows from the top. A row is good until the
// next is taken.
type rows[T sample] interface{ row() []T }

// transform is a wavelet in lifting steps (F.3.8), the first acting on the
// low-pass samples, the second on the high-pass samples, and so on in turn.
type transform[T sample] struct {
	steps     int
	lift      func(step int, to, above, below []T) // a step on one row with its neighbours
	scale     func(row []T, high bool)             // a row before the vertical steps; may be nil
	across    func(row []T, parity int)            // all steps along a row of interleaved samples
	halveOdd  func(row []T)                        // a sole high-pass row
	halveOddX func(v T) T                          // a sole high-pass sample of a row
}

// level puts a resolution together from the one below and three bands (F.3.2),
// row by row. A row is lifted as soon as its neighbours allow: when row i has
// come, step s is due for row i-s, if that is of its kind.
type level[T sample] struct {
	*transform[T]
	area       rect
	ll         rows[T]
	hl, lh, hh *bandRows[T]
	ring       [][]T
	came, gone int // rows
}

func newLevel[T sample](t *transform[T], area rect, ll rows[T], hl, lh, hh *bandRows[T]) *level[T] {
	l := &level[T]{transform: t, area: area, ll: ll, hl: hl, lh: lh, hh: hh}
	size := t.steps + 2
	memory := make([]T, size*area.width())
	for i := range size {
		l.ring = append(l.ring, memory[i*area.width():(i+1)*area.width()])
	}
	return l
}

func (l *level[T]) at(i int) []T { return l.ring[i%len(l.ring)] }

// high tells whether row i is a high-pass one.
func (l *level[T]) high(i int) bool { return (l.area.y0+i)&1 == 1 }

func (l *level[T]) row() []T {
	height := l.area.height()
	if height == 1 {
		return l.only()
	}
	for ; l.came <= l.gone+l.steps; l.came++ {
		if l.came < height {
			l.load(l.came)
		}
		for s := 1; s <= l.steps; s++ {
			i := l.came - s
			if i < 0 || i >= height || l.high(i) != (s%2 == 0) {
				continue
			}
			above, below := i-1, i+1
			if i == 0 { // symmetric extension (F.3.7)
				above = 1
			}
			if below == height {
				below = height - 2
			}
			l.lift(s, l.at(i), l.at(above), l.at(below))
		}
	}
	l.gone++
	return l.at(l.gone - 1)
}

// only is the row of a resolution that has one.
func (l *level[T]) only() []T {
	row := l.at(0)
	l.interleave(row, 0)
	if l.high(0) {
		l.halveOdd(row)
	}
	return row
}

// load takes row i of the bands and undoes the horizontal transform.
func (l *level[T]) load(i int) {
	row := l.at(i)
	l.interleave(row, i)
	if l.scale != nil {
		l.scale(row, l.high(i))
	}
}

// interleave merges row i of the two bands that it is made of (F.3.3), and lifts
// along the row.
func (l *level[T]) interleave(row []T, i int) {
	var low, high []T
	if l.high(i) {
		low, high = l.lh.row(), l.hh.row()
	} else {
		low, high = l.ll.row(), l.hl.row()
	}
	parity := l.area.x0 & 1
	switch {
	case len(row) == 0:
		return
	case len(row) == 1 && parity == 1:
		row[0] = l.halveOddX(high[0])
		return
	case len(row) == 1:
		row[0] = low[0]
		return
	}
	for k, v := range low {
		row[2*k+parity] = v
	}
	for k, v := range high {
		row[2*k+1-parity] = v
	}
	l.across(row, parity)
}
