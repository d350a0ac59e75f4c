//go:build unix

package fittest

import (
	"syscall"
	"time"
)

// ProcessorTime is what this process has used, so that a busy machine does not
// count.
func ProcessorTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
