package change

import (
	"context"
	"math"

	"cardback/internal/measure/exact"
	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
)

// surface is a mesh with what comparing asks of it.
type surface struct {
	target
	used   []int32 // vertices that triangles use, ascending
	size   Size
	centre mesh.Vec      // of the area; of the vertices where there is none
	second [3][3]float64 // mean of products of coordinates about the centre, mm²
	span   float64       // diagonal of the bounds
	most   float64       // greatest coordinate without its sign
}

func newSurface(ctx context.Context, m *mesh.Mesh) (*surface, error) {
	s := &surface{target: target{mesh: m}}
	seen := make([]bool, len(m.Vertices))
	for _, t := range m.Triangles {
		for _, v := range t {
			seen[v] = true
		}
	}
	for v, yes := range seen {
		if yes {
			s.used = append(s.used, int32(v))
		}
	}
	b := m.Bounds()
	s.span = b.Size().Norm()
	s.most = max(math.Abs(b.Min.X), math.Abs(b.Min.Y), math.Abs(b.Min.Z), math.Abs(b.Max.X), math.Abs(b.Max.Y), math.Abs(b.Max.Z))
	s.moments(b.Centre())
	var err error
	s.tree, err = tree.New(ctx, m)
	return s, err
}

// moments sums up area, centre, second moments and volume. Those of a triangle of
// area A are exact: the integral of x is A times the mean of its corners, that of a
// product xy is A/12 times the sum over corners of xy plus the product of the
// sums. They hang on the surface alone, not on its triangles. The volume is that of
// the cones on the centre, which for an open surface moves along with it.
func (s *surface) moments(about mesh.Vec) {
	m := s.mesh
	var area exact.Sum
	var first [3]exact.Sum
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		w := b.Sub(a).Cross(c.Sub(a)).Norm() / 2
		area.Add(w)
		mid := a.Add(b).Add(c).Scale(1. / 3).Sub(about)
		for k := range 3 {
			first[k].Add(float64(w * mid.Component(k)))
		}
	}
	s.size.Area = area.Value()
	if !(s.size.Area > 0) {
		for _, v := range s.used {
			s.centre = s.centre.Add(m.Vertices[v].Scale(1 / float64(len(s.used))))
		}
		return
	}
	s.centre = about.Add(mesh.Vec{X: first[0].Value(), Y: first[1].Value(), Z: first[2].Value()}.Scale(1 / s.size.Area))
	var second [3][3]exact.Sum
	var volume exact.Sum
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		a, b, c = a.Sub(s.centre), b.Sub(s.centre), c.Sub(s.centre)
		n := b.Sub(a).Cross(c.Sub(a))
		volume.Add(a.Dot(n) / 6)
		w := n.Norm() / 24
		sum := a.Add(b).Add(c)
		for k := range 3 {
			for l := range k + 1 {
				q := float64(a.Component(k)*a.Component(l)) + float64(b.Component(k)*b.Component(l)) + float64(c.Component(k)*c.Component(l)) + float64(sum.Component(k)*sum.Component(l))
				second[k][l].Add(float64(w * q))
			}
		}
	}
	s.size.Volume = volume.Value()
	for k := range 3 {
		for l := range k + 1 {
			s.second[k][l] = second[k][l].Value() / s.size.Area
			s.second[l][k] = s.second[k][l]
		}
	}
}
