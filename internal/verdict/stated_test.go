package verdict_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/draw"
	"cardback/internal/measure/bore"
	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
	"cardback/internal/verdict"
	"cardback/internal/verdict/standing"
)

// stated are the findings of those codes, as "level code part: text".
func (f *fixture) stated(codes ...string) []string {
	var out []string
	for _, found := range verdict.Findings(&f.site, f.s) {
		for _, code := range codes {
			if found.Code == code {
				out = append(out, string(found.Level)+" "+found.File+" "+found.Text)
			}
		}
	}
	return out
}

func (f *fixture) poseOf(height float64) {
	pose := &release.Cut{Kind: release.CutPose, Rel: "pose.stl"}
	f.site.Releases[0].Pose = pose
	f.s[pose.Rel] = &survey.CutSurvey{Cut: *pose, Drawing: [3]*draw.Drawing{shadow.Front: {Height: height}}}
}

func TestAStatedHeightIsHeldAgainstTheFigure(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "arm", Name: "Arm", Quantity: 1}, everywhere, release.CutAny)
	f.add(release.Part{Slug: "leg", Name: "Leg", Quantity: 1}, everywhere, release.CutAny)
	r := &f.site.Releases[0]
	r.SourceFile = "releases/01-a/release.md"
	f.poseOf(20)
	for height, want := range map[float64][]string{
		0: nil, 20: nil, 21: nil, 19: nil,
		22:  {"caution releases/01-a/release.md The notes state a height of 22 mm, and the figure in pose.stl is 20 mm tall: state what was measured, or leave the height out."},
		300: {"fault releases/01-a/release.md The notes state a height of 300 mm, and the figure in pose.stl is 20 mm tall: one of the two is of another scale or in another unit."},
		2:   {"fault releases/01-a/release.md The notes state a height of 2 mm, and the figure in pose.stl is 20 mm tall: one of the two is of another scale or in another unit."},
	} {
		r.Height = height
		require.Equal(t, want, f.stated("height-differs"), height)
	}
	mm, from, ok := verdict.FigureOf(*r, f.s)
	require.True(t, ok)
	require.Equal(t, 20.0, mm)
	require.Equal(t, release.CutPose, from.Kind)

	// Without a pose: all pieces and hardware end to end.
	r.Pose = nil
	f.s["arm/any"].Report.Diameter, f.s["leg/any"].Report.Diameter = 30, 40
	r.Parts[1].Quantity = 2 // 30 + 2 × 40
	r.Height = 110
	require.Empty(t, f.stated("height-differs"))
	r.Height = 111
	require.Equal(t, []string{"fault releases/01-a/release.md The notes state a height of 111 mm, and all pieces and hardware laid end to end reach 110 mm: one of the two is of another scale or in another unit."}, f.stated("height-differs"))
	r.Hardware = []release.HardwareUse{{Item: bench.Hardware{ID: "rod", Kind: bench.Rod, Diameter: 1}, Count: 1, Cut: 50}}
	require.Empty(t, f.stated("height-differs"))
	r.Hardware[0].Cut, r.Height = 0, 500
	require.Empty(t, f.stated("height-differs"), "of a rod without a length nothing is known")
	_, _, ok = verdict.FigureOf(*r, f.s)
	require.False(t, ok)

	// One part need not stand in its file.
	r.Hardware, r.Parts = nil, r.Parts[:1]
	f.s["arm/any"].Report.Bounds = mesh.Box{Max: mesh.Vec{X: 60, Y: 10, Z: 20}}
	for height, n := range map[float64]int{60: 0, 20: 0, 10: 0, 40: 1, 600: 1} {
		r.Height = height
		require.Len(t, f.stated("height-differs"), n, height)
	}
	f.s["arm/any"].Err = errors.New("gone")
	require.Empty(t, f.stated("height-differs"))
}

