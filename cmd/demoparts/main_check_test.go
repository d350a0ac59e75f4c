package main

import (
	"testing"

	"github.com/unixpickle/model3d/model3d"

	"cardback/internal/mesh"
)

func toModel3D(m *mesh.Mesh) *model3d.Mesh {
	out := model3d.NewMesh()
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		out.Add(&model3d.Triangle{{X: a.X, Y: a.Y, Z: a.Z}, {X: b.X, Y: b.Y, Z: b.Z}, {X: c.X, Y: c.Y, Z: c.Z}})
	}
	return out
}

func TestMeshesAreSound(t *testing.T) {
	for _, f := range figures() {
		top := f.mesh.Topology()
		g := toModel3D(f.mesh)
		deg := 0
		for i := range f.mesh.Triangles {
			a, b, c := f.mesh.Corners(i)
			if b.Sub(a).Cross(c.Sub(a)).Norm() < 1e-9 {
				deg++
			}
		}
		t.Log(f.path(), len(f.mesh.Triangles), top.Closed, top.ConsistentlyOriented, "open", top.OpenEdges, "nm", top.NonManifoldEdges, "shells", top.Shells, "euler", top.Euler, "rep", g.NeedsRepair(), "sing", len(g.SingularVertices()), "self", g.SelfIntersections(), "deg", deg, "vol", int(g.Volume()))
	}
}
