// Package exact answers on which side of a plane or line a point lies, and adds up
// without losing digits. Its predicates never err, for any finite coordinates.
package exact

import (
	"math"
	"math/big"

	"cardback/internal/mesh"
)

// The predicates here never err. Each first works in float64 with a bound on
// its error, then, for the few cases within the bound, exactly.

const (
	// spaceBound and flatBound bound the relative error of the determinants
	// below, against the same sum with every product taken positive: with the
	// unit roundoff u = 2^-53, (7 + 56u)u in space and (3 + 16u)u in the plane
	// (Shewchuk, Adaptive precision floating-point arithmetic and fast robust
	// geometric predicates, Discrete & Computational Geometry 18, 1997, bounds A
	// of orient3d and orient2d; from memory), rounded up to the next power of
	// two times u.
	spaceBound = 8 * 0x1p-53
	flatBound  = 4 * 0x1p-53
	// underflow is far above what products of denormal numbers can lose, which
	// the relative bounds leave out; smaller determinants are worked out exactly.
	underflow = 1e-290

	// A number that is 0 or between these in magnitude has its last bit at or
	// above 2^-332, so that products of three are whole multiples of 2^-996 and
	// below 2^990: nothing that the exact sums hold overflows or underflows.
	exactLeast, exactGreatest = 0x1p-280, 0x1p330
)

// Plane is an oriented triangle made ready for testing points against it: the
// normal u × v of its sides from corner a, and the same with the products added.
type Plane struct {
	a, normal, magnitude mesh.Vec
}

func NewPlane(a, b, c mesh.Vec) Plane {
	u, v := b.Sub(a), c.Sub(a)
	return Plane{a, u.Cross(v), mesh.Vec{
		X: math.Abs(float64(u.Y*v.Z)) + math.Abs(float64(u.Z*v.Y)),
		Y: math.Abs(float64(u.Z*v.X)) + math.Abs(float64(u.X*v.Z)),
		Z: math.Abs(float64(u.X*v.Y)) + math.Abs(float64(u.Y*v.X)),
	}}
}

// Normal is u × v, rounded: twice the triangle's area long, and pointing to the
// side from which abc runs counter-clockwise.
func (p *Plane) Normal() mesh.Vec { return p.normal }

// Corner is the triangle's first corner.
func (p *Plane) Corner() mesh.Vec { return p.a }

// HasArea reports whether the triangle certainly has an area. Where it is false,
// Collinear decides.
func (p *Plane) HasArea() bool {
	// Beyond the bound of any of its 2×2 determinants the normal is not zero.
	return math.Abs(p.normal.X) > flatBound*p.magnitude.X+underflow ||
		math.Abs(p.normal.Y) > flatBound*p.magnitude.Y+underflow ||
		math.Abs(p.normal.Z) > flatBound*p.magnitude.Z+underflow
}

// Height is six times the volume of the tetrahedron on the triangle with its
// tip at p, positive on the side of the normal; certain says that its sign is
// right.
func (p *Plane) Height(q mesh.Vec) (h float64, certain bool) {
	d := q.Sub(p.a)
	h = p.normal.Dot(d)
	bound := spaceBound*(float64(p.magnitude.X*math.Abs(d.X))+float64(p.magnitude.Y*math.Abs(d.Y))+float64(p.magnitude.Z*math.Abs(d.Z))) + underflow
	return h, h > bound || h < -bound
}

// Side is the sign of p's height over the triangle abc: 1 on the side from
// which it runs counter-clockwise, 0 in its plane.
func Side(a, b, c, p mesh.Vec) int {
	pl := NewPlane(a, b, c)
	if h, certain := pl.Height(p); certain {
		return signOf(h)
	}
	return SideExactly(a, b, c, p)
}

// SideExactly is Side without the quick float64 test before it.
func SideExactly(a, b, c, p mesh.Vec) int {
	u, ok1 := exactDifference(b, a)
	v, ok2 := exactDifference(c, a)
	d, ok3 := exactDifference(p, a)
	if !ok1 || !ok2 || !ok3 {
		return rationalSide(a, b, c, p)
	}
	var terms [mostTerms]float64
	t := terms[:0]
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		t = appendTriple(t, d[i], u[j], v[k])
		t = appendTriple(t, d[i].negative(), u[k], v[j])
	}
	return signOfSum(t)
}

// Point is a place in a plane, in mm.
type Point struct{ X, Y float64 }

