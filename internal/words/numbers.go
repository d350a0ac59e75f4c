package words

import (
	"math"
	"strconv"
	"strings"
)

// mostDecimals is where digits end: a nanometre, of lengths in mm. Coordinates of
// parts in 32 bits are coarser from 0.02 mm on.
const mostDecimals = 6

// From mostPlain on and below leastPlain a number is written with an exponent: no length,
// area or volume of a part is larger or, but for nothing, smaller, and longer texts break
// tables.
const mostPlain, leastPlain = 1e10, 1e-6

// Plain writes a declared number with the decimals it has, up to four.
func Plain(v float64) string { return Rounded(v, 4) }

// Exact writes a number with all the digits that tell it from every other: for files
// that are read again.
func Exact(v float64) string { return strconv.FormatFloat(v+0, 'f', -1, 64) }

// Fixed writes a measured number with so many decimals, never as −0. From 10^10 on it
// writes seven digits and an exponent.
func Fixed(v float64, decimals int) string {
	if math.Abs(v) >= mostPlain {
		return strconv.FormatFloat(v, 'g', 7, 64)
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// Rounded writes v with at most so many decimals, without zeros at the end.
func Rounded(v float64, decimals int) string { return trimmed(Fixed(v, decimals)) }

func trimmed(s string) string {
	if strings.Contains(s, ".") && !strings.Contains(s, "e") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// Significant writes v with so many significant digits, without zeros at the end.
// Whole digits are never left out: 1234.5 with three digits is 1234 or 1235. From 10^10
// on, and below 10^-6, it writes an exponent.
func Significant(v float64, digits int) string {
	if a := math.Abs(v); a >= mostPlain || a < leastPlain {
		return strconv.FormatFloat(v+0, 'g', digits, 64)
	}
	return Rounded(v, max(0, digits-1-magnitude(v)))
}

// magnitude is the power of ten of v's first digit.
func magnitude(v float64) int { return int(math.Floor(math.Log10(math.Abs(v)))) }

// Three writes an estimate with three digits, of which so many at most stand after the
// point. Zeros at the end are kept, so that a column of estimates is even.
func Three(v float64, decimals int) string {
	if v == 0 {
		return Fixed(0, min(2, decimals))
	}
	return Fixed(v, min(max(0, 2-magnitude(v)), decimals))
}

// Measure writes a measured number for a table: hundredths, and four significant digits
// of what is below one.
func Measure(v float64) string {
	if a := math.Abs(v); a > 0 && a < 1 {
		return Significant(v, 4)
	}
	return Fixed(v, 2)
}

// Seen writes a measured number with so many decimals, and with two significant digits
// where those decimals would show less than one of their last.
func Seen(v float64, decimals int) string {
	if v != 0 && math.Abs(v) < math.Pow10(-decimals) {
		return Significant(v, 2)
	}
	return Fixed(v, decimals)
}

// Slight writes a distance in mm that is below what a printer shows: rounded up to a
// nanometre, and never 0. Less than a thousandth of a nanometre over is rounding.
func Slight(mm float64) string {
	n := math.Max(1, math.Ceil(mm*1e6-1e-3))
	return Exact(n / 1e6)
}

// Percent writes a share of one with at most so many decimals: "33.3 %".
func Percent(share float64, decimals int) string { return Rounded(100*share, decimals) + " %" }

// Degrees writes an angle with the decimals it has, up to four: "22.5°".
func Degrees(deg float64) string { return Plain(deg) + "°" }

// Bytes writes the size of a file in multiples of 1024: whole below a MiB, and tenths
// from there on.
func Bytes(n int64) string {
	switch {
	case n < 1<<10:
		return Fixed(float64(n), 0) + " bytes"
	case n < 1<<20:
		return Fixed(float64(n)/(1<<10), 0) + " KiB"
	}
	return Fixed(float64(n)/(1<<20), 1) + " MiB"
}

// Beside writes a measured number that stands beside another, which Plain writes:
// with so many decimals, or as many more, up to six, as it takes for the two texts
// to differ the way the numbers do. Numbers that differ by less than that are
// written alike; nothing should be said of such a difference.
func Beside(v, other float64, decimals int) string {
	limit, _ := strconv.ParseFloat(Plain(other), 64)
	for n := decimals; n < mostDecimals; n++ {
		s := Fixed(v, n)
		if w, _ := strconv.ParseFloat(s, 64); less(w, limit) == less(v, other) && less(limit, w) == less(other, v) {
			return s
		}
	}
	return Fixed(v, mostDecimals)
}

func less(a, b float64) bool { return a < b }

// Spare writes room that is left, or a distance: rounded down to so many decimals,
// so that it is there, and with more of them, up to three, where that would make
// nothing of something. What is below a thousandth is "less than 0.001", and nothing
// at all is 0.
func Spare(v float64, decimals int) string {
	if v <= 0 {
		return Fixed(0, decimals)
	}
	for n := decimals; n <= 3; n++ {
		if f := floorTo(v, n); f > 0 {
			return Fixed(f, n)
		}
	}
	return "less than 0.001"
}

// AtMost writes an upper bound, rounded up to so many decimals.
func AtMost(v float64, decimals int) string { return Fixed(-floorTo(-v, decimals), decimals) }

// AtLeast writes a lower bound, rounded down to so many decimals.
func AtLeast(v float64, decimals int) string { return Fixed(floorTo(v, decimals), decimals) }

// floorTo is v rounded down to n decimals. A number within a millionth of the last
// decimal is taken for it: 0.3 in 64 bits is a little under 0.3.
func floorTo(v float64, n int) float64 {
	unit := math.Pow10(n)
	return math.Floor(float64(v*unit)+1e-6) / unit
}

// Length writes a declared length with its unit: from a metre on in metres, where
// that takes no more than two decimals.
func Length(mm float64) string {
	if m := mm / 1000; m >= 1 && math.Round(m*100)/100 == m {
		return Rounded(m, 2) + " m"
	}
	return Plain(mm) + " mm"
}

// Place writes a point, in mm, to a tenth, which finds it in any viewer; where the
// point is within a millimetre of the origin, as all of a file in metres are, to
// three digits of its largest coordinate.
func Place(x, y, z float64) string {
	decimals := 1
	if far := max(math.Abs(x), math.Abs(y), math.Abs(z)); far > 0 && far < 1 {
		decimals = min(2-magnitude(far), mostDecimals)
	}
	return "(" + Fixed(x, decimals) + ", " + Fixed(y, decimals) + ", " + Fixed(z, decimals) + ")"
}

// Point writes a measured point for a table: each coordinate to a hundredth, and as
// Measure writes it where the point is within a millimetre of the origin. What is below
// a millionth of a nanometre is rounding, and is nothing.
func Point(x, y, z float64) string {
	of := func(v float64) string { return Fixed(v, 2) }
	if max(math.Abs(x), math.Abs(y), math.Abs(z)) < 1 {
		of = func(v float64) string {
			if math.Abs(v) < 1e-9 {
				v = 0
			}
			return Measure(v)
		}
	}
	return "(" + of(x) + ", " + of(y) + ", " + of(z) + ")"
}
