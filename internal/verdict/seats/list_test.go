package seats_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/mesh"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict/hardware"
	"cardback/internal/verdict/seats"
)

var (
	brass   = bench.Hardware{ID: "brass", Name: "Brass rod", Kind: bench.Rod, Diameter: 1.5, StockLength: 100, Kerf: 1}
	inchRod = bench.Hardware{ID: "inch", Name: "Rod, 1/16 in", Kind: bench.Rod, Diameter: 1.5875, StockLength: 304.8}
	cord    = bench.Hardware{ID: "cord", Name: "Cord", Kind: bench.Cord, Diameter: .8, StockLength: 5000}
	disc    = bench.Hardware{ID: "disc", Name: "Disc magnet", Kind: bench.Magnet, Diameter: 3, Thickness: 1}
	glue    = bench.Hardware{ID: "glue", Name: "Glue", Kind: bench.Adhesive}
)

func takes(item bench.Hardware, count int, cut float64, where string) release.HardwareUse {
	return release.HardwareUse{Item: item, Count: count, Cut: cut, Where: where}
}

// blind is a hole with a floor along Z, through one without, both at x.
func blind(group int, x, depth float64) bore.Hole {
	return bore.Hole{Axis: mesh.Vec{Z: 1}, Centre: mesh.Vec{X: x}, Depth: depth, Diameter: 1.66, Free: 1.65, Group: group, Open: [2]bool{true, false}}
}

func through(group int, x, depth float64) bore.Hole {
	h := blind(group, x, depth)
	h.Through, h.Open[1] = true, true
	return h
}

// ears is a hinge's fork: two holes of the given depth on one axis, gap apart.
func ears(group int, x, depth, gap float64) []bore.Hole {
	a, b := through(group, x, depth), through(group+1, x, depth)
	a.Centre.Z, b.Centre.Z = -(gap+depth)/2, (gap+depth)/2
	return []bore.Hole{a, b}
}

// lidded is a fork of which the upper ear has a floor.
func lidded(group int, x, depth, gap float64) []bore.Hole {
	e := ears(group, x, depth, gap)
	e[1].Through, e[1].Open[1] = false, false
	return e
}

// fixture is one release whose cuts have holes that are stated by hand.
type fixture struct {
	site release.Site
	s    survey.Survey
}

func newFixture() *fixture {
	return &fixture{
		site: release.Site{
			Bench: bench.Bench{Materials: []bench.Material{
				{ID: "resin", Process: bench.Resin, Stiffness: bench.Rigid},
				{ID: "soft-resin", Process: bench.Resin, Stiffness: bench.Flexible},
				{ID: "filament", Process: bench.Filament, Stiffness: bench.Rigid},
			}},
			Releases: []release.Release{{Number: 1}},
		},
		s: survey.Survey{},
	}
}

// add gives the release a part with the given cuts.
func (f *fixture) add(p release.Part, kinds ...release.CutKind) {
	for _, k := range kinds {
		c := release.Cut{Kind: k, Rel: p.Slug + "/" + string(k)}
		p.Cuts = append(p.Cuts, c)
		f.s[c.Rel] = &survey.CutSurvey{Cut: c, Report: &measure.Report{}}
	}
	r := &f.site.Releases[0]
	r.Parts = append(r.Parts, p)
}

// holed adds a part with one cut for all, in which these holes were found.
func (f *fixture) holed(p release.Part, holes ...bore.Hole) {
	if p.Quantity == 0 {
		p.Quantity = 1
	}
	if p.Name == "" {
		p.Name = strings.ToUpper(p.Slug[:1]) + p.Slug[1:]
	}
	f.add(p, release.CutAny)
	f.s[p.Slug+"/any"].Report.Bores.Holes = holes
}

// found lists the findings about the release as a whole.
func (f *fixture) found() []measure.Finding {
	r := f.site.Releases[0]
	return seats.OfRelease(&f.site, r, f.s, hardware.Of(r))
}

// said lists their codes and texts.
func (f *fixture) said() []string {
	var out []string
	for _, x := range f.found() {
		out = append(out, x.Code+": "+x.Text)
	}
	return out
}

