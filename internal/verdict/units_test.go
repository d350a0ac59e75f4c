package verdict_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/draw"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict"
)

// sizes is a release whose parts have bounds alone, by slug.
type sizes struct {
	r release.Release
	s survey.Survey
}

func (z *sizes) add(slug string, kind release.CutKind, size mesh.Vec, takes ...release.HardwareUse) *measure.Report {
	c := release.Cut{Kind: kind, Rel: slug + "/" + string(kind)}
	rep := &measure.Report{Bounds: mesh.Box{Max: size}}
	if z.s == nil {
		z.s = survey.Survey{}
	}
	z.s[c.Rel] = &survey.CutSurvey{Cut: c, Report: rep}
	for i := range z.r.Parts {
		if p := &z.r.Parts[i]; p.Slug == slug {
			p.Cuts = append(p.Cuts, c)
			return rep
		}
	}
	z.r.Parts = append(z.r.Parts, release.Part{Slug: slug, Name: slug, Cuts: []release.Cut{c}, Takes: takes})
	return rep
}

// units are the files that are pointed out, "" for the release as a whole.
func (z *sizes) units() map[string]string {
	out := map[string]string{}
	for _, f := range verdict.Findings(&release.Site{Bench: bench.Bench{Materials: stocks}, Releases: []release.Release{z.r}}, z.s) {
		if f.Code == "other-unit" {
			out[f.File] = f.Text
		}
	}
	return out
}

func TestAFileInInchesAmongOthersIsPointedOut(t *testing.T) {
	in := func(v mesh.Vec) mesh.Vec { return v.Scale(1 / 25.4) }
	arm, leg, torso := mesh.Vec{X: 15, Y: 19, Z: 56}, mesh.Vec{X: 21, Y: 53, Z: 59.5}, mesh.Vec{X: 85, Y: 80, Z: 63}
	figure := func() *sizes {
		z := &sizes{r: release.Release{Number: 1, Height: 150}}
		z.add("arm", "any", arm)
		z.add("torso", "filament", torso)
		return z
	}

	z := figure()
	z.add("leg", "any", leg)
	z.add("torso", "resin", mesh.Vec{X: 85, Y: 76, Z: 60}) // split otherwise for resin
	require.Empty(t, z.units())

	z.add("torso", "flexible", in(mesh.Vec{X: 84, Y: 80, Z: 62}))
	require.Equal(t, map[string]string{"torso/flexible": "Its largest extent is 3.31 mm; in inches it would be 84.0 mm, and all its extents those of torso's cut for filament: the file may be in inches."}, z.units())

	z = figure()
	z.add("arm-left", "any", in(arm))
	require.Equal(t, []string{"arm-left/any"}, keys(z.units()), "a twin")

	z = figure()
	z.add("foot", "any", mesh.Vec{X: 58, Y: 72, Z: 24})
	z.add("leg", "any", in(leg))
	require.Equal(t, "Its largest extent is 2.34 mm, and that of the smallest other part 56.0 mm; in inches it would be 59.5 mm, as the others are: look whether the file is in millimetres.", z.units()["leg/any"])

	z = figure()
	use := release.HardwareUse{Item: rod(1.5), Count: 1}
	z.add("hinge", "any", mesh.Vec{X: 0.5, Y: 0.8, Z: 0.9}, use).Bores = bore.Report{Holes: []bore.Hole{{Diameter: 0.0625, Free: 0.062}}}
	require.Equal(t, "It takes a 1.5 mm rod, no hole of it is near that size, and in inches one would be: the file may be in inches.", z.units()["hinge/any"])
	z.s["hinge/any"].Report.Bores.Holes[0].Diameter = 0.03 // 0.76 mm in inches
	require.Empty(t, z.units())

	// All of them: (61.0 + 82.4 + 132.6)/25.4, the diagonals, make no figure of 150.
	z = &sizes{r: release.Release{Number: 1, Height: 150}}
	z.add("arm", "any", in(arm))
	z.add("leg", "any", in(leg))
	z.add("torso", "any", in(torso))
	require.Equal(t, map[string]string{"": "All different parts laid end to end make 10.9 mm, and the release is stated to be 150 mm high: the files may be in another unit than millimetres. They would make 109 mm in centimetres or 276 mm in inches."}, z.units())
	z.r.Height = 20
	require.Empty(t, z.units())

	z = figure()
	pose := release.Cut{Kind: release.CutPose, Rel: "pose"}
	z.r.Pose = &pose
	z.s["pose"] = &survey.CutSurvey{Cut: pose, Drawing: [3]*draw.Drawing{shadow.Front: {Height: 5.8}}}
	require.Equal(t, "The pose is 5.80 mm high; in inches it would be 147.3 mm, and the release is stated to be 150 mm high: the file may be in inches.", z.units()["pose"])
	z.s["pose"].Drawing[shadow.Front].Height = 148
	require.Empty(t, z.units())
}

func keys(m map[string]string) (out []string) {
	for k := range m {
		out = append(out, k)
	}
	return out
}

// The shared figures as releases of their stated heights (that the range they come
// from gives), by bounds alone, without what each file says by itself: the whole release
// in another unit, and each file by itself in another unit among the others in
// millimetres. No file in millimetres is pointed out. The table is in DEVELOPERS.md.
func TestAReleaseInAnotherUnitIsPointedOut(t *testing.T) {
	type file struct {
		name string
		size mesh.Vec
	}
	groups := map[string][]file{}
	meshtest.EachReference(t, func(t *testing.T, ref reference.File, m *mesh.Mesh) {
		group, name, _ := strings.Cut(ref.File, "/")
		if group == "walker-base" || group == "walker-armed" || group == "arm" {
			groups[group] = append(groups[group], file{name, m.Bounds().Size()})
		}
	})
	if len(groups) == 0 {
		t.Skip("the shared meshes are not here")
	}
	heights := map[string]float64{"walker-base": 150, "walker-armed": 150, "arm": 400}
	var missed []string
	whole, alone, all := map[string]int{}, map[string]int{}, 0
	for group, files := range groups {
		all += len(files)
		build := func(mm func(i int) float64) *sizes {
			z := &sizes{r: release.Release{Number: 1, Height: heights[group]}}
			for i, f := range files {
				z.add(f.name, "any", f.size.Scale(1/mm(i)))
			}
			return z
		}
		require.Empty(t, build(func(int) float64 { return 1 }).units())
		for name, mm := range map[string]float64{"centimetres": 10, "inches": 25.4, "metres": 1000} {
			if _, ok := build(func(int) float64 { return mm }).units()[""]; ok {
				whole[name] += len(files)
			}
			for wrong := range files {
				found := build(func(i int) float64 {
					if i == wrong {
						return mm
					}
					return 1
				}).units()
				if _, ok := found[files[wrong].name+"/any"]; ok {
					alone[name]++
					delete(found, files[wrong].name+"/any")
				} else {
					missed = append(missed, group+"/"+files[wrong].name+" in "+name)
				}
				require.Empty(t, found, fmt.Sprintf("%s beside %s in %s", group, files[wrong].name, name))
			}
		}
	}
	t.Logf("of %d: all wrong %v, one wrong %v, missed %v", all, whole, alone, missed)
	for _, name := range []string{"centimetres", "inches", "metres"} {
		require.Equal(t, all, whole[name], name)
	}
	require.GreaterOrEqual(t, alone["inches"]*100, 95*all)
	require.GreaterOrEqual(t, alone["metres"]*100, 95*all)
	require.GreaterOrEqual(t, alone["centimetres"]*100, 93*all) // 28 of 30
}
