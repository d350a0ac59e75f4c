package words

import (
	"math"
	"strconv"
	"time"
)

// Day writes a date in a sentence: "5 March 2026".
func Day(t time.Time) string { return t.Format("2 January 2006") }

// Date writes a date for tables and files, as notes do (ISO 8601): "2026-03-05".
func Date(t time.Time) string { return t.Format(time.DateOnly) }

// Duration writes a length of time that somebody plans by: minutes below an hour, then
// hours and tens of minutes, which is finer than any model of printing times. It is
// empty for a time that is not known: zero, less, or no number.
func Duration(seconds float64) string {
	if !(seconds > 0) {
		return ""
	}
	minutes := int(min(math.Round(seconds/60), math.MaxInt32))
	if minutes < 60 {
		return strconv.Itoa(max(minutes, 1)) + " min"
	}
	tens := (minutes + 5) / 10
	text := strconv.Itoa(tens/6) + " h"
	if tens%6 > 0 {
		text += " " + strconv.Itoa(tens%6*10) + " min"
	}
	return text
}
