package jobs_test

import (
	"context"
	"fmt"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/session/jobs"
)

// owner is a goroutine that owns a queue: the test's, which reads its mail when it
// likes.
type owner struct {
	*jobs.Queue
	t       testing.TB
	mail    chan func()
	posts   atomic.Int64
	changes int
}

func newOwner(t testing.TB, limit, besides int) *owner {
	o := &owner{t: t, mail: make(chan func(), 10000)}
	o.Queue = jobs.New(func(f func()) { o.posts.Add(1); o.mail <- f }, func() { o.changes++ }, limit, besides)
	t.Cleanup(func() {
		o.Close()
		requireNoneLeft(t)
	})
	return o
}

// one reads one message.
func (o *owner) one() {
	o.t.Helper()
	select {
	case f := <-o.mail:
		f()
	case <-time.After(10 * time.Second):
		o.t.Fatal("nothing was posted")
	}
}

// until reads messages until it is so.
func (o *owner) until(so func() bool) {
	o.t.Helper()
	for !so() {
		o.one()
	}
}

func (o *owner) idle() bool { _, total := o.Progress(); return total == 0 }

// requireNoneLeft fails where a goroutine of a queue is left. One that has said that
// it is done needs a moment to be gone.
func requireNoneLeft(t testing.TB) {
	t.Helper()
	stacks := make([]byte, 1<<20)
	left := ""
	for range 200 {
		left = string(stacks[:runtime.Stack(stacks, true)])
		if !strings.Contains(left, "jobs.(*Queue).run.func") && !strings.Contains(left, "jobs.(*Queue).After.func") {
			return
		}
		time.Sleep(time.Millisecond)
	}
	t.Fatal("goroutines are left:\n" + left)
}

// gate is a job that tells when it runs and waits to be let on.
type gate struct{ ran, on chan struct{} }

func newGate() gate { return gate{make(chan struct{}), make(chan struct{})} }

func (g gate) run(apply func()) func(context.Context, jobs.Step) func() {
	return func(context.Context, jobs.Step) func() {
		close(g.ran)
		<-g.on
		return apply
	}
}

func TestResultsAreAppliedByTheOwner(t *testing.T) {
	o := newOwner(t, 2, 1)
	sum := 0 // of the owner alone: the race detector looks on
	for i := range 10 {
		o.Start(jobs.Job{Run: func(context.Context, jobs.Step) func() { return func() { sum += i } }})
	}
	_, total := o.Progress()
	require.Equal(t, 10, total)
	o.until(o.idle)
	require.Equal(t, 45, sum)
}

func TestNoMoreRunThanMay(t *testing.T) {
	o := newOwner(t, 3, 2)
	var now, most [2]atomic.Int64
	for i := range 40 {
		k := i % 2
		o.Start(jobs.Job{Aside: k == 1, Run: func(context.Context, jobs.Step) func() {
			n := now[k].Add(1)
			for m := most[k].Load(); n > m && !most[k].CompareAndSwap(m, n); m = most[k].Load() {
			}
			time.Sleep(time.Millisecond)
			now[k].Add(-1)
			return nil
		}})
	}
	_, total := o.Progress()
	require.Equal(t, 20, total, "what is aside is not counted")
	o.until(o.idle)
	require.LessOrEqual(t, most[0].Load(), int64(3))
	require.LessOrEqual(t, most[1].Load(), int64(2))
}

func TestPreferredGoFirstThenInOrder(t *testing.T) {
	o := newOwner(t, 1, 1)
	var order []string
	add := func(name string) {
		o.Start(jobs.Job{For: name, Run: func(context.Context, jobs.Step) func() {
			return func() { order = append(order, name) }
		}})
	}
	g := newGate()
	o.Start(jobs.Job{Run: g.run(nil)})
	for _, name := range []string{"a", "b", "c", "d", "c"} {
		add(name)
	}
	o.Prefer("c")
	close(g.on)
	o.until(o.idle)
	require.Equal(t, []string{"c", "c", "a", "b", "d"}, order)
}

func TestAsideDoesNotWaitBehindTheRest(t *testing.T) {
	o := newOwner(t, 1, 1)
	g := newGate()
	o.Start(jobs.Job{Run: g.run(nil)})
	done := false
	o.Start(jobs.Job{Aside: true, Run: func(context.Context, jobs.Step) func() { return func() { done = true } }})
	o.until(func() bool { return done })
	require.False(t, o.idle())
	close(g.on)
	o.until(o.idle)
}

func TestCancelTellsAtOnceAndDropsResults(t *testing.T) {
	o := newOwner(t, 1, 1)
	g, dropped, applied := newGate(), []string{}, []string{}
	job := func(name string, run func(context.Context, jobs.Step) func()) jobs.Job {
		return jobs.Job{For: name, Run: run, Dropped: func() { dropped = append(dropped, name) }}
	}
	plain := func(name string) func(context.Context, jobs.Step) func() {
		return func(context.Context, jobs.Step) func() { return func() { applied = append(applied, name) } }
	}
	o.Start(job("runs", g.run(func() { applied = append(applied, "runs") })))
	<-g.ran
	o.Start(job("waits", plain("waits")))
	o.Cancel()
	require.ElementsMatch(t, []string{"runs", "waits"}, dropped)
	require.True(t, o.idle())

	o.Start(job("later", plain("later")))
	done, total := o.Progress()
	require.Equal(t, [2]int{0, 1}, [2]int{done, total})
	require.Empty(t, o.mail, "it waits for the place of the cancelled job")
	close(g.on)
	o.until(o.idle)
	require.Equal(t, []string{"later"}, applied)
}

