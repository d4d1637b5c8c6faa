//go:build unix

package main

import (
	"syscall"
	"time"
)

// userTime returns the processor time this program has spent outside the
// system.
func userTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano())
}
