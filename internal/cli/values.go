package cli

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"cardback/internal/fields"
	"cardback/internal/mesh"
)

// length is a flag's value in mm, written as the notes write lengths.
type length float64

func (l *length) String() string { return strconv.FormatFloat(float64(*l), 'g', -1, 64) }
func (l *length) Type() string   { return "length" }
func (l *length) Set(s string) error {
	mm, err := fields.ParseLength(s)
	*l = length(mm)
	return err
}

// angle is a flag's value in degrees.
type angle float64

func (a *angle) String() string { return strconv.FormatFloat(float64(*a), 'g', -1, 64) }
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
	return strconv.FormatFloat(float64(*f), 'g', -1, 64)
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

// number writes a measure to a hundredth, and a small one to four digits.
func number(v float64) string {
	if a := math.Abs(v); a != 0 && a < 1 {
		return strconv.FormatFloat(v, 'g', 4, 64)
	}
	return hundredths(v)
}

// about writes an estimate, to three digits before or after the point. What is below
// a thousandth of the unit no scale of a workshop shows.
func about(v float64) string {
	switch a := math.Abs(v); {
	case a > 0 && a < 0.001:
		return "less than 0.001"
	case a >= 100 || a == 0:
		return fixed(v, 0)
	case a >= 10:
		return fixed(v, 1)
	case a >= 1:
		return fixed(v, 2)
	default:
		return strconv.FormatFloat(v, 'g', 3, 64)
	}
}

// hundredths writes a measure for a column.
func hundredths(v float64) string { return fixed(v, 2) }

// tenths is as near as a place or an extent is found with a ruler.
func tenths(v float64) string { return fixed(v, 1) }

// fixed writes v with the given decimals, never as −0, and what is beyond all
// printing with seven digits.
func fixed(v float64, decimals int) string {
	if math.Abs(v) >= 1e10 {
		return strconv.FormatFloat(v, 'g', 7, 64)
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// plain writes a given length with the decimals it has, up to four.
func plain(v float64) string {
	return strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64)
}

// point writes a point to a hundredth, and one close to the origin to four
// digits.
func point(p mesh.Vec) string {
	of := hundredths
	if far := max(math.Abs(p.X), math.Abs(p.Y), math.Abs(p.Z)); far < 1 {
		of = func(v float64) string {
			if math.Abs(v) < 1e-9 {
				v = 0 // rounding
			}
			return number(v)
		}
	}
	return fmt.Sprintf("(%s, %s, %s)", of(p.X), of(p.Y), of(p.Z))
}

// place writes a point to a tenth, which finds it in any viewer, for a sheet.
func place(p mesh.Vec) string {
	return "(" + tenths(p.X) + "," + hard + tenths(p.Y) + "," + hard + tenths(p.Z) + ")"
}

// count writes "1 shell", "2 shells".
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
