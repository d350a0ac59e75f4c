//go:build !linux

package hostile

// Elsewhere only the clock limits a case.

func mostResident(int) int         { return 0 }
func processorSeconds(int) float64 { return 0 }