func TestTheSameMeshTwiceIsPointedOut(t *testing.T) {
	f := newFixture()
	f.add(release.Part{Slug: "arm", Name: "Arm"}, everywhere, release.CutFor(bench.Filament), release.CutFor(bench.Resin))
	f.add(release.Part{Slug: "leg", Name: "Leg"}, everywhere, release.CutAny)
	require.Empty(t, f.stated("same-mesh", "same-cuts"))
	f.s["leg/any"].Report.Fingerprint = "arm/filament"
	require.Equal(t, []string{"caution leg/any The mesh is the very one of Arm: one of the two may be a copy that was never replaced. If both are meant, one part with a higher quantity would do."}, f.stated("same-mesh", "same-cuts"))
	f.s["leg/any"].Report.Fingerprint, f.s["arm/resin"].Report.Fingerprint = "leg/any", "arm/filament"
	require.Equal(t, []string{"note arm/resin The resin cut has the very mesh of the filament cut: if that is meant, one mesh named any would do."}, f.stated("same-mesh", "same-cuts"))
}

func TestAPartOfTheLogThatNobodyKnowsIsPointedOut(t *testing.T) {
	f := newFixture()
	f.site.Releases[0].SourceFile = "releases/01-a/release.md"
	f.add(release.Part{Slug: "arm", Name: "Arm"}, everywhere, release.CutAny)
	f.sealed("A", "old-arm/any=before")
	f.logged(1, "resin", release.Good, "arm/any")
	f.logged(2, "resin", release.Good, "old-arm/any=before")     // it was sealed
	f.logged(3, "resin", release.Good, "sleeve/any=arm/any")     // it has another name now
	f.logged(4, "resin", release.Good, "old-arm/any=never-seen") // the part was there
	require.Empty(t, f.stated("log-part-unknown"))
	f.logged(5, "resin", release.Good, "amr/any=nobodys")
	f.logged(6, "resin", release.Good, "amr/any=nobodys")
	require.Equal(t, []string{`caution releases/01-a/prints.yaml The print of 5 March 2026 in line 5 names the part "amr", which is no folder of the release, in no revision, and whose mesh no part has: correct the name, or take the entry for one that proves nothing.`}, f.stated("log-part-unknown"))
}

func TestWhatIsEditedInARevisionIsPointedOut(t *testing.T) {
	got := verdict.SealedFindings([]history.LostMesh{{Release: 1, Revision: "B", Part: "Arm", Cut: "any", File: "releases/01-a/revisions.yaml", Differs: "a volume of 5 mm³, and the mesh has 4 mm³"}})
	require.Len(t, got, 1)
	require.Equal(t, "sealed-edited", got[0].Code)
	require.Equal(t, "Revision B states of the any cut of Arm a volume of 5 mm³, and the mesh has 4 mm³: the text was changed after it was sealed. Put back what was sealed.", got[0].Text)
}

// A rigid part that turns on a rod is not expected to work in what bends without a
// word, whatever was printed.
func TestRigidJointsInAFlexibleMaterialWantCare(t *testing.T) {
	rod := bench.Hardware{ID: "rod", Kind: bench.Rod, Diameter: 1.5}
	const why = "The joints of Arm were not drawn for a material that bends: holes give way and rods slip out."
	f := newFixture()
	f.add(release.Part{Slug: "arm", Name: "Arm", Takes: []release.HardwareUse{{Item: rod, Count: 1}}}, everywhere, release.CutAny)
	f.is(t, "soft-resin", standing.WithCare, why)
	require.Equal(t, standing.Expected, f.cell("resin").Standing)
	f.logged(1, "soft-resin", release.Good, "arm/any")
	require.Equal(t, standing.WithCare, f.cell("soft-resin").Standing, "how a joint turns does not show on the plate")

	f = newFixture() // one of several, with a round hole
	f.add(release.Part{Slug: "arm", Name: "Arm"}, everywhere, release.CutAny)
	f.s["arm/any"].Report.Bores = bore.Report{Holes: []bore.Hole{{Free: 1.6}}}
	require.Equal(t, standing.Expected, f.cell("soft-resin").Standing, "a bead is no joint")
	f.add(release.Part{Slug: "leg", Name: "Leg"}, everywhere, release.CutAny)
	f.is(t, "soft-resin", standing.WithCare, why)

	for _, soft := range []struct {
		p    release.Part
		kind release.CutKind
	}{{release.Part{Slug: "arm", Name: "Arm", Flexible: true}, release.CutAny}, {release.Part{Slug: "arm", Name: "Arm"}, release.CutFlexible}} {
		f = newFixture()
		soft.p.Takes = []release.HardwareUse{{Item: rod, Count: 1}}
		f.add(soft.p, everywhere, soft.kind)
		require.Equal(t, standing.Expected, f.cell("soft-resin").Standing)
	}
}
