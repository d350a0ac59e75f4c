package verdict

import (
	"fmt"
	"math"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/measure/shadow"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// What a release knows about the units of its files beside each file's own size. A
// whole release in another unit is too small for its stated height; one file among
// others is a known multiple smaller than what is otherwise the same as it.
const (
	// cutLike and twinLike are by what share the extents of two meshes may differ to
	// be taken for those of one shape at two sizes: two cuts of a part differ where
	// they are split and snapped, twins by the rounding of their files.
	cutLike, twinLike = 0.1, 0.005
	// oddOut is how many times smaller a part is than each of leastSiblings others or
	// more when it stands out, if in another unit it would be among them, or half as
	// large as the smallest.
	oddOut, leastSiblings = 4, 3
	// reach is how much of the stated height all different parts end to end have to
	// make. In one line they would make all of it; rods and wire add some.
	// Above mostReach times it a unit is not named: figures have some dozens of parts.
	reach, mostReach = 0.5, 50
	// heightLike is by what share a pose's height in another unit may differ from the
	// stated one: heights are stated in round numbers.
	heightLike = 0.1
)

// unitOfLength is one that a file may be in, of so many mm.
type unitOfLength struct {
	name string
	mm   float64
}

var otherUnits = []unitOfLength{{"centimetres", 10}, {"inches", 25.4}, {"metres", 1000}}

// sizedCut is a measured cut with its extents, the least first.
type sizedCut struct {
	part    release.Part
	cut     release.Cut
	report  *measure.Report
	extents [3]float64
}

func (c sizedCut) largest() float64 { return c.extents[2] }

func sizedCuts(r release.Release, s survey.Survey) []sizedCut {
	var out []sizedCut
	for _, p := range r.Parts {
		for _, c := range p.Cuts {
			if cs, ok := s.Measured(c); ok && cs.Report != nil {
				size := cs.Report.Bounds.Size()
				e := [3]float64{size.X, size.Y, size.Z}
				slices.Sort(e[:])
				if e[2] > 0 {
					out = append(out, sizedCut{p, c, cs.Report, e})
				}
			}
		}
	}
	return out
}

// unitFindings says which files of a release may be in another unit than millimetres,
// by its stated height, its pose, what its parts take, and its other files.
func unitFindings(r release.Release, s survey.Survey) []Finding {
	cuts := sizedCuts(r, s)
	var out []Finding
	if f, ok := partsAgainstHeight(r, cuts); ok {
		return []Finding{f} // of all files, so that none stands out among the others
	}
	for i, c := range cuts {
		text, level := besideSiblings(cuts, i)
		if text == "" {
			text, level = besideRods(c)
		}
		if text == "" {
			text, level = oddOneOut(cuts, i)
		}
		if text != "" {
			out = append(out, Finding{Release: r.Number, Part: c.part.Slug, Cut: c.cut.Kind, File: c.cut.Rel,
				Finding: measure.Finding{Level: level, Code: "other-unit", Text: text}})
		}
	}
	if f, ok := poseAgainstHeight(r, s); ok {
		out = append(out, f)
	}
	return out
}

// partsAgainstHeight holds all parts of different shapes, laid end to end, against the
// stated height.
func partsAgainstHeight(r release.Release, cuts []sizedCut) (Finding, bool) {
	if r.Height == 0 || len(cuts) == 0 {
		return Finding{}, false
	}
	var shapes []sizedCut
	sum := 0.0
	for _, c := range cuts {
		if slices.ContainsFunc(shapes, func(o sizedCut) bool { return alike(c, o, 1, 2*twinLike) || o.part.Slug == c.part.Slug }) {
			continue
		}
		shapes = append(shapes, c)
		e := c.extents
		sum += math.Sqrt(e[0]*e[0] + e[1]*e[1] + e[2]*e[2])
	}
	if sum >= reach*r.Height {
		return Finding{}, false
	}
	hint := ""
	var made []string
	for _, u := range otherUnits {
		if in := sum * u.mm; in >= reach*r.Height && in <= mostReach*r.Height {
			made = append(made, fmt.Sprintf("%s mm in %s", words.Plain(math.Round(in)), u.name))
		}
	}
	if len(made) > 0 {
		hint = fmt.Sprintf(" They would make %s.", words.Or(made))
	}
	return Finding{Release: r.Number, Finding: measure.Finding{Level: measure.Caution, Code: "other-unit",
		Text: fmt.Sprintf("All different parts laid end to end make %s mm, and the release is stated to be %s mm high: the files may be in another unit than millimetres.%s", words.Fixed(sum, 1), words.Plain(r.Height), hint)}}, true
}

// alike reports whether a, made times as large, has the extents of b to within a share.
func alike(a, b sizedCut, times, within float64) bool {
	for k := range 3 {
		if !near(a.extents[k]*times, b.extents[k], within) {
			return false
		}
	}
	return true
}

func near(a, b, within float64) bool { return math.Abs(a-b) <= within*math.Max(a, b) }

// besideSiblings looks for another cut, or another part, of which this is a copy in
// another unit.
func besideSiblings(cuts []sizedCut, i int) (string, measure.Level) {
	c := cuts[i]
	for _, u := range otherUnits {
		for j, o := range cuts {
			if j == i {
				continue
			}
			same := o.part.Slug == c.part.Slug
			if same && alike(c, o, u.mm, cutLike) || !same && alike(c, o, u.mm, twinLike) {
				what := fmt.Sprintf("%s's cut for %s", o.part.Name, o.cut.Kind)
				if !same {
					what = o.part.Name
				}
				return fmt.Sprintf("Its largest extent is %s mm; in %s it would be %s mm, and all its extents those of %s: the file may be in %s.",
					words.Fixed(c.largest(), 2), u.name, words.Fixed(c.largest()*u.mm, 1), what, u.name), measure.Caution
			}
		}
	}
	return "", ""
}

// besideRods looks for the rods that the part takes: none of its holes is near their
// size, and in another unit some would be.
func besideRods(c sizedCut) (string, measure.Level) {
	for _, use := range c.part.Takes {
		d := use.Item.Diameter
		if use.Item.Kind != bench.Rod || d == 0 {
			continue
		}
		// From a press fit to a hole printed for a loose pivot.
		fits := func(times float64) bool {
			return slices.ContainsFunc(c.report.Bores.Holes, func(h bore.Hole) bool { return h.Diameter*times >= d-0.1 && h.Diameter*times <= d+0.6 })
		}
		if fits(1) {
			continue
		}
		for _, u := range otherUnits {
			if fits(u.mm) {
				return fmt.Sprintf("It takes a %s mm rod, no hole of it is near that size, and in %s one would be: the file may be in %s.", words.Plain(d), u.name, u.name), measure.Caution
			}
		}
	}
	return "", ""
}

// oddOneOut looks whether the part is many times smaller than all others, and in
// another unit among them.
func oddOneOut(cuts []sizedCut, i int) (string, measure.Level) {
	c := cuts[i]
	least, most, others := math.Inf(1), 0.0, map[string]bool{}
	for _, o := range cuts {
		if o.part.Slug != c.part.Slug {
			least, most = min(least, o.largest()), max(most, o.largest())
			others[o.part.Slug] = true
		}
	}
	if len(others) < leastSiblings || c.largest()*oddOut > least {
		return "", ""
	}
	for _, u := range otherUnits {
		if in := c.largest() * u.mm; in >= least/2 && in <= most*(1+heightLike) {
			return fmt.Sprintf("Its largest extent is %s mm, and that of the smallest other part %s mm; in %s it would be %s mm, as the others are: look whether the file is in millimetres.",
				words.Fixed(c.largest(), 2), words.Fixed(least, 1), u.name, words.Fixed(in, 1)), measure.Note
		}
	}
	return "", ""
}

// poseAgainstHeight looks whether the pose has the stated height in another unit.
func poseAgainstHeight(r release.Release, s survey.Survey) (Finding, bool) {
	if r.Pose == nil || r.Height == 0 {
		return Finding{}, false
	}
	cs, ok := s.Measured(*r.Pose)
	if !ok || cs.Drawing[shadow.Front] == nil {
		return Finding{}, false
	}
	high := cs.Drawing[shadow.Front].Height
	for _, u := range otherUnits {
		if near(high*u.mm, r.Height, heightLike) {
			return Finding{Release: r.Number, File: r.Pose.Rel, Finding: measure.Finding{Level: measure.Caution, Code: "other-unit",
				Text: fmt.Sprintf("The pose is %s mm high; in %s it would be %s mm, and the release is stated to be %s mm high: the file may be in %s.", words.Fixed(high, 2), u.name, words.Fixed(high*u.mm, 1), words.Plain(r.Height), u.name)}}, true
		}
	}
	return Finding{}, false
}
