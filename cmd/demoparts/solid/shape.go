package solid

import (
	"fmt"
	"math"
	"slices"

	"cardback/internal/mesh"
)

// P is a point of a plan or profile, in mm.
type P struct{ X, Y float64 }

// V is short for a point in space.
func V(x, y, z float64) mesh.Vec { return mesh.Vec{X: x, Y: y, Z: z} }

// Ring is a closed ring of points in space; the last joins the first.
type Ring []mesh.Vec

// Loft joins rings of equal length with a skin and closes both ends. The rings
// may run either way round, but all the same way. Ends may be any simple,
// roughly plane polygon.
func Loft(rings ...Ring) *mesh.Mesh {
	n := len(rings[0])
	m := &mesh.Mesh{}
	for _, r := range rings {
		m.Vertices = append(m.Vertices, r...)
	}
	at := func(i, j int) uint32 { return uint32(i*n + j%n) }
	for i := range len(rings) - 1 {
		for j := range n {
			a, b, c, d := at(i, j), at(i, j+1), at(i+1, j+1), at(i+1, j)
			// The shorter diagonal follows the surface better.
			if m.Vertices[a].Sub(m.Vertices[c]).Norm() <= m.Vertices[b].Sub(m.Vertices[d]).Norm()+1e-9 {
				m.Triangles = append(m.Triangles, [3]uint32{a, b, c}, [3]uint32{a, c, d})
			} else {
				m.Triangles = append(m.Triangles, [3]uint32{a, b, d}, [3]uint32{b, c, d})
			}
		}
	}
	closeEnd(m, n, (len(rings)-1)*n, false)
	closeEnd(m, n, 0, true)
	if volume(m) < 0 {
		for i, t := range m.Triangles {
			m.Triangles[i] = [3]uint32{t[0], t[2], t[1]}
		}
	}
	return m
}

// volume is the signed volume that m encloses.
func volume(m *mesh.Mesh) float64 {
	var sum float64
	o := m.Vertices[0]
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		sum += a.Sub(o).Dot(b.Sub(o).Cross(c.Sub(o)))
	}
	return sum / 6
}

// closeEnd fills the ring of n vertices from first on.
func closeEnd(m *mesh.Mesh, n, first int, facingBack bool) {
	ring := make([]int32, n)
	for i := range ring {
		ring[i] = int32(first + i)
	}
	at := map[int32]flat{}
	normal := newell(m.Vertices, ring)
	for _, v := range ring {
		at[v] = flatten(normal, m.Vertices[v])
	}
	ps, err := clip(m.Vertices, at, ring)
	if err != nil {
		panic(fmt.Sprintf("solid: an end of a loft is not a simple polygon: %v", err))
	}
	for _, p := range ps {
		t := [3]uint32{uint32(p.v[0]), uint32(p.v[1]), uint32(p.v[2])}
		if facingBack {
			t[1], t[2] = t[2], t[1]
		}
		m.Triangles = append(m.Triangles, t)
	}
}

// At lays a plan at height z.
func At(z float64, plan []P) Ring {
	r := make(Ring, len(plan))
	for i, p := range plan {
		r[i] = V(p.X, p.Y, z)
	}
	return r
}

// Oval is a superellipse of half-widths rx and ry with n points: power 2 is an
// ellipse, larger powers are boxier, down to 1 for a diamond.
func Oval(cx, cy, rx, ry, power float64, n int) []P {
	out := make([]P, n)
	for i := range out {
		// Half a step in, so that a symmetrical plan has no point on its axes.
		s, c := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / float64(n))
		out[i] = P{
			cx + math.Copysign(float64(rx*math.Pow(math.Abs(c), 2/power)), c),
			cy + math.Copysign(float64(ry*math.Pow(math.Abs(s), 2/power)), s),
		}
	}
	return out
}

