package fit

import (
	"math"
	"strconv"
)

// SpareText writes an amount in mm rounded down, so that "at least" and "to
// spare" stay true.
func SpareText(mm float64) string {
	tenths := math.Floor(mm * 10)
	if tenths < 1 {
		return "less than 0.1 mm"
	}
	return strconv.FormatFloat(tenths/10, 'f', 1, 64) + " mm"
}

// missText says by how much something is too large, never more than it is.
func missText(mm float64) string {
	if mm < 0.1 {
		return "by less than 0.1 mm"
	}
	return "by at least " + SpareText(mm)
}
