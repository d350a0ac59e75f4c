package change

import (
	"context"
	"math"

	"cardback/internal/mesh"
)

// Same shapes have, about the centres of their areas, the same second moments, so
// most pairs of meshes are told apart by three numbers. For the rest, motions are
// tried in this order, rotations before mirrorings in each:
//
//   - those that take axes to axes, as programs turn and mirror parts;
//   - those that take one pair of corners to another such pair, see corners;
//   - those that take principal axes to principal axes, moved into place by least
//     squares: for surfaces without corners.
//
// What decides is always the distance between the moved old surface and the new one,
// proved each way. A symmetric body is moved by whatever motion comes first.

// findMotion looks for a motion that takes o to n, to within limit.
func findMotion(ctx context.Context, o, n *surface, limit float64) (Motion, bool, error) {
	f := &finder{o: o, n: n, limit: limit, failed: []Motion{Still}}
	if !f.alike() {
		return Still, false, nil
	}
	f.probes = o.spread(64)
	axes, axesMirrored := axisMotions()
	for _, tries := range []func(ctx context.Context) (bool, error){
		func(ctx context.Context) (bool, error) { return f.exactly(ctx, axes) },
		func(ctx context.Context) (bool, error) { return f.byCorners(ctx, false) },
		func(ctx context.Context) (bool, error) { return f.byPrincipalAxes(ctx, false) },
		func(ctx context.Context) (bool, error) { return f.exactly(ctx, axesMirrored) },
		func(ctx context.Context) (bool, error) { return f.byCorners(ctx, true) },
		func(ctx context.Context) (bool, error) { return f.byPrincipalAxes(ctx, true) },
	} {
		ok, err := tries(ctx)
		if ok || err != nil {
			return f.found, ok, err
		}
	}
	return Still, false, ctx.Err()
}

type finder struct {
	o, n             *surface
	limit            float64
	scale            float64 // of the new over the old
	oAxes, nAxes     [3]mesh.Vec
	oSpread, nSpread [3]float64 // second moments along them, ascending; the new's over scale²
	probes           []int32    // vertices of the old tried first
	corners          *cornerPairs
	failed           []Motion // looked into, and not one
	found            Motion
}

// alike reports whether areas and second moments leave room for a motion. They are
// sums over surfaces that are within the limit of each other, so they differ by some
// such shares of the span, or by roundings of the coordinates alone; a thousandth is
// ample for these, and only costs time where it is too much.
func (f *finder) alike() bool {
	ample := max(1e-3, 8*f.limit/max(f.o.span, f.n.span))
	a, b := f.o.size.Area, f.n.size.Area
	var oTrace, nTrace float64
	for k := range 3 {
		oTrace += f.o.second[k][k]
		nTrace += f.n.second[k][k]
	}
	if !(a > 0 && b > 0 && oTrace > 0 && nTrace > 0) {
		return false
	}
	f.scale = math.Sqrt(nTrace / oTrace)
	if math.Abs(math.Sqrt(b/a)/f.scale-1) > ample {
		return false
	}
	// A size that does not show within the limit is the same size; a factor given with
	// four decimals comes back as it was.
	if math.Abs(f.scale-1)*f.o.span < f.limit {
		f.scale = 1
	}
	if round := math.Round(f.scale*1e4) / 1e4; math.Abs(f.scale-round)*f.o.span < f.limit/2 {
		f.scale = round
	}
	f.oAxes, f.oSpread = principal(f.o.second)
	f.nAxes, f.nSpread = principal(f.n.second)
	for k := range 3 {
		if math.Abs(f.nSpread[k]/(f.scale*f.scale)-f.oSpread[k]) > ample*oTrace {
			return false
		}
	}
	cubed := f.scale * f.scale * f.scale
	return math.Abs(math.Abs(f.n.size.Volume)-cubed*math.Abs(f.o.size.Volume)) <= float64(ample*math.Abs(f.n.size.Volume))+float64(f.limit*b)
}

// about is the motion with the given matrix that takes centre to centre.
func (f *finder) about(r [9]float64) Motion {
	m := Motion{Matrix: r, Scale: f.scale}
	m.Shift = f.n.centre.Sub(m.Apply(f.o.centre))
	return m
}