func TestTheListAndThePartsMayContradictEachOther(t *testing.T) {
	list := func(uses ...release.HardwareUse) []release.HardwareUse { return uses }
	for _, c := range []struct {
		name  string
		list  []release.HardwareUse
		parts []release.Part
		want  []string
	}{
		{"a rod that joins two parts is in the notes of both", list(takes(brass, 1, 20, "elbow")),
			[]release.Part{{Slug: "a", Takes: list(takes(brass, 1, 0, ""))}, {Slug: "b", Takes: list(takes(brass, 1, 0, ""))}}, nil},
		{"not in the list", list(takes(glue, 1, 0, "")), []release.Part{{Slug: "a", Quantity: 3, Takes: list(takes(brass, 2, 0, ""))}},
			[]string{"hardware-missing: The parts take 6 pieces of Brass rod, and the hardware list has none."}},
		{"no list at all", nil, []release.Part{{Slug: "a", Takes: list(takes(brass, 2, 0, ""))}}, nil},
		{"more than anything takes", list(takes(brass, 5, 20, "")), []release.Part{{Slug: "a", Takes: list(takes(brass, 2, 0, ""))}},
			[]string{"hardware-count: The hardware list has 5 pieces of Brass rod and the parts take 2: one is in no part's notes, or too many are in the list."}},
		{"one part alone takes more", list(takes(brass, 1, 20, "")), []release.Part{{Slug: "a", Takes: list(takes(brass, 1, 0, "x"), takes(brass, 1, 0, "y"))}},
			[]string{"hardware-count: The hardware list has 1 piece of Brass rod and one A alone takes 2."}},
		{"magnets sit in one pocket each", list(takes(disc, 2, 0, "")), []release.Part{{Slug: "a", Takes: list(takes(disc, 1, 0, ""))}, {Slug: "b", Quantity: 2, Takes: list(takes(disc, 1, 0, ""))}},
			[]string{"hardware-count: The hardware list has 2 of Disc magnet and the parts take 3."}},
		{"another length", list(takes(brass, 1, 20, ""), takes(brass, 1, 9, "")), []release.Part{{Slug: "a", Takes: list(takes(brass, 1, 27, ""))}, {Slug: "b", Takes: list(takes(brass, 1, 0, ""))}},
			[]string{"hardware-cut: A takes a piece of 27 mm of Brass rod, and the hardware list has no piece of that length; it has 20 mm and 9 mm."}},
		{"longer than what is sold", list(takes(brass, 1, 101, "")), []release.Part{{Slug: "a"}},
			[]string{"hardware-length: A piece of 101 mm of Brass rod is longer than the 100 mm in which it is sold."}},
		{"parts that say nothing contradict nothing", list(takes(brass, 9, 20, "")), []release.Part{{Slug: "a"}}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newFixture()
			f.site.Releases[0].Hardware = c.list
			for _, p := range c.parts {
				f.holed(p)
			}
			require.Equal(t, c.want, f.said())
			for _, x := range f.found() {
				require.Equal(t, measure.Caution, x.Level)
			}
		})
	}
}