func TestCancelOneByOne(t *testing.T) {
	o := newOwner(t, 1, 1)
	g := newGate()
	ended := make(chan error, 1)
	o.Start(jobs.Job{Run: g.run(nil)})
	<-g.ran
	var applied []int
	var cancels []func()
	for i := range 4 {
		cancels = append(cancels, o.Start(jobs.Job{For: i / 2, Run: func(context.Context, jobs.Step) func() {
			return func() { applied = append(applied, i) }
		}}))
	}
	cancels[0]()
	o.CancelFor(1)
	_, total := o.Progress()
	require.Equal(t, 2, total)
	close(g.on)
	o.until(o.idle)
	require.Equal(t, []int{1}, applied)
	cancels[1]() // has ended; nothing happens
	require.True(t, o.idle())

	cancel := o.Start(jobs.Job{Run: func(ctx context.Context, _ jobs.Step) func() {
		<-ctx.Done()
		ended <- ctx.Err()
		return nil
	}})
	cancel()
	require.ErrorIs(t, <-ended, context.Canceled, "one that runs hears of it")
}

func TestAResultMayCancelStartAndClose(t *testing.T) {
	o := newOwner(t, 2, 1)
	again := false
	o.Start(jobs.Job{Run: func(context.Context, jobs.Step) func() {
		return func() {
			o.Cancel()
			o.Start(jobs.Job{Run: func(context.Context, jobs.Step) func() { return func() { again = true } }})
		}
	}})
	g := newGate()
	o.Start(jobs.Job{Run: g.run(func() { t.Error("was cancelled") })})
	o.one()
	close(g.on)
	o.until(o.idle)
	require.True(t, again)

	dropped := false
	o.Start(jobs.Job{Run: func(context.Context, jobs.Step) func() { return o.Close }})
	o.one()
	o.Start(jobs.Job{Run: func(context.Context, jobs.Step) func() { return nil }, Dropped: func() { dropped = true }})
	require.True(t, dropped, "a closed queue takes nothing")
	require.True(t, o.idle())
}

func TestStepsCountWithinAJob(t *testing.T) {
	o := newOwner(t, 1, 1)
	g := newGate()
	told := make(chan struct{})
	o.Start(jobs.Job{Run: func(_ context.Context, step jobs.Step) func() {
		for i := range 1000 {
			step(i, 2000)
		}
		close(told)
		<-g.on
		return nil
	}})
	<-told
	done, total := o.Progress()
	require.Equal(t, [2]int{999, 2001}, [2]int{done, total})
	require.Equal(t, int64(1), o.posts.Load(), "the owner was told once and has not looked yet")
	close(g.on)
	o.until(o.idle)
}

// Close waits for jobs that do not look at their context, and for timers.
func TestNothingIsLeftAfterClose(t *testing.T) {
	for range 50 {
		o := newOwner(t, 4, 2)
		var left sync.Map
		for i := range 20 {
			o.Start(jobs.Job{Aside: i%3 == 0, Run: func(context.Context, jobs.Step) func() {
				left.Store(i, true)
				time.Sleep(time.Millisecond)
				left.Delete(i)
				return func() { t.Error("applied after Close") }
			}})
			o.After(time.Duration(i)*100*time.Microsecond, func() { t.Error("a timer ran after Close") })
		}
		o.Close()
		left.Range(func(k, _ any) bool { t.Errorf("job %v still runs", k); return true })
		for len(o.mail) > 0 {
			o.one() // posted before; it finds nothing
		}
		o.After(0, func() { t.Error("a timer was set after Close") })
	}
}

func TestAfterRunsOnTheOwner(t *testing.T) {
	o := newOwner(t, 1, 1)
	done := false
	o.After(time.Millisecond, func() { done = true })
	require.True(t, o.idle(), "a timer is no work")
	o.until(func() bool { return done })

	cancel := o.After(time.Millisecond, func() { t.Error("was cancelled") })
	cancel()
	late := o.After(0, func() { t.Error("was cancelled when its time had come") })
	for len(o.mail) == 0 {
		time.Sleep(time.Millisecond)
	}
	late()
	late()
	o.one()
	require.Empty(t, o.mail)
}

// A thousand jobs leave an owner who is busy with few messages.
func TestAnOwnerIsNotFlooded(t *testing.T) {
	o := newOwner(t, 4, 1)
	const n = 1000
	applied := 0
	for i := range n {
		o.Start(jobs.Job{For: i, Run: func(context.Context, jobs.Step) func() { return func() { applied++ } }})
	}
	for o.posts.Load() == 0 {
		time.Sleep(time.Millisecond)
	}
	time.Sleep(20 * time.Millisecond) // the owner is busy elsewhere
	require.Equal(t, int64(1), o.posts.Load())
	before := o.changes
	o.until(o.idle)
	require.Equal(t, n, applied)
	require.LessOrEqual(t, o.posts.Load(), int64(n))
	require.LessOrEqual(t, o.changes-before, n+1)
}

// BenchmarkQueue puts many jobs in line and drops them: the time for one must not
// grow with their number.
func BenchmarkQueue(b *testing.B) {
	for _, n := range []int{100, 1000, 10000, 100000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			o := newOwner(b, 1, 1)
			for b.Loop() {
				for i := range n {
					o.Start(jobs.Job{For: i, Run: func(context.Context, jobs.Step) func() { return nil }})
				}
				o.Prefer(n - 1)
				o.CancelFor(n / 2)
				o.Cancel()
				for len(o.mail) > 0 {
					o.one()
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/job")
		})
	}
}
