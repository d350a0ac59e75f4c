package cli

import (
	"fmt"
	"strings"

	"cardback/internal/fields"
	"cardback/internal/mesh"
	"cardback/internal/words"
)

// length is a flag's value in mm, written as the notes write lengths.
type length float64

func (l *length) String() string { return words.Exact(float64(*l)) }
func (l *length) Type() string   { return "length" }
func (l *length) Set(s string) error {
	mm, err := fields.ParseLength(s)
	*l = length(mm)
	return err
}

// angle is a flag's value in degrees.
type angle float64

func (a *angle) String() string { return words.Exact(float64(*a)) }
func (a *angle) Type() string   { return "degrees" }
func (a *angle) Set(s string) error {
	degrees, err := fields.ParseAngle(s)
	*a = angle(degrees)
	return err
}

// scale is a flag's value as a factor, written as one or in per cent.
type scale float64

// leastScale and mostScale bound what is taken for a scale: figures are printed
// at a fifth to five times their size, and 110 without a per cent sign is a slip.
const leastScale, mostScale = 0.01, 20

func (f *scale) String() string {
	if *f == 0 {
		return ""
	}
	return words.Exact(float64(*f))
}
func (f *scale) Type() string { return "scale" }
func (f *scale) Set(s string) error {
	text, percent := strings.CutSuffix(strings.TrimSpace(s), "%")
	v, err := fields.ParseNumber(text)
	if err != nil {
		return fmt.Errorf("%q is not a scale; expected a percentage or a factor, such as 110%% or 1.1", s)
	}
	if percent {
		v /= 100
	}
	switch {
	case v >= leastScale && v <= mostScale:
	case !percent && v/100 >= leastScale && v/100 <= mostScale:
		return fmt.Errorf("scale %s would print %s times the size; did you mean %s%%?", s, s, s)
	default:
		return fmt.Errorf("scale %s is out of range; expected 1%% to 2000%%", s)
	}
	*f = scale(v)
	return nil
}

// about writes an estimate. No scale of a workshop shows what is below a thousandth of
// the unit.
func about(v float64) string {
	if v > 0 && v < 0.001 {
		return "less than 0.001"
	}
	return words.Three(v, 5)
}

// hundredths is a measure for a column.
func hundredths(v float64) string { return words.Fixed(v, 2) }

// tenths is as near as a place or an extent is found with a ruler.
func tenths(v float64) string { return words.Fixed(v, 1) }

// point is a measured point for a table.
func point(p mesh.Vec) string { return words.Point(p.X, p.Y, p.Z) }

// place is a point that is looked for on a screen; a line never breaks within it.
func place(p mesh.Vec) string { return strings.ReplaceAll(words.Place(p.X, p.Y, p.Z), " ", hard) }
