package loose

import "cardback/internal/mesh"

type corners [3]mesh.Vec

func cornersOf(m *mesh.Mesh, i int32) corners {
	t := m.Triangles[i]
	return corners{m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]}
}

func (s *corners) box() mesh.Box {
	b := mesh.Box{Min: s[0], Max: s[0]}
	for _, v := range s[1:] {
		b = union(b, mesh.Box{Min: v, Max: v})
	}
	return b
}

// near reports whether two triangles come within reach of each other. Two that are
// apart are nearest at a corner of one or along a side of each; two that meet have a
// side of one that goes through the other, or come within reach at a corner or side.
func (s *corners) near(t *corners, reach float64) bool {
	most := reach * reach
	for k := range 3 {
		p, q := s[k], s[(k+1)%3]
		if t.squared(p) <= most || s.squared(t[k]) <= most || t.pierced(p, q) || s.pierced(t[k], t[(k+1)%3]) {
			return true
		}
		for j := range 3 {
			if squaredBetween(p, q, t[j], t[(j+1)%3]) <= most {
				return true
			}
		}
	}
	return false
}

// squared is the square of the distance of p from the triangle where it is nearest
// within the face, and otherwise at least that.
func (s *corners) squared(p mesh.Vec) float64 {
	a, b, v := s[1].Sub(s[0]), s[2].Sub(s[0]), p.Sub(s[0])
	aa, ab, bb, va, vb := a.Dot(a), a.Dot(b), b.Dot(b), v.Dot(a), v.Dot(b)
	det := float64(aa*bb) - float64(ab*ab)
	if det > 0 {
		x, y := (float64(bb*va)-float64(ab*vb))/det, (float64(aa*vb)-float64(ab*va))/det
		if x >= 0 && y >= 0 && x+y <= 1 {
			d := v.Sub(a.Scale(x)).Sub(b.Scale(y))
			return d.Dot(d)
		}
	}
	return v.Dot(v) // from a corner; sides are looked at by themselves
}

// pierced reports whether the segment pq goes through the triangle.
func (s *corners) pierced(p, q mesh.Vec) bool {
	n := s[1].Sub(s[0]).Cross(s[2].Sub(s[0]))
	a, b := p.Sub(s[0]).Dot(n), q.Sub(s[0]).Dot(n)
	if a == b || a > 0 && b > 0 || a < 0 && b < 0 {
		return false
	}
	x := p.Add(q.Sub(p).Scale(a / (a - b)))
	for k := range 3 {
		if s[(k+1)%3].Sub(s[k]).Cross(x.Sub(s[k])).Dot(n) < 0 {
			return false
		}
	}
	return true
}

// squaredBetween is the square of the distance between the segments pq and ab (the
// usual clamping of the two parameters; as in C. Ericson, Real-Time Collision
// Detection, 2005, section 5.1.9, from memory).
func squaredBetween(p, q, a, b mesh.Vec) float64 {
	u, v, w := q.Sub(p), b.Sub(a), p.Sub(a)
	uu, uv, vv, uw, vw := u.Dot(u), u.Dot(v), v.Dot(v), u.Dot(w), v.Dot(w)
	x := 0.0
	if det := float64(uu*vv) - float64(uv*uv); det > 0 {
		x = clamped((float64(uv*vw) - float64(vv*uw)) / det)
	}
	y := 0.0
	if vv > 0 {
		y = (float64(uv*x) + vw) / vv
	}
	if y < 0 || y > 1 {
		y = clamped(y)
		if uu > 0 {
			x = clamped((float64(uv*y) - uw) / uu)
		}
	}
	d := w.Add(u.Scale(x)).Sub(v.Scale(y))
	return d.Dot(d)
}

func clamped(x float64) float64 { return min(max(x, 0), 1) }
