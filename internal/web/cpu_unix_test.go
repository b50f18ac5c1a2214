//go:build unix

package web_test

import (
	"syscall"
	"time"
)

// processorTime is what this process has used of the processors so far: on a
// machine that others use too it says more than the clock does.
func processorTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
