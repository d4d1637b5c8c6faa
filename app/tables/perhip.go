package tables

import (
	"errors"
	"io"
	"runtime"

	"linerwatch/app/study"
)

// perHip is the rows of a table by hip, in the order of each hip's first row.
type perHip[T any] struct {
	hips   []string
	number map[string]int // of a hip among them
	ends   []chain        // of its rows
	blocks [][]linked[T]  // of all rows; never moved, so that a long table is not copied
	total  int
	bad    []*RowError
	spoilt map[string]*RowError // the first bad row of a hip
}

// chain is the first and the last row of a hip, by number from 1 on; 0 for none.
type chain struct{ first, last int32 }

// linked is a row with the next one of its hip.
type linked[T any] struct {
	row  T
	next int32
}

const blockRows = 4096

func (g *perHip[T]) at(number int32) *linked[T] {
	return &g.blocks[(number-1)/blockRows][(number-1)%blockRows]
}

// add makes room for a hip.
func (g *perHip[T]) add(hip string) {
	g.number[hip] = len(g.hips)
	g.hips, g.ends = append(g.hips, hip), append(g.ends, chain{})
}

// put adds a row to hip k.
func (g *perHip[T]) put(k int, row T) {
	if g.total%blockRows == 0 {
		g.blocks = append(g.blocks, make([]linked[T], 0, blockRows))
	}
	b := &g.blocks[len(g.blocks)-1]
	*b = append(*b, linked[T]{row: row})
	g.total++
	end := &g.ends[k]
	if n := int32(g.total); end.first == 0 {
		*end = chain{n, n}
	} else {
		g.at(end.last).next, end.last = n, n
	}
}

// rows returns the rows of hip k.
func (g *perHip[T]) rows(k int) []T {
	var out []T
	for n := g.ends[k].first; n > 0; n = g.at(n).next {
		out = append(out, g.at(n).row)
	}
	return out
}

// gather reads all rows that have a reading; row takes what it wants of one.
func gather[T any](t *table, row func(p study.Point) (T, *RowError)) (*perHip[T], error) {
	g := &perHip[T]{number: map[string]int{}, spoilt: map[string]*RowError{}}
	for {
		hip, p, fault, err := t.next()
		if errors.Is(err, io.EOF) {
			t.hips.repeat.at = nil // of no use any more, and long
			return g, nil
		}
		if err != nil {
			return nil, err
		}
		v, more := row(p)
		if fault == nil {
			fault = more
		}
		if fault != nil {
			g.bad = append(g.bad, fault)
			if g.spoilt[hip] == nil {
				g.spoilt[hip] = fault
			}
		}
		if hip == "" {
			continue
		}
		k, ok := g.number[hip]
		if !ok {
			k = len(g.hips)
			g.add(hip)
		}
		g.put(k, v)
	}
}

// inOrder makes n results on all processors and hands them over in order. It never has
// more of them than a few at a time, and stops at the first error.
func inOrder[T any](n int, produce func(i int) T, take func(v T) error) error {
	workers := runtime.GOMAXPROCS(0)
	type job struct {
		i    int
		done chan T
	}
	work, queue, stop := make(chan job), make(chan job, 16*workers), make(chan struct{})
	defer close(stop)
	for range workers {
		go func() {
			for j := range work {
				j.done <- produce(j.i)
			}
		}()
	}
	go func() {
		defer close(queue)
		defer close(work)
		for i := range n {
			j := job{i, make(chan T, 1)}
			for _, to := range []chan job{queue, work} {
				select {
				case to <- j:
				case <-stop:
					return
				}
			}
		}
	}()
	for j := range queue {
		if err := take(<-j.done); err != nil {
			return err
		}
	}
	return nil
}