// Rect is a rectangle with corners rounded by radius r, k points to a corner;
// k = 2 makes a chamfered rectangle.
func Rect(cx, cy, w, h, r float64, k int) []P {
	var out []P
	for q := range 4 {
		sx, sy := [4]float64{1, -1, -1, 1}[q], [4]float64{1, 1, -1, -1}[q]
		x, y := cx+sx*(w/2-r), cy+sy*(h/2-r)
		for i := range k {
			s, c := math.Sincos(math.Pi / 2 * (float64(q) + float64(i)/float64(k-1)))
			out = append(out, P{x + float64(r*c), y + float64(r*s)})
		}
	}
	return out
}

// Inset moves a counter-clockwise plan inwards by d with mitred corners; a
// negative d moves it outwards.
func Inset(plan []P, d float64) []P {
	n := len(plan)
	out := make([]P, n)
	for i, p := range plan {
		a, b := plan[(i+n-1)%n], plan[(i+1)%n]
		ux, uy := unit(p.X-a.X, p.Y-a.Y)
		vx, vy := unit(b.X-p.X, b.Y-p.Y)
		// Unit inward normals (−uy, ux) and (−vy, vx); their bisector, scaled so
		// that both edges move by d.
		bx, by := -uy-vy, ux+vx
		k := d / max(0.2, float64((float64(bx*-uy)+float64(by*ux))))
		out[i] = P{p.X + float64(bx*k), p.Y + float64(by*k)}
	}
	return out
}

func unit(x, y float64) (float64, float64) {
	l := math.Hypot(x, y)
	return x / l, y / l
}

// Extrude raises a plan, drawn either way round, from z0 to z1 with edges
// chamfered by c (0: sharp).
func Extrude(plan []P, z0, z1, c float64) *mesh.Mesh {
	var area float64
	for i, p := range plan {
		q := plan[(i+1)%len(plan)]
		area += float64(p.X*q.Y) - float64(q.X*p.Y)
	}
	if area < 0 {
		plan = slices.Clone(plan)
		slices.Reverse(plan)
	}
	if c == 0 {
		return Loft(At(z0, plan), At(z1, plan))
	}
	in := Inset(plan, c)
	return Loft(At(z0, in), At(z0+c, plan), At(z1-c, plan), At(z1, in))
}

// Lathe turns a profile of (radius, height) points, from the bottom up, about
// the z axis with n sides. Radii must be above zero; the ends are flat.
func Lathe(profile []P, n int) *mesh.Mesh {
	rings := make([]Ring, len(profile))
	for i, p := range profile {
		rings[i] = At(p.Y, Oval(0, 0, p.X, p.X, 2, n))
	}
	return Loft(rings...)
}

// Block is a box with its twelve edges chamfered by c, centred in x and y, from
// z = 0 up.
func Block(w, d, h, c float64) *mesh.Mesh {
	return Extrude(Rect(0, 0, w, d, max(c, 1e-3), 2), 0, h, c)
}

// Ball is a sphere of radius r about the origin with n sides and n/2 bands.
func Ball(r float64, n int) *mesh.Mesh { return Ellipsoid(r, r, r, n) }

// Ellipsoid has half-axes a, b, c.
func Ellipsoid(a, b, c float64, n int) *mesh.Mesh {
	bands := n / 2
	var rings []Ring
	for i := range bands + 1 {
		t := math.Pi * (float64(i)/float64(bands) - 0.5)
		// The poles are small flats: a fiftieth of the radius.
		s, k := math.Sincos(max(-math.Pi/2+0.02, min(math.Pi/2-0.02, t)))
		rings = append(rings, At(float64(c*s), Oval(0, 0, float64(a*k), float64(b*k), 2, n)))
	}
	return Loft(rings...)
}

// Tube follows a path with a round section of n sides; radii has one radius
// for each point, or one for all. Ends are flat and square to the path.
func Tube(path []mesh.Vec, n int, radii ...float64) *mesh.Mesh {
	plans := make([][]P, len(path))
	for i := range path {
		r := radii[0]
		if len(radii) > 1 {
			r = radii[i]
		}
		plans[i] = Oval(0, 0, r, r, 2, n)
	}
	return Sweep(path, plans)
}

