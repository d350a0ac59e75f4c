package fit

import (
	"fmt"
	"strconv"
	"strings"

	"cardback/internal/fields"
)

// ParsePlate reads a build volume written as width × depth × height, such as
// "68x120x155" or "6.8cm × 12cm × 15.5cm". Lengths are in mm unless they carry
// a unit, as fields.ParseLength reads them. The margin is 0 and the plate rectangular.
func ParsePlate(s string) (Plate, error) {
	sizes := strings.FieldsFunc(s, func(r rune) bool { return r == 'x' || r == 'X' || r == '×' })
	if len(sizes) != 3 || strings.Count(strings.ToLower(strings.ReplaceAll(s, "×", "x")), "x") != 2 {
		return Plate{}, fmt.Errorf("plate %q: expected width x depth x height, as in 68x120x155", s)
	}
	var mm [3]float64
	for i, name := range [3]string{"width", "depth", "height"} {
		v, err := fields.ParseLength(strings.TrimSpace(sizes[i]))
		if err == nil && v == 0 {
			err = fmt.Errorf("%q is not above zero", sizes[i])
		}
		if err != nil {
			return Plate{}, fmt.Errorf("plate %q: %s: %w", s, name, err)
		}
		mm[i] = v
	}
	return Plate{Width: mm[0], Depth: mm[1], Height: mm[2]}, nil
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
