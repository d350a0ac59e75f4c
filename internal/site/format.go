package site

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"cardback/internal/mesh"
)

// Spaces that do not break: thin between the groups of a number and before a
// unit, so that neither is parted from what it belongs to.
const (
	thin  = "\u202f"
	minus = "\u2212"
	times = thin + "×" + thin
)

// number writes v with the given decimals, a true minus, and thin spaces
// between groups of three from ten thousand up.
func number(v float64, decimals int) string {
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	whole, frac, _ := strings.Cut(s, ".")
	if len(whole) > 4 {
		var groups []string
		for len(whole) > 3 {
			groups = append([]string{whole[len(whole)-3:]}, groups...)
			whole = whole[:len(whole)-3]
		}
		whole += thin + strings.Join(groups, thin)
	}
	if frac != "" {
		whole += "." + frac
	}
	if v < 0 && strings.Trim(s, "0.") != "" {
		return minus + whole
	}
	return whole
}

// trimmed is number without trailing zeros after the point.
func trimmed(v float64, decimals int) string {
	s := number(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

func count(n int) string { return number(float64(n), 0) }

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

// volume is mm³ shown in cm³, to three significant figures or whole cm³.
func volume(mm3 float64) string {
	v := mm3 / 1000
	decimals := 0
	switch a := math.Abs(v); {
	case a < 1:
		decimals = 3
	case a < 10:
		decimals = 2
	case a < 100:
		decimals = 1
	}
	return number(v, decimals) + thin + "cm³"
}

// fileSize uses multiples of 1024, as operating systems mostly show them.
func fileSize(n int64) string {
	switch {
	case n < 1024:
		return number(float64(n), 0) + thin + "bytes"
	case n < 1024*1024:
		return number(float64(n)/1024, 0) + thin + "KiB"
	default:
		return number(float64(n)/(1024*1024), 1) + thin + "MiB"
	}
}

func percent(scale float64) string { return number(math.Floor(scale*100), 0) + thin + "%" }

func degrees(v float64) string { return trimmed(v, 1) + "°" }

// day is a date in words; machine is the same for attributes.
func day(t time.Time) string     { return t.Format("2 January 2006") }
func machine(t time.Time) string { return t.Format("2006-01-02") }

func releaseNumber(n int) string { return fmt.Sprintf("%02d", n) }

// plural picks the noun's form for n and puts n before it.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return count(n) + " " + many
}

// short is the beginning of a hash: enough to tell two meshes of a site apart
// by eye, never used to compare them.
func short(hash string) string {
	if len(hash) > 12 {
		return hash[:12]
	}
	return hash
}
