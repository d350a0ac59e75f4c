package fit

import (
	"cardback/internal/words"
	"math"
)

// SpareText writes an amount in mm rounded down, so that "at least" and "to
// spare" stay true.
func SpareText(mm float64) string {
	tenths := math.Floor(mm * 10)
	if tenths < 1 {
		return "less than 0.1 mm"
	}
	return words.Fixed(tenths/10, 1) + " mm"
}

// missText says by how much something is too large, never more than it is.
func missText(mm float64) string {
	if mm < 0.1 {
		return "by less than 0.1 mm"
	}
	return "by at least " + SpareText(mm)
}
