package main

import (
	"context"
	"fmt"
	"io"
	"runtime"
	"runtime/metrics"
	"time"

	"linerwatch/measure"
	"linerwatch/measure/find"
	"linerwatch/measure/phantom"
)

// cost is what find.Hips takes alone on a whole film.
type cost struct {
	cup         measure.CupKind
	wall, user  time.Duration // the least of several runs
	allocated   uint64        // bytes in one run
	peak        uint64        // most live and not yet collected bytes, the film's pixels included
	cores, runs int
}

type costs []cost

// measureCost times find.Hips on films of 2880 by 2400 pixels of 12 bits.
func measureCost(c config) (costs, error) {
	var all costs
	for _, cup := range []measure.CupKind{measure.Shell, measure.Wire} {
		s := phantom.Default()
		s.Bits = 12
		h := phantom.DefaultHip(measure.Right)
		h.Cup = cup
		s.Hips = []phantom.Hip{h}
		img, err := c.render(s)
		if err != nil {
			return nil, err
		}
		k := cost{cup: cup, cores: runtime.GOMAXPROCS(0), runs: 7, wall: time.Hour, user: time.Hour}
		for range k.runs {
			runtime.GC()
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			stop := watchHeap(&k.peak)
			user, start := userTime(), time.Now()
			_, err := find.Hips(context.Background(), img, find.Options{HeadMM: h.HeadMM, Spacing: s.Spacing})
			k.wall = min(k.wall, time.Since(start))
			k.user = min(k.user, userTime()-user)
			stop()
			runtime.ReadMemStats(&after)
			k.allocated = after.TotalAlloc - before.TotalAlloc
			if err != nil {
				return nil, fmt.Errorf("%s film for timing: %w", cup, err)
			}
		}
		all = append(all, k)
	}
	return all, nil
}

// watchHeap keeps the largest heap seen in peak until the returned function is
// called.
func watchHeap(peak *uint64) (stop func()) {
	done, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		heap := []metrics.Sample{{Name: "/memory/classes/heap/objects:bytes"}}
		tick := time.NewTicker(time.Millisecond)
		defer tick.Stop()
		for {
			metrics.Read(heap)
			*peak = max(*peak, heap[0].Value.Uint64())
			select {
			case <-tick.C:
			case <-done:
				return
			}
		}
	}()
	return func() { close(done); <-ended }
}

func (all costs) print(w io.Writer) {
	for _, k := range all {
		fmt.Fprintf(w, "\nDetect alone, whole film of 2880 x 2400, %s: %d ms, %d ms of processor time on %d cores (least of %d runs); %d MB allocated, peak heap %d MB with the film\n",
			k.cup, k.wall.Milliseconds(), k.user.Milliseconds(), k.cores, k.runs, k.allocated>>20, k.peak>>20)
	}
}
