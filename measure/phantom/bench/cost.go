package main

import (
	"fmt"
	"io"
	"runtime"
	"runtime/metrics"
	"time"

	"linerwatch/measure"
	"linerwatch/measure/phantom"
)

// Cost is what the search takes alone on a whole film.
type Cost struct {
	Cup       measure.CupKind `json:"cup"`
	Wall      time.Duration   `json:"wall_ns"` // the least of several runs
	User      time.Duration   `json:"user_ns"`
	Allocated uint64          `json:"allocated"` // bytes in one run
	Peak      uint64          `json:"peak"`      // most live and not yet collected bytes, the film's pixels included
	Cores     int             `json:"cores"`
	Runs      int             `json:"runs"`
}

// measureCost times the search of films of 2880 by 2400 pixels of 12 bits.
func measureCost() ([]Cost, error) {
	var all []Cost
	for _, cup := range []measure.CupKind{measure.Shell, measure.Wire} {
		s := phantom.Default()
		s.Bits = 12
		h := phantom.DefaultHip(measure.Right)
		h.Cup = cup
		s.Hips = []phantom.Hip{h}
		img, err := phantom.Render(s)
		if err != nil {
			return nil, err
		}
		k := Cost{Cup: cup, Cores: runtime.GOMAXPROCS(0), Runs: 7, Wall: time.Hour, User: time.Hour}
		for range k.Runs {
			runtime.GC()
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			stop := watchHeap(&k.Peak)
			user := userTime()
			_, refused, spent, err := measured(img, search{headMM: h.HeadMM, spacing: s.Spacing})
			k.Wall = min(k.Wall, spent)
			k.User = min(k.User, userTime()-user)
			stop()
			runtime.ReadMemStats(&after)
			k.Allocated = after.TotalAlloc - before.TotalAlloc
			if err != nil || refused != "" {
				return nil, fmt.Errorf("%s film for timing: %v %s", cup, err, refused)
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

func (k Cost) print(w io.Writer) {
	fmt.Fprintf(w, "\nsearch alone, whole film of 2880 x 2400, %s: %d ms, %d ms of processor time on %d cores (least of %d runs); %d MB allocated, peak heap %d MB with the film\n",
		k.Cup, k.Wall.Milliseconds(), k.User.Milliseconds(), k.Cores, k.Runs, k.Allocated>>20, k.Peak>>20)
}
