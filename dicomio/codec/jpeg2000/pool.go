package jpeg2000

import (
	"runtime"
	"sync"
	"sync/atomic"
)

// pool runs jobs on all processors, each with a block decoder of its own.
type pool struct {
	jobs  chan func(*blockDecoder)
	done  sync.WaitGroup
	fault atomic.Pointer[error] // of a job
}

func newPool() *pool {
	p := &pool{jobs: make(chan func(*blockDecoder), 256)}
	for range runtime.GOMAXPROCS(0) {
		p.done.Go(func() {
			var d blockDecoder
			for job := range p.jobs {
				job(&d)
			}
		})
	}
	return p
}

// close waits for the jobs given and ends the workers.
func (p *pool) close() {
	close(p.jobs)
	p.done.Wait()
}

// fail keeps what is wrong with a code-block.
func (p *pool) fail(err error) {
	if err != nil {
		p.fault.Store(&err)
	}
}

// failed returns what was wrong with one of the code-blocks decoded.
func (p *pool) failed() error {
	if err := p.fault.Load(); err != nil {
		return *err
	}
	return nil
}