func TestRodsAgainstTheHolesTheyJoin(t *testing.T) {
	type part struct {
		release.Part
		holes []bore.Hole
	}
	named := func(slug, where string, count int, holes ...bore.Hole) part {
		return part{release.Part{Slug: slug, Takes: []release.HardwareUse{takes(brass, count, 0, where)}}, holes}
	}
	choice := func(p part) part { p.Choice = "hat"; return p }
	for _, c := range []struct {
		name  string
		cut   float64
		count int
		where string
		parts []part
		want  string
	}{
		{"between two floors", 11.5, 1, "neck", []part{named("head", "neck", 1, blind(0, 0, 6.6)), named("torso", "neck", 1, blind(0, 0, 5.2))}, ""},
		{"the gap of a joint is room", 12.3, 1, "neck", []part{named("head", "neck", 1, blind(0, 0, 6.6)), named("torso", "neck", 1, blind(0, 0, 5.2))}, ""},
		{"too long between two floors", 14.3, 1, "Necks", []part{named("head", "neck", 1, blind(0, 0, 6.6)), named("torso", "neck", 1, blind(0, 0, 5.2))},
			"rod-too-long: The 14.3 mm piece of Brass rod (Necks) is too long: Head and Torso have 11.8 mm for it between the floors of their holes, so they stand 2.5 mm apart."},
		{"the deepest hole excuses", 14.3, 1, "neck", []part{named("head", "neck", 1, blind(0, 0, 6.6)), named("torso", "neck", 1, blind(0, 0, 5.2), blind(1, 9, 8))}, ""},
		{"an open hole lets it stand out", 14.3, 1, "neck", []part{named("head", "neck", 1, blind(0, 0, 6.6)), named("torso", "neck", 1, through(0, 0, 5.2))},
			"rod-stands-out: The 14.3 mm piece of Brass rod (neck) is longer than the holes it could use: Head and Torso have 11.8 mm for it in all, so it stands out by 2.5 mm. Cut it shorter, or deepen a hole."},
		{"no longer than its holes and half a millimetre at each gap and open end", 12.8, 1, "neck", []part{named("head", "neck", 1, blind(0, 0, 6.6)), named("torso", "neck", 1, through(0, 0, 5.2))}, ""},
		{"one part alone says nothing of the rest of it", 30, 1, "mast", []part{named("hull", "mast", 1, blind(0, 0, 5.2))}, ""},
		{"through an ear to a floor in the other", 9.8, 1, "knee", []part{named("thigh", "knee", 1, lidded(0, 0, 1.9, 4)...), named("shin", "knee", 1, through(2, 0, 3.6))}, ""},
		{"through one part into two", 21, 1, "shoulder", []part{named("robe", "shoulder", 1, through(0, 0, 20.4)), named("left", "shoulder", 1, blind(0, 0, 4)), named("right", "shoulder", 1, blind(0, 0, 4))},
			"rod-too-short: The 21 mm piece of Brass rod (shoulder) is too short: Robe, Left and Right need at least 21.9 mm for it to hold at both ends."},
		{"it holds by half its diameter", 21.9, 1, "shoulder", []part{named("robe", "shoulder", 1, through(0, 0, 20.4)), named("left", "shoulder", 1, blind(0, 0, 4)), named("right", "shoulder", 1, blind(0, 0, 4))}, ""},
		{"from ear to ear", 5.5, 1, "knee", []part{named("thigh", "knee", 1, ears(0, 0, 1.9, 4)...), named("shin", "knee", 1, through(0, 0, 3.6))}, ""},
		{"not from ear to ear", 5.4, 1, "knee", []part{named("thigh", "hip and knee", 2, append(ears(0, 0, 1.9, 4), through(2, 20, 8))...), named("shin", "knee", 1, through(0, 0, 3.6))},
			"rod-too-short: The 5.4 mm piece of Brass rod (knee) is too short: Thigh and Shin need at least 5.5 mm for it to hold at both ends."},
		{"out of the ears", 9.8, 1, "knee", []part{named("thigh", "hip and knee", 2, append(ears(0, 0, 1.9, 4), through(2, 20, 8))...), named("shin", "knee", 1, through(0, 0, 3.6))},
			"rod-stands-out: The 9.8 mm piece of Brass rod (knee) is longer than the hinge of Thigh and Shin, which is 7.8 mm across: it stands out by 2.0 mm."},
		{"no hinge: the tongue is wider than the gap", 5, 1, "knee", []part{named("thigh", "hip and knee", 2, append(ears(0, 0, 1.9, 4), through(2, 20, 8))...), named("shin", "knee", 1, through(0, 0, 4.4))}, ""},
		{"each of a choice is held against it", 8, 1, "crown and hat", []part{named("head", "crown", 1, blind(0, 0, 4.4)), choice(named("cap", "crown", 1, blind(0, 0, 4))), choice(named("hat", "crown", 1, blind(0, 0, 2.5)))},
			"rod-too-long: The 8 mm piece of Brass rod (crown and hat) is too long: Head and Hat have 6.9 mm for it between the floors of their holes, so they stand 1.1 mm apart."},
		{"copies share the rods", 14.3, 2, "neck", []part{{release.Part{Slug: "head", Quantity: 2, Takes: []release.HardwareUse{takes(brass, 1, 0, "neck")}}, []bore.Hole{blind(0, 0, 6.6)}}, named("torso", "neck", 2, blind(0, 0, 5.2), blind(1, 9, 5.2))},
			"rod-too-long: The 14.3 mm piece of Brass rod (neck) is too long: Head and Torso have 11.8 mm for it between the floors of their holes, so they stand 2.5 mm apart."},
		{"copies that do not share out say nothing", 14.3, 2, "neck", []part{named("head", "neck", 1, blind(0, 0, 6.6)), named("torso", "neck", 1, blind(0, 0, 5.2))}, ""},
		{"another place says nothing", 30, 1, "waist", []part{named("head", "neck", 1, blind(0, 0, 6.6)), named("torso", "neck", 1, blind(0, 0, 5.2))}, ""},
		{"a part without a hole says nothing here", 30, 1, "neck", []part{named("head", "neck", 1, blind(0, 0, 6.6)), named("torso", "neck", 1)}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := newFixture()
			f.site.Releases[0].Hardware = []release.HardwareUse{takes(brass, c.count, c.cut, c.where)}
			for _, p := range c.parts {
				f.holed(p.Part, p.holes...)
			}
			var got []string
			for _, s := range f.said() {
				if strings.HasPrefix(s, "rod-") {
					got = append(got, s)
				}
			}
			if c.want == "" {
				require.Empty(t, got)
				return
			}
			require.Equal(t, []string{c.want}, got)
		})
	}
}

