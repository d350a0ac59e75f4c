package meshtest

import (
	"math"

	"cardback/internal/mesh"
)

// The bodies below have hollows that hold a known volume, or parts that begin in
// mid-air. They stand on z = 0.

// Point2 is a corner of a profile: its distance from the z axis and its height.
type Point2 struct{ R, Z float64 }

// Revolved turns closed profiles about the z axis in n steps. A profile runs
// counter-clockwise, r to the right and z up, and may have corners on the axis.
// Corners lie on the circles, so that a section is a regular n-gon.
func Revolved(n int, profiles ...[]Point2) *mesh.Mesh {
	m := &mesh.Mesh{}
	for _, profile := range profiles {
		first := make([]uint32, len(profile))
		for i, p := range profile {
			first[i] = uint32(len(m.Vertices))
			if p.R == 0 {
				m.Vertices = append(m.Vertices, mesh.Vec{Z: p.Z})
				continue
			}
			for k := range n {
				m.Vertices = append(m.Vertices, Polar(p.R, 2*math.Pi*float64(k)/float64(n), p.Z))
			}
		}
		at := func(i, k int) uint32 {
			if profile[i].R == 0 {
				return first[i]
			}
			return first[i] + uint32(k%n)
		}
		for i := range profile {
			j := (i + 1) % len(profile)
			for k := range n {
				a, b, c, d := at(i, k), at(i, k+1), at(j, k+1), at(j, k)
				if a != b {
					AddFan(m, a, b, c)
				}
				if c != d {
					AddFan(m, a, c, d)
				}
			}
		}
	}
	return m
}

// Turning is the volume between the z axis and an open profile that rises, turned
// in n steps: a sum of frusta with n-gons in circles for ends (published check
// values, 1.1 and 1.3).
func Turning(n int, profile ...Point2) float64 {
	polygon := float64(n) / 2 * math.Sin(2*math.Pi/float64(n))
	sum := 0.0
	for i := range len(profile) - 1 {
		p, q := profile[i], profile[i+1]
		sum += (q.Z - p.Z) / 3 * polygon * (p.R*p.R + p.R*q.R + q.R*q.R)
	}
	return sum
}

// Arc is a circle of radius r about (0, z) from one angle to another, measured
// from the r axis, in so many steps. Corners at the poles are on the axis.
func Arc(r, z, from, to float64, steps int) []Point2 {
	var arc []Point2
	for i := range steps + 1 {
		angle := from + (to-from)*float64(i)/float64(steps)
		p := Point2{r * math.Cos(angle), z + r*math.Sin(angle)}
		if math.Abs(math.Abs(angle)-math.Pi/2) < 1e-12 {
			p.R = 0
		}
		arc = append(arc, p)
	}
	return arc
}

// Bowl is a cylinder of radius R and height h with half a ball of radius r
// hollowed out of its top, and the volume of that: less than 2πr³/3 by its facets.
func Bowl(n int, R, h, r float64) (*mesh.Mesh, float64) {
	hollow := Arc(r, h, -math.Pi/2, 0, n/4)
	return Revolved(n, append([]Point2{{0, 0}, {R, 0}, {R, h}}, reversed(hollow)...)), Turning(n, hollow...)
}

func reversed(p []Point2) []Point2 {
	var out []Point2
	for i := range p {
		out = append(out, p[len(p)-1-i])
	}
	return out
}

// Over is m upside down, turned about the x axis, and put back on z = 0.
func Over(m *mesh.Mesh) *mesh.Mesh {
	top := m.Bounds().Max.Z
	return Moved(m, func(p mesh.Vec) mesh.Vec { return mesh.Vec{X: p.X, Y: 0 - p.Y, Z: top - p.Z} })
}

// HollowBall has its middle at height R and radii R and r; with drains, vertical
// holes of radius d go in at its bottom, its top, or both. The volume is that of
// the hollow with its drains, as far as the ends of the ball's drained sides.
func HollowBall(n int, R, r, d float64, bottom, top bool) (*mesh.Mesh, float64) {
	limits := func(radius float64) (from, to float64) {
		from, to = -math.Pi/2, math.Pi/2
		if bottom {
			from = -math.Acos(d / radius)
		}
		if top {
			to = math.Acos(d / radius)
		}
		return from, to
	}
	outerFrom, outerTo := limits(R)
	innerFrom, innerTo := limits(r)
	outer, inner := Arc(R, R, outerFrom, outerTo, n/2), Arc(r, R, innerFrom, innerTo, n/2)
	hollow := inner
	if bottom {
		hollow = append([]Point2{{d, outer[0].Z}}, hollow...)
	}
	if top {
		hollow = append(hollow, Point2{d, outer[len(outer)-1].Z})
	}
	volume := Turning(n, hollow...)
	var m *mesh.Mesh
	if bottom || top {
		m = Revolved(n, append(outer, reversed(inner)...))
	} else {
		m = Revolved(n, outer, reversed(inner))
	}
	low := m.Bounds().Min.Z
	return Moved(m, Shift(0, 0, -low)), volume
}

// Block is a box between two corners.
func Block(x0, y0, z0, x1, y1, z1 float64) *mesh.Mesh {
	return Moved(Box(x1-x0, y1-y0, z1-z0), Shift(x0, y0, z0))
}

// Cells is the border of the unit cells of a grid that are filled.
func Cells(nx, ny, nz int, filled func(x, y, z int) bool) *mesh.Mesh {
	m := &mesh.Mesh{}
	inside := func(p [3]int) bool {
		return p[0] >= 0 && p[1] >= 0 && p[2] >= 0 && p[0] < nx && p[1] < ny && p[2] < nz && filled(p[0], p[1], p[2])
	}
	number := map[[3]int]uint32{}
	at := func(p [3]int) uint32 {
		if _, ok := number[p]; !ok {
			number[p] = uint32(len(m.Vertices))
			m.Vertices = append(m.Vertices, mesh.Vec{X: float64(p[0]), Y: float64(p[1]), Z: float64(p[2])})
		}
		return number[p]
	}
	for i := range nx * ny * nz {
		p := [3]int{i % nx, i / nx % ny, i / nx / ny}
		if !inside(p) {
			continue
		}
		for axis := range 3 {
			u, v := (axis+1)%3, (axis+2)%3
			for _, side := range []int{0, 1} {
				q := p
				q[axis] += 2*side - 1
				if inside(q) {
					continue
				}
				corner := func(du, dv int) uint32 {
					c := p
					c[axis] += side
					c[u] += du
					c[v] += dv
					return at(c)
				}
				if side == 1 {
					AddFan(m, corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1))
				} else {
					AddFan(m, corner(0, 0), corner(0, 1), corner(1, 1), corner(1, 0))
				}
			}
		}
	}
	return m
}
