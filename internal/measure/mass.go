package measure

import (
	"context"
	"math"
	"runtime"

	"golang.org/x/sync/errgroup"

	"cardback/internal/mesh"
)

// mass is what one pass over the triangles adds up, about the centre of the
// bounds.
type mass struct {
	volume  sum    // six times: a·(b×c)
	moment  [3]sum // of the volume, 24 times: a·(b×c) (a+b+c)
	area    sum    // twice: |(b−a)×(c−a)|
	surface [3]sum // moment of the surface, six times: |(b−a)×(c−a)| (a+b+c)
	noArea  int    // triangles with a repeated vertex, or with corners on one line
}

// piece is how many triangles are added up on their own. It is fixed, and the
// pieces are joined in their order, so the sums are the same to the last bit on
// any number of processors.
const piece = 1 << 14

func massOf(ctx context.Context, m *mesh.Mesh, centre mesh.Vec) (mass, error) {
	pieces := make([]mass, (len(m.Triangles)+piece-1)/piece)
	err := pieced(ctx, len(m.Triangles), func(i, lo, hi int) { pieces[i] = massOfRange(m, centre, lo, hi) })
	var all mass
	for i := range pieces {
		p := &pieces[i]
		all.volume.join(p.volume)
		all.area.join(p.area)
		for k := range 3 {
			all.moment[k].join(p.moment[k])
			all.surface[k].join(p.surface[k])
		}
		all.noArea += p.noArea
	}
	return all, err
}

func massOfRange(m *mesh.Mesh, centre mesh.Vec, lo, hi int) mass {
	var s mass
	for i := lo; i < hi; i++ {
		t := m.Triangles[i]
		if repeats(t) {
			s.noArea++
			continue
		}
		pa, pb, pc := m.Corners(i)
		a, b, c := pa.Sub(centre), pb.Sub(centre), pc.Sub(centre)
		mid := a.Add(b).Add(c)
		v := a.Dot(b.Cross(c))
		s.volume.add(v)
		for k, x := range [3]float64{mid.X, mid.Y, mid.Z} {
			s.moment[k].add(float64(v * x))
		}
		p := newPlane(pa, pb, pc)
		w := p.normal.Norm()
		s.area.add(w)
		for k, x := range [3]float64{mid.X, mid.Y, mid.Z} {
			s.surface[k].add(float64(w * x))
		}
		// Beyond the bound of any of its 2×2 determinants the normal is not zero.
		if !(math.Abs(p.normal.X) > flatBound*p.magnitude.X+underflow ||
			math.Abs(p.normal.Y) > flatBound*p.magnitude.Y+underflow ||
			math.Abs(p.normal.Z) > flatBound*p.magnitude.Z+underflow) && collinear(pa, pb, pc) {
			s.noArea++
		}
	}
	return s
}

// repeats reports whether a triangle uses a vertex twice.
func repeats(t [3]uint32) bool { return t[0] == t[1] || t[1] == t[2] || t[2] == t[0] }

// noVolume says whether the volume added up from n triangles about the centre of
// bounds of the given size may be nothing but rounding.
//
// Corners lie within half the diagonal, r, of the centre. A triple product of
// such vectors has an error of at most 8u times its terms taken positive (see
// spaceBound), and these come to at most 6r³; the vectors themselves carry an
// error of u·r each, for 3 · u · r³ more at most. A sixth of both, for n
// triangles: less than 9nur³.
func noVolume(volume float64, n int, size mesh.Vec) bool {
	r := size.Norm() / 2
	return math.Abs(volume) <= 9*0x1p-53*float64(n)*r*r*r
}

// pieced runs f over [0, n) in pieces, on as many goroutines as there are
// processors, and stops early when the context ends.
func pieced(ctx context.Context, n int, f func(i, lo, hi int)) error {
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for i := 0; i*piece < n; i++ {
		if ctx.Err() != nil {
			break
		}
		group.Go(func() error {
			f(i, i*piece, min((i+1)*piece, n))
			return nil
		})
	}
	_ = group.Wait() // the functions give no error
	return ctx.Err()
}
