//go:build !unix

package fittest

import "time"

var began = time.Now()

func ProcessorTime() time.Duration { return time.Since(began) }
