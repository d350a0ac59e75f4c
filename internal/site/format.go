package site

import (
	"fmt"
	"math"
	"strings"

	"cardback/internal/mesh"
	"cardback/internal/words"
)

// Spaces that do not break: thin between the groups of a number and before a
// unit, so that neither is parted from what it belongs to.
const (
	thin  = "\u202f"
	minus = "\u2212"
	times = thin + "×" + thin
)

// set is a number as pages show it: a true minus, and thin spaces between groups of
// three digits from ten thousand up.
func set(text string) string {
	text, negative := strings.CutPrefix(text, "-")
	whole, decimals, hasPoint := strings.Cut(text, ".")
	if len(whole) > 4 {
		var groups []string
		for len(whole) > 3 {
			groups = append([]string{whole[len(whole)-3:]}, groups...)
			whole = whole[:len(whole)-3]
		}
		whole += thin + strings.Join(groups, thin)
	}
	if hasPoint {
		whole += "." + decimals
	}
	if negative {
		return minus + whole
	}
	return whole
}

// number is a measured number with so many decimals.
func number(v float64, decimals int) string { return set(words.Fixed(v, decimals)) }

// trimmed is number without zeros at the end.
func trimmed(v float64, decimals int) string { return set(words.Rounded(v, decimals)) }

func count(n int) string { return number(float64(n), 0) }

// joined puts a unit next to its number: they are never parted at the end of a line.
func joined(text string) string {
	for _, unit := range []string{"bytes", "KiB", "MiB", "min", "h", "%"} {
		text = strings.ReplaceAll(text, " "+unit, thin+unit)
	}
	return text
}

// units writes lengths the way the site asks for: millimetres alone, or with
// inches in a second string.
type units struct{ inches bool }

// length is v mm to a tenth, with inches to a hundredth where shown.
func (u units) length(v float64) string {
	s := number(v, 1) + thin + "mm"
	if u.inches {
		s += " (" + number(v/25.4, 2) + thin + "in)"
	}
	return s
}

// plain is a length as declared on the bench: no more decimals than it needs.
func plain(v float64) string { return trimmed(v, 2) + thin + "mm" }

func (u units) plain(v float64) string {
	s := plain(v)
	if u.inches {
		s += " (" + trimmed(v/25.4, 3) + thin + "in)"
	}
	return s
}

func sizeMM(v mesh.Vec) string {
	return number(v.X, 1) + times + number(v.Y, 1) + times + number(v.Z, 1)
}

func sizeIn(v mesh.Vec) string {
	return number(v.X/25.4, 2) + times + number(v.Y/25.4, 2) + times + number(v.Z/25.4, 2)
}

// tied keeps a written unit with its number: "rod 1.5 mm" does not break there.
func tied(name string) string { return strings.ReplaceAll(name, " mm", "\u00a0mm") }

// volume is mm³ shown in cm³, to three digits or to whole cm³.
func volume(mm3 float64) string { return set(words.Three(mm3/1000, 3)) + thin + "cm³" }

func fileSize(n int64) string { return joined(words.Bytes(n)) }

func percent(scale float64) string { return number(math.Floor(scale*100), 0) + thin + "%" }

func degrees(v float64) string { return trimmed(v, 1) + "°" }

func releaseNumber(n int) string { return fmt.Sprintf("%02d", n) }

// plural puts how many before the noun's form for it.
func plural(n int, one, many string) string { return count(n) + " " + words.Noun(n, one, many) }

// short is the beginning of a hash: enough to tell two meshes of a site apart
// by eye, never used to compare them.
func short(hash string) string {
	if len(hash) > 12 {
		return hash[:12]
	}
	return hash
}

// significant is an estimate to three digits, of which two stand after the point.
func significant(v float64) string { return set(words.Three(v, 2)) }

// duration is a time that a person plans by; empty where it is not known.
func duration(seconds float64) string { return joined(words.Duration(seconds)) }