// near reports whether a motion takes all probes to within reach of the new
// surface.
func (f *finder) near(m Motion, reach float64) bool {
	for _, v := range f.probes {
		if d, _ := f.n.nearest(m.Apply(f.o.mesh.Vertices[v]), reach, -1); d > reach {
			return false
		}
	}
	return true
}

// mostProofs is how many motions that take all probes near are looked into, of each
// hand; most that are no motion of the part fail at some probe.
const mostProofs = 6

// prove keeps a motion if it takes the old surface to the new one.
func (f *finder) prove(ctx context.Context, m Motion) (bool, error) {
	if !f.near(m, f.limit) {
		return false, nil
	}
	count := 0
	for _, old := range f.failed {
		if old.Mirrors() == m.Mirrors() {
			count++
		}
		if old.differs(m, f.o) < f.limit/2 {
			return false, nil
		}
	}
	if count >= mostProofs {
		return false, nil
	}
	moved, err := newSurface(ctx, m.image(f.o.mesh))
	if err != nil {
		return false, err
	}
	ok, err := sameSurface(ctx, moved, f.n, f.limit)
	if ok {
		f.found = m
	} else {
		f.failed = append(f.failed, m)
	}
	return ok, err
}

// differs is how far apart two motions can take a point of a surface, at most.
func (m Motion) differs(o Motion, s *surface) float64 {
	sum := 0.0
	for k := range m.Matrix {
		d := float64(m.Scale*m.Matrix[k]) - float64(o.Scale*o.Matrix[k])
		sum += float64(d * d)
	}
	return float64(math.Sqrt(sum)*s.span) + m.Apply(s.centre).Sub(o.Apply(s.centre)).Norm()
}

// image is a mesh moved, with outward sides kept outward.
func (m Motion) image(of *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: make([]mesh.Vec, len(of.Vertices)), Triangles: of.Triangles}
	for i, p := range of.Vertices {
		out.Vertices[i] = m.Apply(p)
	}
	if m.Mirrors() {
		out.Triangles = make([][3]uint32, len(of.Triangles))
		for i, t := range of.Triangles {
			out.Triangles[i] = [3]uint32{t[0], t[2], t[1]}
		}
	}
	return out
}

// exactly tries motions as they are.
func (f *finder) exactly(ctx context.Context, all [][9]float64) (bool, error) {
	for _, r := range all {
		if ok, err := f.prove(ctx, f.about(r)); ok || err != nil {
			return ok, err
		}
	}
	return false, nil
}

// settled tries a motion that may be somewhat off: as it is, and moved into place.
func (f *finder) settled(ctx context.Context, r [9]float64) (bool, error) {
	m := f.about(r)
	if !f.near(m, 0.003*f.n.span) {
		return false, nil
	}
	if ok, err := f.prove(ctx, m); ok || err != nil {
		return ok, err
	}
	return f.prove(ctx, f.settle(m))
}

// axisMotions are the 24 rotations that take axes to axes, the one that turns
// nothing first, and the 24 mirrorings, those in one axis first.
func axisMotions() (turns, mirrorings [][9]float64) {
	for _, p := range [6][3]int{{0, 1, 2}, {0, 2, 1}, {2, 1, 0}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}} {
		for _, signs := range [8]int{0, 1, 2, 4, 6, 5, 3, 7} {
			var r [9]float64
			for row, column := range p {
				r[3*row+column] = 1 - 2*float64(signs>>row&1)
			}
			if determinant(r) > 0 {
				turns = append(turns, r)
			} else {
				mirrorings = append(mirrorings, r)
			}
		}
	}
	return turns, mirrorings
}

// byPrincipalAxes tries the motions that take the principal axes, ordered by their
// moments, to each other.
func (f *finder) byPrincipalAxes(ctx context.Context, mirrored bool) (bool, error) {
	for signs := range 8 {
		var r [9]float64
		for k := range 3 {
			side := 1 - 2*float64(signs>>k&1)
			for i := range 3 {
				for j := range 3 {
					r[3*i+j] += float64(side * float64(f.nAxes[k].Component(i)*f.oAxes[k].Component(j)))
				}
			}
		}
		if determinant(r) < 0 != mirrored {
			continue
		}
		if ok, err := f.settled(ctx, r); ok || err != nil {
			return ok, err
		}
	}
	return false, nil
}
