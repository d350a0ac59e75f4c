package fields

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
)

// maxLength is the longest length a table may state, in mm: 100 m, past any
// stock of rod or cord that is bought for a figure.
const maxLength = 100_000

// units are the millimetres in each unit a length may be written in. The inch
// is exactly 25.4 mm and the foot 304.8 (international yard and pound agreement of
// 1959). The micrometre is known by the micro sign, the Greek letter and the letter u.
var units = map[string]float64{
	"": 1, "mm": 1, "cm": 10, "m": 1000, "µm": 0.001, "μm": 0.001, "um": 0.001,
	"in": 25.4, "inch": 25.4, "inches": 25.4, `"`: 25.4, "″": 25.4, "”": 25.4, "ft": 304.8, "foot": 304.8, "feet": 304.8,
}

// unitsShown ends a sentence about a unit that is not known.
const unitsShown = "mm, cm, m, µm, in or ft"

var (
	quantity = regexp.MustCompile(`^([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))[ \x{a0}\x{202f}]*(.*)$`)
	fraction = regexp.MustCompile(`^(?:([0-9]{1,4})[ -])?([0-9]{1,4})/([1-9][0-9]{0,3}) ?(?:in|inch|inches|["″”])$`)
	comma    = regexp.MustCompile(`^[+-]?[0-9]*,[0-9]`)
)

// ParseLength reads "1.5", "1.5 mm", "12 cm", "0.3 m", "50 µm", "2.5 in" or "1/16 in" as
// millimetres, rounded to 1e-9 mm. Fractions are for inches, as stock is sold.
// The error says what was expected.
func ParseLength(s string) (float64, error) {
	if m := fraction.FindStringSubmatch(strings.ToLower(s)); m != nil {
		whole, _ := strconv.Atoi(m[1]) // four digits at most; none is 0
		top, _ := strconv.Atoi(m[2])
		bottom, _ := strconv.Atoi(m[3])
		return ParseLength(strconv.FormatFloat(float64(whole)+float64(top)/float64(bottom), 'f', -1, 64) + " in")
	}
	n, unit, err := split("length", s, "a number and a unit, such as 1.5 mm")
	if err != nil {
		return 0, err
	}
	factor, ok := units[unit]
	if !ok {
		return 0, fmt.Errorf("length %s has the unit %q, which is not known; expected %s", quote(s), unit, unitsShown)
	}
	mm := math.Round(n*factor*1e9) / 1e9
	switch {
	case mm < 0:
		return 0, fmt.Errorf("length %s is negative; expected a length above zero", quote(s))
	case mm > maxLength:
		return 0, fmt.Errorf("length %s is longer than 100 m; expected a length in %s", quote(s), unitsShown)
	}
	return mm, nil
}

// ParseAngle reads "35", "35°" or "35 deg" as degrees.
func ParseAngle(s string) (float64, error) {
	n, unit, err := split("angle", s, "a number of degrees, such as 35")
	if err != nil {
		return 0, err
	}
	switch unit {
	case "", "°", "deg", "degrees":
		return n, nil
	}
	return 0, fmt.Errorf("angle %s has the unit %q, which is not known; expected degrees, such as 35", quote(s), unit)
}

// ParseNumber reads a plain decimal number.
func ParseNumber(s string) (float64, error) {
	n, unit, err := split("number", s, "a plain number, such as 1.17")
	if err == nil && unit != "" {
		err = fmt.Errorf("number %s ends in %q; expected a plain number, such as 1.17", quote(s), unit)
	}
	if err != nil {
		return 0, err
	}
	return n, nil
}

// ParseCount reads a whole decimal number from 0 to 1 000 000.
func ParseCount(s string) (int, error) {
	n, err := strconv.Atoi(strings.TrimPrefix(s, "+"))
	if err != nil || n < 0 || n > 1_000_000 {
		return 0, fmt.Errorf("%s is not a count; expected a whole number, such as 2", quote(s))
	}
	return n, nil
}

// ParseDate reads an ISO 8601 calendar date as midnight UTC.
func ParseDate(s string) (time.Time, error) {
	t, err := time.Parse("2006-01-02", s)
	if err != nil || t.Year() < 1 {
		return time.Time{}, fmt.Errorf("date %s is not a calendar date; expected year-month-day, such as 2026-03-14", quote(s))
	}
	return t, nil
}

func split(what, s, expected string) (n float64, unit string, err error) {
	trimmed := strings.Trim(s, " \u00a0\u202f")
	if comma.MatchString(trimmed) {
		return 0, "", fmt.Errorf("%s %s has a comma; expected a decimal point, such as 1.5", what, quote(s))
	}
	m := quantity.FindStringSubmatch(trimmed)
	if m == nil {
		switch strings.ToLower(strings.TrimLeft(trimmed, "+-.")) {
		case "nan", "inf", "infinity":
			return 0, "", fmt.Errorf("%s %s is not a finite number; expected %s", what, quote(s), expected)
		}
		return 0, "", fmt.Errorf("%s %s has no number; expected %s", what, quote(s), expected)
	}
	n, err = strconv.ParseFloat(m[1], 64)
	if err != nil || math.IsInf(n, 0) {
		return 0, "", fmt.Errorf("%s %s is not a finite number; expected %s", what, quote(s), expected)
	}
	unit = strings.ToLower(m[2])
	if strings.ContainsFunc(unit, func(r rune) bool { return !unicode.IsLetter(r) && !strings.ContainsRune("°\"″”", r) }) {
		return 0, "", fmt.Errorf("%s %s is not one decimal number; expected %s", what, quote(s), expected)
	}
	return n, unit, nil
}

// quote shows a value in a message, cut to a readable length.
func quote(s string) string {
	const most = 60
	if r := []rune(s); len(r) > most {
		s = string(r[:most-1]) + "…"
	}
	return strconv.Quote(s)
}