// Turn is the sign of the turn at a from b to c: 1 counter-clockwise, 0 for
// points on one line.
func Turn(a, b, c Point) int {
	ux, uy, vx, vy := b.X-a.X, b.Y-a.Y, c.X-a.X, c.Y-a.Y
	l, r := float64(ux*vy), float64(uy*vx)
	det, bound := l-r, flatBound*(math.Abs(l)+math.Abs(r))+underflow
	if det > bound || det < -bound {
		return signOf(det)
	}
	// The height of the point straight above a, at 1, over abc's plane is the turn.
	flat := func(p Point) mesh.Vec { return mesh.Vec{X: p.X, Y: p.Y} }
	return SideExactly(flat(a), flat(b), flat(c), mesh.Vec{X: a.X, Y: a.Y, Z: 1})
}

// Collinear reports whether three points lie on one line, exactly: they do if
// they do along each axis.
func Collinear(a, b, c mesh.Vec) bool {
	return Turn(Point{a.X, a.Y}, Point{b.X, b.Y}, Point{c.X, c.Y}) == 0 &&
		Turn(Point{a.Y, a.Z}, Point{b.Y, b.Z}, Point{c.Y, c.Z}) == 0 &&
		Turn(Point{a.Z, a.X}, Point{b.Z, b.X}, Point{c.Z, c.X}) == 0
}

func signOf(x float64) int {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// exact is a number in two float64s that do not overlap: what a difference
// rounds to, and what that leaves out.
type exact struct{ head, tail float64 }

func (x exact) negative() exact { return exact{-x.head, -x.tail} }

// exactDifference is a − b without rounding; ok is false where a number in it
// is of a size that the exact sums cannot hold. The tails of coordinates read
// as 32-bit numbers of like size are 0.
func exactDifference(a, b mesh.Vec) (d [3]exact, ok bool) {
	ok = true
	for k, xy := range [3][2]float64{{a.X, b.X}, {a.Y, b.Y}, {a.Z, b.Z}} {
		x, y := xy[0], xy[1]
		head := x - y
		back := x - head // what was subtracted, as far as it came through (Knuth's two-sum)
		d[k] = exact{head, (x - (head + back)) + (back - y)}
		ok = ok && withinExact(d[k].head) && withinExact(d[k].tail)
	}
	return d, ok
}

func withinExact(x float64) bool {
	m := math.Abs(x)
	return m == 0 || m >= exactLeast && m <= exactGreatest
}

// mostTerms is how many numbers a determinant comes to: 6 products of three
// numbers in two parts each, every one of the 8 products of parts in 4 numbers.
const mostTerms = 6 * 8 * 4

// appendTriple appends up to 32 numbers whose exact sum is x·y·z.
func appendTriple(t []float64, x, y, z exact) []float64 {
	for _, a := range [2]float64{y.head, y.tail} {
		for _, b := range [2]float64{z.head, z.tail} {
			p := float64(a * b)
			if p == 0 {
				continue // neither is so small that the product could vanish
			}
			rest := math.FMA(a, b, -p)
			for _, c := range [2]float64{x.head, x.tail} {
				if c != 0 {
					t = appendProduct(appendProduct(t, c, rest), c, p)
				}
			}
		}
	}
	return t
}

// appendProduct appends two numbers whose exact sum is x·y.
func appendProduct(t []float64, x, y float64) []float64 {
	p := float64(x * y)
	return append(t, math.FMA(x, y, -p), p)
}

// signOfSum is the sign of the exact sum of at most mostTerms numbers. It adds them one
// by one to an expansion: numbers without a common bit, in ascending order
// (Shewchuk, as above), whose last non-zero one carries the sign.
func signOfSum(terms []float64) int {
	var e [mostTerms]float64
	n := 0
	for _, q := range terms {
		kept := 0
		for _, x := range e[:n] {
			s := q + x
			b := s - q
			if rest := (q - (s - b)) + (x - b); rest != 0 {
				e[kept] = rest
				kept++
			}
			q = s
		}
		n = kept
		if q != 0 {
			e[n] = q
			n++
		}
	}
	if n == 0 {
		return 0
	}
	return signOf(e[n-1])
}

// rationalSide is Side in fractions, for coordinates that differ too much in
// size for the sums above. It wants finite coordinates.
func rationalSide(a, b, c, p mesh.Vec) int {
	diff := func(x, y float64) *big.Rat {
		return new(big.Rat).Sub(new(big.Rat).SetFloat64(x), new(big.Rat).SetFloat64(y))
	}
	vec := func(q mesh.Vec) [3]*big.Rat {
		return [3]*big.Rat{diff(q.X, a.X), diff(q.Y, a.Y), diff(q.Z, a.Z)}
	}
	mul := func(x, y *big.Rat) *big.Rat { return new(big.Rat).Mul(x, y) }
	u, v, d := vec(b), vec(c), vec(p)
	sum := new(big.Rat)
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		minor := new(big.Rat).Sub(mul(u[j], v[k]), mul(u[k], v[j]))
		sum.Add(sum, mul(d[i], minor))
	}
	return sum.Sign()
}
