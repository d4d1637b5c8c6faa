package batch

import (
	"context"
	"runtime"
	"sync"
)

// parallel calls work(0) to work(n-1) on all processors and stops early where
// ctx ends.
func parallel(ctx context.Context, n int, progress func(done, total int), work func(i int)) error {
	next := make(chan int)
	var wg sync.WaitGroup
	var mu sync.Mutex
	done := 0
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Go(func() {
			for i := range next {
				if ctx.Err() == nil {
					work(i)
				}
				mu.Lock()
				done++
				if progress != nil {
					progress(done, n)
				}
				mu.Unlock()
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return ctx.Err()
}
