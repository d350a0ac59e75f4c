package solid

import (
	"math"

	"cardback/internal/mesh"
)

func each(m *mesh.Mesh, f func(mesh.Vec) mesh.Vec) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: make([]mesh.Vec, len(m.Vertices)), Triangles: m.Triangles}
	for i, v := range m.Vertices {
		out.Vertices[i] = f(v)
	}
	return out
}

// Move shifts m.
func Move(m *mesh.Mesh, x, y, z float64) *mesh.Mesh {
	d := V(x, y, z)
	return each(m, func(v mesh.Vec) mesh.Vec { return v.Add(d) })
}

// Stretch scales m along each axis; factors must be above zero.
func Stretch(m *mesh.Mesh, x, y, z float64) *mesh.Mesh {
	return each(m, func(v mesh.Vec) mesh.Vec { return V(float64(v.X*x), float64(v.Y*y), float64(v.Z*z)) })
}

// TurnX, TurnY and TurnZ turn m by degrees about an axis through the origin,
// counter-clockwise seen from the axis's positive end.
func TurnX(m *mesh.Mesh, deg float64) *mesh.Mesh {
	s, c := math.Sincos(deg * math.Pi / 180)
	return each(m, func(v mesh.Vec) mesh.Vec {
		return V(v.X, float64(v.Y*c)-float64(v.Z*s), float64(v.Y*s)+float64(v.Z*c))
	})
}

func TurnY(m *mesh.Mesh, deg float64) *mesh.Mesh {
	s, c := math.Sincos(deg * math.Pi / 180)
	return each(m, func(v mesh.Vec) mesh.Vec {
		return V(float64(v.Z*s)+float64(v.X*c), v.Y, float64(v.Z*c)-float64(v.X*s))
	})
}

func TurnZ(m *mesh.Mesh, deg float64) *mesh.Mesh {
	s, c := math.Sincos(deg * math.Pi / 180)
	return each(m, func(v mesh.Vec) mesh.Vec {
		return V(float64(v.X*c)-float64(v.Y*s), float64(v.X*s)+float64(v.Y*c), v.Z)
	})
}

// Mirror is m seen in the plane x = 0.
func Mirror(m *mesh.Mesh) *mesh.Mesh { return m.Mirrored() }

// Rest centres m over the origin and sets it on z = 0.
func Rest(m *mesh.Mesh) *mesh.Mesh {
	b := m.Bounds()
	c := b.Centre()
	return Move(m, -c.X, -c.Y, -b.Min.Z)
}