// Sweep carries one plan for each point along a path, without twist.
func Sweep(path []mesh.Vec, plans [][]P) *mesh.Mesh {
	var u mesh.Vec
	rings := make([]Ring, len(path))
	for i, p := range path {
		d := direction(path, i)
		if i == 0 {
			u = V(1, 0, 0)
			if math.Abs(d.X) > 0.8 {
				u = V(0, 1, 0)
			}
		}
		u = normal(u.Sub(d.Scale(u.Dot(d))))
		w := d.Cross(u)
		for _, q := range plans[i] {
			rings[i] = append(rings[i], p.Add(u.Scale(q.X)).Add(w.Scale(q.Y)))
		}
	}
	return Loft(rings...)
}

func direction(path []mesh.Vec, i int) mesh.Vec {
	var d mesh.Vec
	if i > 0 {
		d = d.Add(normal(path[i].Sub(path[i-1])))
	}
	if i+1 < len(path) {
		d = d.Add(normal(path[i+1].Sub(path[i])))
	}
	return normal(d)
}

func normal(v mesh.Vec) mesh.Vec { return v.Scale(1 / v.Norm()) }

// Curve passes a smooth line (Catmull–Rom) through points, k steps between two.
func Curve(k int, points ...mesh.Vec) []mesh.Vec {
	var out []mesh.Vec
	n := len(points)
	at := func(i int) mesh.Vec {
		switch {
		case i < 0:
			return points[0].Scale(2).Sub(points[1])
		case i >= n:
			return points[n-1].Scale(2).Sub(points[n-2])
		}
		return points[i]
	}
	for i := range n - 1 {
		a, b, c, d := at(i-1), at(i), at(i+1), at(i+2)
		for j := range k {
			t := float64(j) / float64(k)
			t2, t3 := float64(t*t), float64(float64(t*t)*t)
			out = append(out, a.Scale((-t+2*t2-t3)/2).Add(b.Scale((2-5*t2+3*t3)/2)).Add(c.Scale((t+4*t2-3*t3)/2)).Add(d.Scale((t3-t2)/2)))
		}
	}
	return append(out, points[n-1])
}

// Torus is a ring about the z axis: tube radius r round a circle of radius R,
// with n steps round and k sides.
func Torus(R, r float64, n, k int) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / float64(n))
		for _, p := range Oval(0, 0, r, r, 2, k) {
			m.Vertices = append(m.Vertices, V(float64((R+p.X)*c), float64((R+p.X)*s), p.Y))
		}
	}
	at := func(i, j int) uint32 { return uint32(i%n*k + j%k) }
	for i := range n {
		for j := range k {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			m.Triangles = append(m.Triangles, [3]uint32{a, b, c}, [3]uint32{a, c, d})
		}
	}
	return m
}

// Disc is a round plate of radius r and width w, centred at the origin, with
// its axis along x and its two edges chamfered by c: the body of a hinge.
func Disc(r, w, c float64, n int) *mesh.Mesh {
	return TurnY(Lathe([]P{{r - c, -w / 2}, {r, c - w/2}, {r, w/2 - c}, {r - c, w / 2}}, n), 90)
}

// Closed passes a smooth closed line through plan points, k steps between two.
func Closed(k int, points ...P) []P {
	n := len(points)
	var out []P
	for i := range points {
		a, b, c, d := points[(i+n-1)%n], points[i], points[(i+1)%n], points[(i+2)%n]
		for j := range k {
			t := float64(j) / float64(k)
			t2, t3 := float64(t*t), float64(float64(t*t)*t)
			wa, wb, wc, wd := (-t+2*t2-t3)/2, (2-5*t2+3*t3)/2, (t+4*t2-3*t3)/2, (t3-t2)/2
			out = append(out, P{
				float64(wa*a.X) + float64(wb*b.X) + float64(wc*c.X) + float64(wd*d.X),
				float64(wa*a.Y) + float64(wb*b.Y) + float64(wc*c.Y) + float64(wd*d.Y),
			})
		}
	}
	return out
}
