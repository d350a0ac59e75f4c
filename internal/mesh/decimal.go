package mesh

import (
	"bytes"
	"strconv"
)

// parseDecimal reads a plain decimal as the nearest 64-bit number, or says what
// is wrong with it. Hexadecimal, names and digit separators, which strconv would
// take, are not numbers of a mesh.
func parseDecimal(text []byte) (x float64, fault string) {
	for _, c := range text {
		switch {
		case '0' <= c && c <= '9', c == '+', c == '-', c == '.', c == 'e', c == 'E':
		case notFinite(text):
			return 0, "not a finite number"
		case c == ',':
			return 0, "decimal comma found; a decimal point expected"
		default:
			return 0, "a number expected"
		}
	}
	x, err := strconv.ParseFloat(string(text), 64)
	if ne, ok := err.(*strconv.NumError); ok && ne.Err == strconv.ErrSyntax {
		return 0, "a number expected"
	}
	if !inRange(x) {
		return 0, "beyond the range of 32-bit numbers"
	}
	return x, ""
}

// notFinite knows the ways programs write NaN and infinity.
func notFinite(text []byte) bool {
	t := bytes.ToLower(bytes.TrimLeft(text, "+-"))
	for _, name := range []string{"nan", "inf", "1.#"} {
		if bytes.HasPrefix(t, []byte(name)) {
			return true
		}
	}
	return false
}
