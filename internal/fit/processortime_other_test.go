//go:build !unix

package fit

import "time"

var began = time.Now()

func processorTime() time.Duration { return time.Since(began) }
