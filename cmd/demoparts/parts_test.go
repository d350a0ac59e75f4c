package main

import (
	"bytes"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/unixpickle/model3d/model3d"

	s "cardback/cmd/demoparts/solid"
	"cardback/internal/longrun"
	"cardback/internal/measure"
	"cardback/internal/mend"
	"cardback/internal/mesh"
)

const contentDir = "../../content"

// made builds the demo's parts once for all tests of this package, and written all
// that the program writes.
var (
	made    = sync.OnceValue(figures)
	written = sync.OnceValue(func() []file { return slices.Concat(made(), poses()) })
)

// Every mesh is one closed, outward shell without degenerate triangles, by our
// own count and by an independent library's (model3d's repair and
// self-intersection checks), and stands centred on the plate.
func TestMeshesAreSound(t *testing.T) {
	for i, f := range made() {
		if i%longrun.Of(3, 1) != 0 {
			continue
		}
		t.Run(f.path(), func(t *testing.T) {
			t.Parallel()
			m := f.mesh
			if f.release == eelDir && f.part == "letter" {
				m = closedLetter(t, m)
			}
			top := m.Topology()
			assert.True(t, top.Closed)
			assert.True(t, top.ConsistentlyOriented)
			assert.Equal(t, 1, top.Shells)
			assert.LessOrEqual(t, len(m.Triangles), 30_000)

			g := model3d.NewMesh()
			for i := range m.Triangles {
				a, b, c := m.Corners(i)
				assert.Positive(t, b.Sub(a).Cross(c.Sub(a)).Norm(), "triangle %d", i)
				g.Add(&model3d.Triangle{{X: a.X, Y: a.Y, Z: a.Z}, {X: b.X, Y: b.Y, Z: b.Z}, {X: c.X, Y: c.Y, Z: c.Z}})
			}
			assert.False(t, g.NeedsRepair())
			assert.Empty(t, g.SingularVertices())
			assert.Positive(t, g.Volume())
			if longrun.Asked() {
				assert.Zero(t, g.SelfIntersections())
			}

			b := m.Bounds()
			assert.Zero(t, b.Min.Z)
			assert.InDelta(t, 0, b.Centre().X, s.Grid)
			assert.InDelta(t, 0, b.Centre().Y, s.Grid)
		})
	}
}

// closedLetter checks that the letter has the crack that it is meant to have, and
// returns it without.
func closedLetter(t *testing.T, m *mesh.Mesh) *mesh.Mesh {
	require.Equal(t, 3, m.Topology().OpenEdges)
	out, how, err := mend.Surface(t.Context(), m)
	require.NoError(t, err)
	require.NotNil(t, how)
	require.Equal(t, 1, how.Cut)
	// The corner lies so far inside of the side, to the rounding of 32 bits at 7 mm.
	require.InDelta(t, crackOfLetter, how.Farthest, 5e-7)
	return out
}

// The bag's fillet runs out: more than a hundredth of its surface lies over less than
// half of the thinnest wall of any stock on the demo's bench, 0.6 mm, and none of that
// is a wall. What is measured of the whole bag says so.
func TestTheBagsFilletIsNoThinWall(t *testing.T) {
	for _, f := range made() {
		if f.release != eelDir || f.part != "mailbag" {
			continue
		}
		r, err := measure.Measure(t.Context(), f.mesh)
		require.NoError(t, err)
		require.Less(t, r.Thin.Ray[0], 0.3)
		require.Nil(t, r.Thin.Wall)
		require.Nil(t, r.Thin.Pin)
		require.Empty(t, r.Findings)
		return
	}
	t.Fatal("there is no bag")
}

