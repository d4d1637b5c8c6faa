package main

import (
	"errors"
	"fmt"
	"os"
	"sync"
)

// judge measures the films of all hips, some hips at a time, and returns the
// verdicts in order.
func judge(c config, todo []series) ([]verdict, error) {
	results := make([][]verdict, len(todo))
	err := inParallel(c.jobs, len(todo), func(i int) error {
		for k := range todo[i].films {
			f := &todo[i].films[k]
			v, err := judgeFilm(f, c.look)
			if err != nil {
				return fmt.Errorf("%s %s %s: %w", f.set, f.hip, f.name, err)
			}
			v.hip = i
			c.say("%v", v)
			results[i] = append(results[i], v)
		}
		return nil
	})
	var all []verdict
	for _, r := range results {
		all = append(all, r...)
	}
	return all, err
}

// inParallel calls f for 0 to n, some at a time, and returns the errors.
func inParallel(jobs, n int, f func(i int) error) error {
	var wg sync.WaitGroup
	next := make(chan int)
	errs := make([]error, n)
	for range max(1, jobs) {
		wg.Go(func() {
			for i := range next {
				errs[i] = f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return errors.Join(errs...)
}

func (c config) say(format string, args ...any) {
	if c.verbose {
		fmt.Fprintf(os.Stderr, format+"\n", args...)
	}
}
