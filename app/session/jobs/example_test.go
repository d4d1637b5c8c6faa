package jobs_test

import (
	"context"
	"fmt"

	"linerwatch/app/session/jobs"
)

func Example() {
	mail := make(chan func(), 10) // of the goroutine that owns the queue: this one
	q := jobs.New(func(f func()) { mail <- f }, func() {}, 2, 1)
	defer q.Close()
	q.Start(jobs.Job{Run: func(context.Context, jobs.Step) func() {
		sum := 0
		for i := range 100 {
			sum += i
		}
		return func() { fmt.Println(sum) }
	}})
	(<-mail)()
	// Output: 4950
}
