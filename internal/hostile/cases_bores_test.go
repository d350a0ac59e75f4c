package hostile

import (
	"math"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// bores are meshes that are hard to look for holes in.
var bores = []Case{
	bored("bore-cylinder-20000-sides", func() *mesh.Mesh {
		return meshtest.Revolved(20000, []meshtest.Point2{{}, {R: 10}, {R: 10, Z: 20}, {Z: 20}})
	}, `closed, consistently oriented`),
	bored("bore-hole-2000-sides", func() *mesh.Mesh { return meshtest.DrilledPlate(2000, 4, 16, 6, 0.2, 1) }, `holes +1 +Ø4.00`),
	// From each facet of a rim cut at 45° a search runs over a flat end of 63,000
	// triangles, in vain; see package bore's tests.
	bored("bore-rims-in-vain", func() *mesh.Mesh {
		low, high := []meshtest.Point2{}, []meshtest.Point2{}
		for i := range 40 {
			r := float64(i) / 5
			low, high = append(low, meshtest.Point2{R: r}), append([]meshtest.Point2{{R: r, Z: 20}}, high...)
		}
		profile := append(low, meshtest.Point2{R: 8}, meshtest.Point2{R: 10, Z: 2}, meshtest.Point2{R: 10, Z: 18}, meshtest.Point2{R: 8, Z: 20})
		return meshtest.Revolved(800, append(profile, high...))
	}, `not all were looked for`, `Holes were not all looked for`),
	// Tubes in each other, each a hole and a pin.
	bored("bore-600-tubes-in-each-other", func() *mesh.Mesh {
		var all []*mesh.Mesh
		for i := range 600 {
			r := 1 + float64(i)*0.1
			all = append(all, meshtest.Revolved(16, []meshtest.Point2{{R: r}, {R: r + .05}, {R: r + .05, Z: 5}, {R: r, Z: 5}}))
		}
		return meshtest.Together(all...)
	}, `holes  .*Ø`),
	bored("bore-40-holes-in-one-place", func() *mesh.Mesh {
		var all []*mesh.Mesh
		for i := range 40 { // a rounding apart, so that they are not one surface
			all = append(all, meshtest.Moved(meshtest.DrilledPlate(12, 2, 6, 4, 0, math.Pi/7), meshtest.Shift(1e-3*float64(i), 0, 0)))
		}
		return meshtest.Together(all...)
	}, `holes .*Ø2.00`),
	bored("bore-hole-that-a-body-fills", func() *mesh.Mesh {
		return meshtest.Together(meshtest.DrilledPlate(24, 4, 16, 6, 0, 0), meshtest.Moved(meshtest.Frustum(32, 2.3, 2.3, 10), meshtest.Shift(0, 0, -2)))
	}, `holes +none`),
}

// bored measures one mesh.
func bored(name string, make func() *mesh.Mesh, says ...string) Case {
	return Case{Name: name, Make: func(d Dir) { d.Write("part.stl", STL(make())) }, Args: []string{"measure", "part.stl"}, Says: says, Seconds: 60}
}
