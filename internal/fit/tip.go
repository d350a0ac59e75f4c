package fit

import "context"

// tipped answers for a part that fits neither as supplied nor turned, where
// the best turn leaves spare (negative).
func (pt part) tipped(ctx context.Context, res Result, spare float64) Result {
	res.Reason = "As supplied or turned it misses " + missText(-spare) + "."
	return res
}
