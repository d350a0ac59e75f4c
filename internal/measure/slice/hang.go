package slice

import (
	"math"

	"cardback/internal/mesh"
)

// hang tells which triangles lean out beyond a limit.
//
// A surface leans from the vertical by the angle whose sine is −n·z, n its outward
// unit normal: 0 for a wall, 90° for a ceiling. Chamfers and cones of exactly the
// limit are common and print well, so one counts only where it is beyond the
// limit whatever rounding to 32 bits did to its corners. With coordinates off by
// ε each, an edge is off by 2√3 ε at most, and the cross product of two edges e
// and f by 2√3 ε (|e| + |f|), besides terms in ε².
//
// What lies on the plate is held by it: triangles all of whose corners are at the
// least height, or above it by no more than rounding to 32 bits may do in any
// pose, 2√2 ε.
type hang struct {
	sine  float64
	slack float64
	plate float64
}

func newHang(s *subject, limit, low float64) hang {
	sine, _ := sinCos(limit)
	return hang{sine, 2 * math.Sqrt(3) * s.rounding, low + float64(2*math.Sqrt2*s.rounding)}
}

// leans reports whether a triangle with the normal n, of any length but nought,
// leans out downwards beyond the limit; and upwards, which is what counts in a
// mesh that is inside out.
func (h *hang) leans(a, b, c, n mesh.Vec, length float64) (down, up bool) {
	least := float64(h.sine * length)
	if !(math.Abs(n.Z) > least) {
		return false, false // most end here
	}
	if a.Z <= h.plate && b.Z <= h.plate && c.Z <= h.plate {
		return false, false
	}
	if !(math.Abs(n.Z)-least > float64(h.slack*(b.Sub(a).Norm()+c.Sub(a).Norm()))) {
		return false, false
	}
	return n.Z < 0, n.Z > 0
}