func TestAFindingOfOneProcessSaysSo(t *testing.T) {
	f := newFixture()
	f.site.Releases[0].Hardware = []release.HardwareUse{takes(brass, 1, 14.3, "neck")}
	f.holed(release.Part{Slug: "head", Takes: []release.HardwareUse{takes(brass, 1, 0, "neck")}}, blind(0, 0, 6.6))
	f.add(release.Part{Slug: "torso", Name: "Torso", Quantity: 1, Takes: []release.HardwareUse{takes(brass, 1, 0, "neck")}}, release.CutFor(bench.Filament), release.CutFor(bench.Resin))
	f.s["torso/resin"].Report.Bores.Holes = []bore.Hole{blind(0, 0, 5.2)}
	f.s["torso/filament"].Report.Bores.Holes = []bore.Hole{blind(0, 0, 8)}
	require.Len(t, f.said(), 1)
	require.True(t, strings.HasSuffix(f.said()[0], "2.5 mm apart. (Found in the cuts for resin.)"), f.said()[0])
}

func TestHolesAreCountedAndWideOnesNamed(t *testing.T) {
	f := newFixture()
	f.site.Bench.Materials[0].HoleAllowance = .15
	wide := blind(1, 9, 5)
	wide.Free, wide.Diameter = 2, 2.02
	about := func(slug string) []string {
		var out []string
		for _, p := range f.site.Releases[0].Parts {
			if p.Slug != slug {
				continue
			}
			meant := printing.Meant(f.site.Releases[0], p, p.Cuts[0], f.site.Bench.Materials)
			for _, item := range seats.Of(p, f.s.Of(p.Cuts[0]).Report.Bores, meant) {
				for _, x := range item.Findings(slices.Contains(p.Snaps, p.Cuts[0].Kind), meant) {
					out = append(out, fmt.Sprintf("%s %s: %s", x.Level, x.Code, x.Text))
				}
			}
		}
		return out
	}
	rod := func(n int) []release.HardwareUse { return []release.HardwareUse{takes(brass, n, 0, "")} }
	f.holed(release.Part{Slug: "short", Takes: rod(3)}, blind(0, 0, 5), through(1, 9, 5))
	require.Equal(t, []string{"caution too-few-holes: The part takes 3 of 1.5 mm rod and has 2 round holes of that size: others may lie in open sockets or channels, which are not measured, or be missing."}, about("short"))
	f.holed(release.Part{Slug: "snapping", Snaps: []release.CutKind{release.CutAny}, Takes: rod(2)}, blind(0, 0, 5))
	require.Len(t, about("snapping"), 1)
	require.True(t, strings.HasPrefix(about("snapping")[0], "note too-few-holes"))
	// 2.00 is more than 1.5, the allowance of 0.15 and 0.3 of play.
	f.holed(release.Part{Slug: "wobbly", Takes: rod(2)}, blind(0, 0, 5), wide)
	require.Equal(t, []string{"caution hole-wide: The hole for the 1.5 mm rod at (9.0, 0.0, 0.0) is 2.00 mm wide, 0.50 mm over the rod: it wobbles. Take a thicker rod, or line the hole."}, about("wobbly"))
	f.holed(release.Part{Slug: "other", Takes: rod(1)}, blind(0, 0, 5), wide)
	require.Empty(t, about("other"), "the wide hole is for something else")
	f.holed(release.Part{Slug: "pair", Takes: rod(2)}, func() []bore.Hole { h := ears(0, 0, 2, 4); h[0].Through = false; return h }()...)
	require.Empty(t, about("pair"), "two holes on one line may have a rod each")
}
