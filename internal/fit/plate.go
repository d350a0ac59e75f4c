package fit

import (
	"fmt"
	"strings"

	"cardback/internal/fields"
	"cardback/internal/words"
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
	if p.Round {
		return "⌀" + words.Plain(p.Width) + " × " + words.Plain(p.Height)
	}
	return words.Plain(p.Width) + " × " + words.Plain(p.Depth) + " × " + words.Plain(p.Height)
}

// String writes the plate as ParsePlate reads it, in mm: "68x120x155". What
// ParsePlate cannot say follows in brackets: "180x180x200 (round, margin 2)".
func (p Plate) String() string {
	s := words.Plain(p.Width) + "x" + words.Plain(p.Depth) + "x" + words.Plain(p.Height)
	var more []string
	if p.Round {
		more = append(more, "round")
	}
	if p.Margin != 0 {
		more = append(more, "margin "+words.Plain(p.Margin))
	}
	if more != nil {
		s += " (" + strings.Join(more, ", ") + ")"
	}
	return s
}
