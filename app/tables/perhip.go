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
	rows   [][]T
	bad    []*RowError
	spoilt map[string]*RowError // the first bad row of a hip
}

// gather reads all rows that have a reading; row takes what it wants of one.
func gather[T any](t *table, row func(p study.Point) (T, *RowError)) (*perHip[T], error) {
	g := &perHip[T]{number: map[string]int{}, spoilt: map[string]*RowError{}}
	for {
		hip, p, fault, err := t.next()
		if errors.Is(err, io.EOF) {
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
			k, g.number[hip] = len(g.hips), len(g.hips)
			g.hips, g.rows = append(g.hips, hip), append(g.rows, nil)
		}
		g.rows[k] = append(g.rows[k], v)
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
