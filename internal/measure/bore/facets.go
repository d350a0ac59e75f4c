package bore

import (
	"context"
	"math"
	"slices"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// surface is a mesh with what growing over it needs: each triangle's normal and
// its neighbour across each side. It takes 28 bytes a triangle, and hardly more
// while it is made.
type surface struct {
	*mesh.Mesh
	normal [][3]float32 // unit; zero for a triangle without area
	// doubt is by how much, in radians, noise may turn a triangle's normal: noise
	// at a corner over the least height.
	doubt []float32
	// across[3i+k] is 2·(the triangle across side k of i) + turned, or −1 where
	// there is not exactly one. turned is 1 where the two run along their side the
	// same way, so that one of them is the wrong way out.
	across []int32
	// noise is how far off, in mm, a corner may be; see noiseOf.
	noise float64
	// outward is −1 for a closed, consistent mesh that is inside out as a whole, else 1.
	outward float64
}

// A corner of a file is off by half a step of 32-bit numbers, 2^-25 of the
// coordinate; the step of the largest coordinate is taken whole. To that is added
// what exporters and sculpts leave: 1e-4 mm, a hundredth of a resin layer, but
// no more than 1e-5 of the part, so that a part in another unit is seen alike.
func noiseOf(b mesh.Box) float64 {
	far := 0.0
	for k := range 3 {
		far = max(far, math.Abs(b.Min.Component(k)), math.Abs(b.Max.Component(k)))
	}
	return far*0x1p-24 + min(1e-4, 1e-5*b.Size().Norm())
}

const piece = 1 << 14

func newSurface(ctx context.Context, m *mesh.Mesh) (*surface, error) {
	n := len(m.Triangles)
	s := &surface{Mesh: m, across: make([]int32, 3*n), noise: noiseOf(m.Bounds()), outward: 1}
	sound, err := s.join(ctx) // first, while there is room for the stars
	if err != nil {
		return nil, err
	}
	s.normal, s.doubt = make([][3]float32, n), make([]float32, n)
	volumes := make([]float64, parallel.Count(n, piece))
	middle := m.Bounds().Centre()
	err = parallel.Pieces(ctx, n, piece, func(p, lo, hi int) {
		for i := lo; i < hi; i++ {
			a, b, c := m.Corners(i)
			cross := b.Sub(a).Cross(c.Sub(a))
			if size := cross.Norm(); size > 0 && !math.IsInf(size, 0) {
				s.normal[i] = [3]float32{float32(cross.X / size), float32(cross.Y / size), float32(cross.Z / size)}
			}
			s.doubt[i] = float32(s.doubtOf(a, b, c, cross))
			volumes[p] += a.Sub(middle).Dot(cross)
		}
	})
	if err != nil {
		return nil, err
	}
	volume := 0.0
	for _, v := range volumes {
		volume += v
	}
	if sound && volume < 0 {
		s.outward = -1
	}
	return s, nil
}

// join finds the neighbours: at each vertex, the sides that lead to a greater one
// are sorted. It tells whether every side has exactly one neighbour and none is
// the wrong way out. Triangles with a repeated vertex are no one's neighbours.
func (s *surface) join(ctx context.Context) (sound bool, err error) {
	stars, err := s.Stars(ctx)
	if err != nil {
		return false, err
	}
	for i := range s.across {
		s.across[i] = -1
	}
	vertices := len(s.Vertices)
	unsound := make([]bool, parallel.Count(vertices, piece))
	err = parallel.Pieces(ctx, vertices, piece, func(p, lo, hi int) {
		var sides []uint64 // the other vertex and 3·triangle + side: 32 + 32 bits
		for v := lo; v < hi; v++ {
			sides = sides[:0]
			for _, c := range stars.Of(v) {
				next, before := stars.Others(c)
				side := 3*c.Triangle() + c.Place()
				if next > uint32(v) {
					sides = append(sides, uint64(next)<<32|uint64(side))
				}
				if before > uint32(v) {
					sides = append(sides, uint64(before)<<32|uint64(3*c.Triangle()+(c.Place()+2)%3))
				}
			}
			slices.Sort(sides)
			for group := sides; len(group) > 0; {
				n := 1
				for n < len(group) && group[n]>>32 == group[0]>>32 {
					n++
				}
				if n == 2 {
					x, y := uint32(group[0]), uint32(group[1])
					turned := int32(0)
					if s.Triangles[x/3][x%3] == s.Triangles[y/3][y%3] {
						turned, unsound[p] = 1, true
					}
					s.across[x], s.across[y] = int32(y/3)<<1|turned, int32(x/3)<<1|turned
				} else {
					unsound[p] = true
				}
				group = group[n:]
			}
		}
	})
	return !slices.Contains(unsound, true), err
}

func (s *surface) normalOf(i int32) mesh.Vec {
	n := &s.normal[i]
	return mesh.Vec{X: float64(n[0]), Y: float64(n[1]), Z: float64(n[2])}
}

func (s *surface) doubtOf(a, b, c, cross mesh.Vec) float64 {
	u, v, w := b.Sub(a), c.Sub(b), a.Sub(c)
	d := s.noise * math.Sqrt(max(u.Dot(u), v.Dot(v), w.Dot(w))) / cross.Norm()
	if !(d < 1e30) {
		return 1e30 // without area, or too large or small for numbers
	}
	return d
}

// sure says whether triangle i's normal means something.
func (s *surface) sure(i int32) bool { return s.doubt[i] <= unsure }

// bend is the angle, in radians, by which the surface turns from triangle i, as
// seen with its normal n, to its neighbour over side k with normal m: positive
// where the edge is concave, a valley.
func (s *surface) bend(i int32, k int, n, m mesh.Vec) float64 {
	return math.Atan2(s.valley(i, k, n, m), n.Dot(m))
}

// valley is the sine of bend.
func (s *surface) valley(i int32, k int, n, m mesh.Vec) float64 {
	t := &s.Triangles[i]
	edge := s.Vertices[t[(k+1)%3]].Sub(s.Vertices[t[k]])
	return m.Cross(n).Dot(edge) / edge.Norm()
}

// follows says whether the surface goes on from triangle i, of normal n, over side
// k to j, of normal m, as within one wall: bent no sharper than sharpest and not
// against sign, by more than the doubts and against. against is what coordinates
// with three decimals make of a flat facet with sides of some 0.03 mm.
func (s *surface) follows(i int32, k int, j int32, n, m mesh.Vec, sign float64) bool {
	const against = 0.03
	slack := against + float64(s.doubt[i]) + float64(s.doubt[j])
	return n.Dot(m) >= cosSharpest-slack && s.valley(i, k, n, m)*sign >= -slack
}
