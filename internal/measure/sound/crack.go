package sound

import (
	"cmp"
	"context"
	"math"
	"slices"

	"cardback/internal/measure/tree"
	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// Numbers that were meant to be equal may differ in a file because they were
// written with few digits, or worked out twice in 32 bits. Five significant digits
// are taken for the fewest that meshes are written with (common practice, no
// source): steps of up to digits times the greatest coordinate, so that each of two
// points is off by half a step at most along each axis, and they are √3 steps apart
// at most. On a part of 100 mm that is 0.017 mm, less than printers resolve.
const digits = 1e-4

const (
	// apartShare is how much of the shortest side points may be apart and still be
	// taken for one: joining all that is within a quarter cannot bring together
	// the ends of any side, not even where both ends have moved by as much.
	apartShare = 1.0 / 4

	// looksEachPoint bounds the border edges looked at for the border's points,
	// on average over borderPiece points one after another: on a heap of large loose
	// triangles every edge's box would be near every point.
	looksEachPoint = 128
	borderPiece    = 1 << 10
)

// Crack looks along the open borders for vertices that lie on another border edge
// or beside another border vertex, within a reach that is the lesser of √3 steps
// of the fewest digits (see digits) and a quarter of the mesh's shortest side.
// Both are what tells two writings of one point from two points; nothing else
// about the mesh is assumed, and nothing is joined.
//
// A vertex with another border vertex in reach counts as a near duplicate; one
// that has none, but lies in reach of a border edge of which it is no corner,
// strictly between its ends, as a T-junction. Vertices of one triangle are never
// taken for near duplicates.
func Crack(ctx context.Context, m *mesh.Mesh) (Cracks, error) {
	b, err := borderOf(ctx, m)
	if err != nil || len(b.edges) == 0 {
		return Cracks{}, err
	}
	reach := min(math.Sqrt(3)*digits*b.extent, apartShare*b.shortest)
	// The border's edges, as triangles whose third corner is the second once more.
	lines := &mesh.Mesh{Vertices: m.Vertices, Triangles: make([][3]uint32, len(b.edges))}
	for i, e := range b.edges {
		lines.Triangles[i] = [3]uint32{e.a, e.b, e.b}
	}
	t, err := tree.New(ctx, lines)
	if err != nil {
		return Cracks{}, err
	}
	type seen struct {
		near, onEdge []uint32 // vertices
		farthest     float64  // of the near ones to their nearest
		partial      bool
	}
	pieces := make([]seen, parallel.Count(len(b.points), borderPiece))
	err = parallel.Pieces(ctx, len(b.points), borderPiece, func(i, lo, hi int) {
		s := &pieces[i]
		looks := (hi - lo) * looksEachPoint
		for _, v := range b.points[lo:hi] {
			p := m.Vertices[v]
			beside, onEdge := math.Inf(1), false
			t.InBox(around(p, reach), func(n int32) bool {
				looks--
				e := b.edges[n]
				if e.a == v || e.b == v || e.third == v {
					return looks > 0
				}
				q, r := m.Vertices[e.a], m.Vertices[e.b]
				toQ, toR := p.Sub(q).Norm(), p.Sub(r).Norm()
				beside = min(beside, toQ, toR)
				d := r.Sub(q)
				if x := p.Sub(q).Dot(d) / d.Dot(d); x > 0 && x < 1 && p.Sub(q.Add(d.Scale(x))).Norm() <= reach {
					onEdge = true
				}
				return looks > 0
			})
			switch {
			case beside <= reach:
				s.near = append(s.near, v)
				s.farthest = max(s.farthest, beside)
			case onEdge:
				s.onEdge = append(s.onEdge, v)
			}
			if looks <= 0 {
				s.partial = true
				break
			}
		}
	})
	if err != nil {
		return Cracks{}, err
	}
	var out Cracks
	farthest := 0.0
	place := func(places *[]mesh.Vec, count *int, v uint32) {
		*count++
		if len(*places) < MostPlaces {
			*places = append(*places, m.Vertices[v])
		}
	}
	for i := range pieces {
		s := &pieces[i]
		farthest = max(farthest, s.farthest)
		out.Partial = out.Partial || s.partial
		for _, v := range s.near {
			place(&out.NearPlaces, &out.NearDuplicates, v)
		}
		for _, v := range s.onEdge {
			place(&out.TPlaces, &out.TJunctions, v)
		}
	}
	if out.NearDuplicates > 0 && !out.Partial {
		out.Weld, err = b.weldFor(ctx, m, farthest, reach)
	}
	return out, err
}

func around(p mesh.Vec, reach float64) mesh.Box {
	r := mesh.Vec{X: reach, Y: reach, Z: reach}
	return mesh.Box{Min: p.Sub(r), Max: p.Add(r)}
}

// borderEdge has one triangle, whose other corner is third.
type borderEdge struct{ a, b, third uint32 }

type borders struct {
	edges    []borderEdge
	points   []uint32 // their vertices, ascending
	shortest float64  // side of a triangle, sides without length left out
	extent   float64  // greatest coordinate, from 0
}

func borderOf(ctx context.Context, m *mesh.Mesh) (b borders, err error) {
	b.shortest = math.Inf(1)
	err = eachEdge(ctx, m, func(lower, upper uint32, sides []sided) {
		if d := m.Vertices[upper].Sub(m.Vertices[lower]).Norm(); d > 0 {
			b.shortest = min(b.shortest, d)
		}
		if len(sides) == 1 {
			t := m.Triangles[sides[0].triangle()]
			b.edges = append(b.edges, borderEdge{lower, upper, t[0] ^ t[1] ^ t[2] ^ lower ^ upper})
			b.points = append(b.points, lower, upper)
		}
	})
	slices.Sort(b.points)
	b.points = slices.Compact(b.points)
	for _, t := range m.Triangles {
		for _, v := range t {
			p := m.Vertices[v]
			b.extent = max(b.extent, math.Abs(p.X), math.Abs(p.Y), math.Abs(p.Z))
		}
	}
	return b, err
}

// weldFor is a distance, farthest or a little more, such that of all vertices in
// use exactly those of the border have another one as near; zero if there is none.
// Vertices of the border joined by a side are farther apart anyway, since reach
// is but a part of the shortest side.
func (b *borders) weldFor(ctx context.Context, m *mesh.Mesh, farthest, reach float64) (float64, error) {
	// Rounded up to two digits, so that it can be typed; and above 0 where points
	// have equal coordinates.
	weld := math.Max(farthest, reach/1024)
	step := math.Pow(10, math.Floor(math.Log10(weld))-1)
	weld = min(math.Ceil(weld/step)*step, reach)
	onBorder := make([]bool, len(m.Vertices))
	for _, v := range b.points {
		onBorder[v] = true
	}
	used := make([]bool, len(m.Vertices))
	for _, t := range m.Triangles {
		if !hasRepeat(t) {
			used[t[0]], used[t[1]], used[t[2]] = true, true, true
		}
	}
	order := make([]uint32, 0, len(m.Vertices))
	for v := range m.Vertices {
		if used[v] {
			order = append(order, uint32(v))
		}
	}
	// Points by cell of a grid of that width, and each against its own cell and
	// the 26 around, of which 13 and its own come later in the order.
	slices.SortFunc(order, func(v, w uint32) int {
		return cmp.Or(compareCell(cellOf(m.Vertices[v], weld), cellOf(m.Vertices[w], weld)), cmp.Compare(v, w))
	})
	for i, v := range order {
		if i%4096 == 4095 && ctx.Err() != nil {
			return 0, ctx.Err()
		}
		c := cellOf(m.Vertices[v], weld)
		for _, off := range laterCells {
			// A row of cells along z.
			from := [3]float64{c[0] + off[0], c[1] + off[1], c[2] + off[2]}
			at := i + 1
			if off[0] != 0 || off[1] != 0 {
				at, _ = slices.BinarySearchFunc(order, from, func(w uint32, to [3]float64) int {
					return compareCell(cellOf(m.Vertices[w], weld), to)
				})
			}
			for j := at; j < len(order); j++ {
				w := order[j]
				if d := cellOf(m.Vertices[w], weld); d[0] != from[0] || d[1] != from[1] || d[2] > c[2]+1 {
					break
				}
				if j-at > mostInRow || m.Vertices[v].Sub(m.Vertices[w]).Norm() <= weld && !(onBorder[v] && onBorder[w]) {
					return 0, nil
				}
			}
		}
	}
	return weld, nil
}

// laterCells are the beginnings of the rows of three cells along z around a cell
// that come after it, and of the rest of its own row.
var laterCells = [][3]float64{{0, 0, 0}, {0, 1, -1}, {1, -1, -1}, {1, 0, -1}, {1, 1, -1}}

// mostInRow is more vertices than a row of three cells can hold if none but the
// border's are as near as a cell's width, unless a border is met dozens of times
// over; then nothing is suggested.
const mostInRow = 256

func cellOf(p mesh.Vec, width float64) [3]float64 {
	return [3]float64{math.Floor(p.X / width), math.Floor(p.Y / width), math.Floor(p.Z / width)}
}

func compareCell(a, b [3]float64) int { return slices.Compare(a[:], b[:]) }
