package fit

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// mmPer is the length in mm of each unit that a plate may be written in. An
// inch is 25.4 mm exactly (international yard and pound agreement, 1959).
var mmPer = []struct {
	suffix string
	mm     float64
}{{"mm", 1}, {"cm", 10}, {"in", 25.4}}

// ParsePlate reads a build volume written as width × depth × height, such as
// "68x120x155" or "6.8cm × 12cm × 15.5cm". Lengths are in mm unless they carry
// a unit: mm, cm or in. The margin is 0 and the plate rectangular.
func ParsePlate(s string) (Plate, error) {
	fields := strings.FieldsFunc(s, func(r rune) bool { return r == 'x' || r == 'X' || r == '×' })
	if len(fields) != 3 || strings.Count(strings.ToLower(strings.ReplaceAll(s, "×", "x")), "x") != 2 {
		return Plate{}, fmt.Errorf("plate %q: expected width x depth x height, as in 68x120x155", s)
	}
	var mm [3]float64
	for i, name := range [3]string{"width", "depth", "height"} {
		v, err := parseLength(strings.TrimSpace(fields[i]))
		if err != nil {
			return Plate{}, fmt.Errorf("plate %q: %s: %w", s, name, err)
		}
		mm[i] = v
	}
	return Plate{Width: mm[0], Depth: mm[1], Height: mm[2]}, nil
}

func parseLength(s string) (float64, error) {
	number, factor := s, 1.0
	for _, u := range mmPer {
		if cut, ok := strings.CutSuffix(s, u.suffix); ok {
			number, factor = strings.TrimSpace(cut), u.mm
			break
		}
	}
	v, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsInf(v*factor, 0) || math.IsNaN(v) {
		return 0, fmt.Errorf("%q is not a length; expected a number, in mm or with the unit mm, cm or in", s)
	}
	if v <= 0 {
		return 0, fmt.Errorf("%q is not above zero", s)
	}
	return v * factor, nil
}

// Size writes the plate's measures: "68 × 120 × 155", or "⌀180 × 200" for a round one.
func (p Plate) Size() string {
	mm := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	if p.Round {
		return "⌀" + mm(p.Width) + " × " + mm(p.Height)
	}
	return mm(p.Width) + " × " + mm(p.Depth) + " × " + mm(p.Height)
}

// String writes the plate as ParsePlate reads it, in mm: "68x120x155". What
// ParsePlate cannot say follows in brackets: "180x180x200 (round, margin 2)".
func (p Plate) String() string {
	mm := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	s := mm(p.Width) + "x" + mm(p.Depth) + "x" + mm(p.Height)
	var more []string
	if p.Round {
		more = append(more, "round")
	}
	if p.Margin != 0 {
		more = append(more, "margin "+mm(p.Margin))
	}
	if more != nil {
		s += " (" + strings.Join(more, ", ") + ")"
	}
	return s
}
