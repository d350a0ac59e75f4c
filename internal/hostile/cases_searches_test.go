package hostile

import (
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// searches are parts that make a search long: fits, layouts, outlines, small parts.
var searches = []Case{
	// Smooth parts: every point is a corner of the hull, and no orientation is better than
	// another.
	searched("frontier-ball-31680-triangles", manyBall, []string{"--frontier"}, `"within_mm":1,`),
	searched("frontier-ball-30000-points", func() *mesh.Mesh { return meshtest.UVSphere(40, 200, 151) }, []string{"--frontier"}, `"within_mm":1,`),
	searched("frontier-cylinder-20000-sides", manySides, []string{"--frontier"}, `"within_mm":1,`),
	searched("fit-cylinder-20000-sides-tight", manySides, []string{"--plate", "39x39x39"}, `cannot fit`),
	searched("fit-ball-a-hair-too-large", manyBall, []string{"--plate", "29.99x29.99x29.99"}, `(cannot fit|undecided)`),
	searched("gauge-cylinder-20000-sides", manySides, []string{"--small-parts"}, `does not fit the gauge`),
	// A ball as wide as the gauge, to a hair.
	searched("gauge-ball-as-wide-as-the-gauge", func() *mesh.Mesh { return meshtest.UVSphere(15.87, 120, 133) }, []string{"--small-parts"}, `fits the gauge`),
	searched("gauge-ball-a-hair-too-wide", func() *mesh.Mesh { return meshtest.UVSphere(15.9, 120, 133) }, []string{"--small-parts"}, `(does not fit the gauge|undecided)`),

	// What chokes must not vanish, whatever lies beside it.
	searched("gauge-bead-beside-a-block", func() *mesh.Mesh { return meshtest.Together(meshtest.Box(60, 60, 60), bead(200)) },
		[]string{"--small-parts"}, `verdict +fits the gauge`, `comes apart into 2`),
	searched("gauge-bead-beside-overlapping-blocks", func() *mesh.Mesh {
		return meshtest.Together(meshtest.Box(60, 60, 60), moved(meshtest.Box(60, 60, 60), 30), bead(200))
	}, []string{"--small-parts"}, `verdict +fits the gauge`, `comes apart into 2`),
	searched("gauge-bead-beside-an-open-block", func() *mesh.Mesh {
		return meshtest.Together(meshtest.Without(meshtest.Box(60, 60, 60), 0), bead(200))
	}, []string{"--small-parts"}, `verdict +fits the gauge`),
	searched("gauge-open-bead-inside-out", func() *mesh.Mesh {
		return meshtest.Together(meshtest.Box(60, 60, 60), meshtest.InsideOut(meshtest.Without(bead(200), 3)))
	}, []string{"--small-parts"}, `verdict +fits the gauge`),
	searched("gauge-1000-rods-that-do-not-fit", func() *mesh.Mesh {
		var all []*mesh.Mesh
		for i := range 1000 {
			all = append(all, moved(meshtest.Box(5, 100, 5), 10*float64(i)))
		}
		return meshtest.Together(all...)
	}, []string{"--small-parts"}, `verdict +undecided`, `only the 200 smallest`),
	searched("gauge-3000-overlapping-cubes", func() *mesh.Mesh {
		var all []*mesh.Mesh
		for i := range 3000 {
			all = append(all, moved(meshtest.Box(10, 10, 10), 3*float64(i)))
		}
		return meshtest.Together(all...)
	}, []string{"--small-parts"}, `does not fit the gauge`),
	searched("gauge-20000-cubes-in-one-place", func() *mesh.Mesh {
		var all []*mesh.Mesh
		for range 20_000 {
			all = append(all, meshtest.Box(40, 40, 40))
		}
		return meshtest.Together(all...)
	}, []string{"--small-parts"}, `does not fit the gauge`),

	// One plate of them after another.
	{Name: "plates-1000-pieces-of-one-part", Make: func(d Dir) {
		d.Content()
		d.Write(peg+"/any.stl", STL(angle()))
		d.Text(peg+"/part.yaml", "quantity: 1000\n")
	}, Args: []string{"plates", "1", "--content", "content", "--plate", "220x220x250", "--process", "filament"}, Says: []string{`plates`}, Seconds: 40},
	{Name: "plates-800-pieces-of-40-parts", Make: func(d Dir) {
		d.Content()
		for i := range 40 {
			part := "content/releases/01-peg/parts/piece-" + strconv.Itoa(i)
			d.Write(part+"/any.stl", STL(meshtest.Moved(angle(), func(v mesh.Vec) mesh.Vec { v.X *= 1 + float64(i)/20; return v })))
			d.Text(part+"/part.yaml", "quantity: 20\n")
		}
	}, Args: []string{"plates", "1", "--content", "content", "--plate", "220x220x250", "--process", "filament"}, Says: []string{`plates`}, Seconds: 60},

	// The whole of a build: outline, charts, frontier, fits, gauge.
	{Name: "build-ball-31680-triangles", Make: func(d Dir) {
		d.Content()
		d.Write(peg+"/any.stl", STL(manyBall()))
	}, Args: []string{"build", "--content", "content", "--out", "site", "--cache", "cache"}, Says: []string{`1 release`}, Seconds: 60, Megabytes: 900, After: func(t *testing.T, d Dir) {
		require.Contains(t, d.Read("site/releases/01-peg/index.html"), `"within_mm":1,`)
	}},
}

func manyBall() *mesh.Mesh  { return meshtest.UVSphere(15, 120, 133) }
func manySides() *mesh.Mesh { return meshtest.Frustum(20_000, 20, 20, 30) }

func moved(m *mesh.Mesh, by float64) *mesh.Mesh { return meshtest.Moved(m, meshtest.Shift(by, 0, 0)) }
func bead(x float64) *mesh.Mesh                 { return moved(meshtest.Box(6, 6, 6), x) }

// angle is two bars that share a face.
func angle() *mesh.Mesh {
	return meshtest.Together(meshtest.Box(20, 5, 5), meshtest.Moved(meshtest.Box(5, 15, 5), meshtest.Shift(0, 5, 0)))
}

// searched fits one mesh.
func searched(name string, make func() *mesh.Mesh, args []string, says ...string) Case {
	return Case{
		Name: name, Make: func(d Dir) { d.Write("part.stl", STL(make())) },
		Args: append([]string{"fit", "part.stl"}, args...), Says: says, Seconds: 30,
	}
}