// What the program writes into a fresh folder is the demo's meshes and nothing
// else, as TestCommittedFilesAreTheGeneratedOnes compares them.
func TestFreshFolder(t *testing.T) {
	out := filepath.Join(t.TempDir(), "new", "folder")
	require.NoError(t, checkOut(out, nil))
	require.NoError(t, run(out, written()))
	var got, want []string
	require.NoError(t, filepath.WalkDir(out, func(name string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			rel, _ := filepath.Rel(out, name)
			got = append(got, filepath.ToSlash(rel))
			fresh, err := os.ReadFile(name)
			require.NoError(t, err)
			committed, err := os.ReadFile(filepath.Join(contentDir, rel))
			require.NoError(t, err)
			assert.True(t, bytes.Equal(committed, fresh), rel)
		}
		return err
	}))
	for _, f := range written() {
		want = append(want, f.path())
	}
	require.ElementsMatch(t, want, got)
}

func TestWrongFolders(t *testing.T) {
	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("taken", nil, 0o644))
	require.EqualError(t, checkOut("content", nil), `there is no folder "content" here; run this from the project's root, or name a folder with --out`)
	require.EqualError(t, checkOut("taken", nil), "taken is not a folder; the meshes go into releases/… below a content folder")
	require.Error(t, checkOut("taken/below", nil))
	require.EqualError(t, checkOut("other", []string{"other"}), `"other" is not understood; the folder to write into is named with --out`)
	require.NoError(t, checkOut("other", nil))
}

// The committed files are what the program writes, byte for byte, and there is
// no mesh that it does not write.
func TestCommittedFilesAreTheGeneratedOnes(t *testing.T) {
	want := map[string]bool{}
	total := 0
	for _, f := range written() {
		data, err := f.encode()
		require.NoError(t, err)
		got, err := os.ReadFile(filepath.Join(contentDir, filepath.FromSlash(f.path())))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(data, got), "%s differs: run go run ./cmd/demoparts", f.path())
		want[f.path()] = true
		total += len(data)
	}
	assert.Less(t, total, 15<<20)
	err := filepath.WalkDir(contentDir, func(name string, d fs.DirEntry, err error) error {
		if ext := filepath.Ext(name); err == nil && (ext == ".stl" || ext == ".3mf") {
			rel, _ := filepath.Rel(contentDir, name)
			assert.True(t, want[filepath.ToSlash(rel)], "%s is made by nothing", rel)
		}
		return err
	})
	require.NoError(t, err)
}

// The holes that the notes state pass exactly the stated rod: the free diameter
// is twice the least distance from the axis to the finished surface. The
// tolerance is the kit's tiny motion and the grid, a few micrometres each.
func TestHolesPassTheirRods(t *testing.T) {
	front, _ := lampTorsoSplit()
	cases := []struct {
		name     string
		m        *mesh.Mesh
		from, to mesh.Vec
		d        float64
	}{
		{"pelvis, hips", lampPelvis(1.65, hipZ, hipFlare), s.V(-4, 0, hipZ), s.V(4, 0, hipZ), 1.65},
		{"thigh, hip", lampThigh(1.8), s.V(-4, 0, 18), s.V(4, 0, 18), 1.8},
		{"thigh, knee", lampThigh(1.65), s.V(-3.8, 0, 0), s.V(3.8, 0, 0), 1.65},
		{"shin, knee", lampShin(1.8), s.V(-1.7, 0, 18), s.V(1.7, 0, 18), 1.8},
		{"shin, ankle", lampShin(1.65), s.V(-1.7, 0, 0), s.V(1.7, 0, 0), 1.65},
		{"boot, ankle", lampBoot(1.8), s.V(-3.5, 0, 9.5), s.V(3.5, 0, 9.5), 1.8},
		{"upper arm, elbow", lampUpperArm(1.65), s.V(0.2, 0, -14.5), s.V(7, 0, -14.5), 1.65},
		{"forearm, elbow", lampForearm(1.8), s.V(-1.7, 0, 0), s.V(1.7, 0, 0), 1.8},
		{"hand, pole", lampHand(1.65), s.V(-0.1, poleY, -8), s.V(-0.1, poleY, -2), poleHole},
		{"torso (resin), shoulders", front, s.V(-9.2, shoulderY, shoulderZ), s.V(9.2, shoulderY, shoulderZ), pivotResin},
		{"tide-table cap, crown", hatTideTable(), s.V(0, 0, 5.2), s.V(0, 0, 6.6), 1.5 * math.Cos(math.Pi/12)},
		{"robe, shoulders", clerkRobe(), s.V(-10, 0.6, 61), s.V(10, 0.6, 61), clerkPivot},
		{"forewing, hinge", forewing(), s.V(0, foreBarrel[0], 1.72), s.V(0, foreBarrel[1], 1.72), hingeHole},
		{"hindwing, hinge", hindwing(), s.V(0, hindBarrel[0], 1.72), s.V(0, hindBarrel[1], 1.72), hingeHole},
		{"upper leg, hip", legUpper(), s.V(-6, 0, 46), s.V(6, 0, 46), shaftHole},
		{"boom, foot", boom(), s.V(0, 0, -3.5), s.V(0, 0, 3.5), shaftHole},
		{"jaw, hinge", eelJaw(), s.V(-6, 0, 0), s.V(6, 0, 0), pivotFilament},
	}
	for _, c := range cases {
		b := c.m.Bounds()
		shift := s.V(-b.Centre().X, -b.Centre().Y, -b.Min.Z)
		got := freeDiameter(s.Tidy(c.m), c.from.Add(shift), c.to.Add(shift))
		assert.InDelta(t, c.d, got, 0.008, c.name)
	}
}

