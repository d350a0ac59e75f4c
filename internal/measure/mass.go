package measure

import (
	"context"
	"math"

	"cardback/internal/measure/exact"
	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// mass is what one pass over the triangles adds up, about the centre of the
// bounds.
type mass struct {
	volume  exact.Sum    // six times: a·(b×c)
	moment  [3]exact.Sum // of the volume, 24 times: a·(b×c) (a+b+c)
	area    exact.Sum    // twice: |(b−a)×(c−a)|
	surface [3]exact.Sum // moment of the surface, six times: |(b−a)×(c−a)| (a+b+c)
	noArea  int          // triangles with a repeated vertex, or with corners on one line
}

// piece is how many triangles are added up on their own. It is fixed, and the
// pieces are joined in their order, so the sums are the same to the last bit on
// any number of processors.
const piece = 1 << 14

func massOf(ctx context.Context, m *mesh.Mesh, centre mesh.Vec) (mass, error) {
	pieces := make([]mass, parallel.Count(len(m.Triangles), piece))
	err := parallel.Pieces(ctx, len(m.Triangles), piece, func(i, lo, hi int) { pieces[i] = massOfRange(m, centre, lo, hi) })
	var all mass
	for i := range pieces {
		p := &pieces[i]
		all.volume.Join(p.volume)
		all.area.Join(p.area)
		for k := range 3 {
			all.moment[k].Join(p.moment[k])
			all.surface[k].Join(p.surface[k])
		}
		all.noArea += p.noArea
	}
	return all, err
}

// VolumeAndArea are the signed volume, in mm³, and the area, in mm², of a mesh as it is,
// cracks and all: those of a Report where nothing was closed. The error is that of ctx.
func VolumeAndArea(ctx context.Context, m *mesh.Mesh) (volume, area float64, err error) {
	s, err := massOf(ctx, m, m.Bounds().Centre())
	return s.volume.Value() / 6, s.area.Value() / 2, err
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
		s.volume.Add(v)
		for k, x := range [3]float64{mid.X, mid.Y, mid.Z} {
			s.moment[k].Add(float64(v * x))
		}
		p := exact.NewPlane(pa, pb, pc)
		w := p.Normal().Norm()
		s.area.Add(w)
		for k, x := range [3]float64{mid.X, mid.Y, mid.Z} {
			s.surface[k].Add(float64(w * x))
		}
		if !p.HasArea() && exact.Collinear(pa, pb, pc) {
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
// package exact), and these come to at most 6r³; the vectors themselves carry an
// error of u·r each, for 3 · u · r³ more at most. A sixth of both, for n
// triangles: less than 9nur³.
func noVolume(volume float64, n int, size mesh.Vec) bool {
	r := size.Norm() / 2
	return math.Abs(volume) <= 9*0x1p-53*float64(n)*r*r*r
}