// freeDiameter is twice the least distance from a line to a surface, taken at
// 60 places along it.
func freeDiameter(m *mesh.Mesh, from, to mesh.Vec) float64 {
	least := math.Inf(1)
	for k := range 61 {
		p := from.Add(to.Sub(from).Scale(float64(k) / 60))
		q := model3d.Coord3D{X: p.X, Y: p.Y, Z: p.Z}
		for i := range m.Triangles {
			a, b, c := m.Corners(i)
			tri := &model3d.Triangle{{X: a.X, Y: a.Y, Z: a.Z}, {X: b.X, Y: b.Y, Z: b.Z}, {X: c.X, Y: c.Y, Z: c.Z}}
			least = min(least, tri.Closest(q).Dist(q))
		}
	}
	return 2 * least
}

// Put together on their pivots the figures are as tall as their notes say, and the
// lamplighter's joints are where the holes of both parts are: along each pivot the pose
// is as wide as they are drilled. A hundredth is twice the kit's motion and its grid.
func TestPosesAreAsTheNotesSay(t *testing.T) {
	for _, f := range poses() {
		b := f.mesh.Bounds()
		assert.Zero(t, b.Min.Z)
		if height, stated := map[string]float64{lamplighterDir: 97, fogMothsDir: 101}[f.release]; stated {
			assert.InDelta(t, height, b.Max.Z, 0.5, f.release)
		}
		assert.True(t, f.mesh.Topology().Closed)
	}
	pose := lamplighterPose()
	for _, c := range []struct {
		name     string
		from, to mesh.Vec
		d        float64
	}{
		{"hips", s.V(-12.4, 0, lampHip), s.V(12.4, 0, lampHip), pivotFilament},
		{"knee", s.V(lampLegX-3.7, 0, lampKnee), s.V(lampLegX+3.7, 0, lampKnee), pivotFilament},
		{"ankle", s.V(lampLegX-3.5, 0, 9.5), s.V(lampLegX+3.5, 0, 9.5), pivotFilament},
		{"neck", s.V(0, 0.66, lampNeck-4.2), s.V(0, 0.66, lampNeck+5), pivotFilament},
		{"waist", s.V(0, 0, lampWaist-3.1), s.V(0, 0, lampWaist+5), pivotFilament},
	} {
		assert.InDelta(t, c.d, freeDiameter(pose, c.from, c.to), 0.01, c.name)
	}
}
