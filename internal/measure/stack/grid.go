package stack

import (
	"context"
	"math"

	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// Bounds on the work, which bound time and memory for any mesh. A sculpt of a
// million triangles, 75 mm tall, in layers of 0.05 mm comes to some 10 million
// crossings and 4 million cuts.
const (
	maxLayers = 10_000     // 250 mm in layers of 0.025 mm
	maxRows   = 4_000      // 200 mm at a pitch of 0.05 mm
	maxLines  = 8_000_000  // rows, over all layers
	maxCuts   = 20_000_000 // triangles cut by a layer, over all layers
	// Crossings of rows with triangles, over all layers: more are allowed to a mesh
	// that has more triangles, so that many small parts stay quick.
	maxCrossings      = 40_000_000
	crossingsAnyway   = 6_000_000
	crossingsTriangle = 16
	crossingsLayer    = 2_000_000 // on average, so that few layers are not vast ones

	// finest pitch, mm: a pixel of a fine mask printer.
	finest = 0.05
	// farthest coordinate, mm: products of three stay finite.
	farthest = 1e100
)

// grid is the mesh with the heights and rows at which it is sampled, and the
// triangles in the order in which the layers meet them.
type grid struct {
	mesh         *mesh.Mesh
	bounds       mesh.Box
	layer, pitch float64
	zs, ys       []float64 // of layers and rows, ascending

	least, greatest []int32 // first and last layer that cuts each triangle
	order           []int32 // triangles by first layer
	starts          []int32 // where each layer's begin in order
	block           int     // layers handled together
	carried         []int32 // triangles begun before a block, block by block
	carriedFrom     []int
}

func (g *grid) layers() int { return len(g.zs) }

// extents are sums over the triangles that tell the work.
type extents struct {
	height float64 // Σ of extents along z
	side   float64 // Σ of areas seen along x
}

func newGrid(ctx context.Context, m *mesh.Mesh, layer float64) (*grid, error) {
	g := &grid{mesh: m, bounds: m.Bounds()}
	b := g.bounds
	for _, x := range []float64{b.Min.X, b.Min.Y, b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z} {
		if !(math.Abs(x) <= farthest) {
			return g, ctx.Err()
		}
	}
	size := b.Size()
	if len(m.Triangles) == 0 || !(layer > 0) || !(size.Y > 0) || !(size.Z > 0) {
		return g, ctx.Err()
	}
	e, err := extentsOf(ctx, m)
	if err != nil {
		return g, err
	}
	g.choose(e, size, layer)
	g.zs = middles(b.Min.Z, g.layer, count(size.Z, g.layer))
	g.ys = middles(b.Min.Y, g.pitch, max(1, count(size.Y, g.pitch)))
	return g, g.sort(ctx)
}

// count is how many steps a length comes to. A thousandth of a step is let pass,
// so that heights in 32 bits do not give a layer too many (published check
// values: N = ceil(h/l − 0.001)).
func count(length, step float64) int { return int(math.Ceil(length/step - 0.001)) }

func middles(from, step float64, n int) []float64 {
	at := make([]float64, max(n, 0))
	for i := range at {
		at[i] = from + float64((float64(i)+0.5)*step)
	}
	return at
}

// choose sets the layer and the pitch: as asked for and as fine as a layer is
// high, but at least a pixel; then rows are thinned out to keep the work within
// bounds, down to 200, and only then layers are made thicker.
func (g *grid) choose(e extents, size mesh.Vec, layer float64) {
	n := float64(len(g.mesh.Triangles))
	g.layer = max(layer, size.Z/maxLayers, e.height/maxCuts)
	g.pitch = max(g.layer, finest, size.Y/maxRows, size.Y/maxLines*(size.Z/g.layer))
	most := min(maxCrossings, crossingsAnyway+crossingsTriangle*n, crossingsLayer*math.Ceil(size.Z/g.layer))
	if e.side/g.pitch/g.layer <= most {
		return
	}
	fewest := max(g.pitch, size.Y/200)
	g.pitch = min(fewest, e.side/g.layer/most)
	if over := e.side / g.pitch / g.layer / most; over > 1 {
		g.layer *= math.Sqrt(over)
		g.pitch *= math.Sqrt(over)
	}
	if g.layer > max(layer, size.Z) { // the work cannot be bounded by fewer layers than one
		g.layer = size.Z
		g.pitch = max(g.pitch, e.side/g.layer/most)
	}
}

func extentsOf(ctx context.Context, m *mesh.Mesh) (extents, error) {
	const piece = 1 << 14
	pieces := make([]extents, parallel.Count(len(m.Triangles), piece))
	err := parallel.Pieces(ctx, len(m.Triangles), piece, func(i, lo, hi int) {
		for t := lo; t < hi; t++ {
			a, b, c := m.Corners(t)
			u, v := b.Sub(a), c.Sub(a)
			pieces[i].height += max(a.Z, b.Z, c.Z) - min(a.Z, b.Z, c.Z)
			pieces[i].side += math.Abs(float64(u.Y*v.Z)-float64(u.Z*v.Y)) / 2
		}
	})
	var e extents
	for _, p := range pieces {
		e.height += p.height
		e.side += p.side
	}
	return e, err
}

// firstAbove is the number of places that are less than x (or, with equal, not
// greater), in places a step apart.
func firstAbove(at []float64, step, x float64, equal bool) int {
	i := int(min(max((x-at[0])/step, 0), float64(len(at))))
	for i > 0 && !(at[i-1] < x || equal && at[i-1] == x) {
		i--
	}
	for i < len(at) && (at[i] < x || equal && at[i] == x) {
		i++
	}
	return i
}

// sort puts the triangles in the order of their first layers and finds those that
// reach from one block of layers into the next. A corner at a layer's height is
// below it.
func (g *grid) sort(ctx context.Context) error {
	n, layers := len(g.mesh.Triangles), g.layers()
	if layers == 0 {
		return ctx.Err()
	}
	g.block = min(max(layers/16, 4), 32)
	g.least, g.greatest = make([]int32, n), make([]int32, n)
	err := parallel.Pieces(ctx, n, 1<<14, func(_, lo, hi int) {
		for t := lo; t < hi; t++ {
			a, b, c := g.mesh.Corners(t)
			g.least[t] = int32(firstAbove(g.zs, g.layer, min(a.Z, b.Z, c.Z), false))
			g.greatest[t] = int32(firstAbove(g.zs, g.layer, max(a.Z, b.Z, c.Z), false)) - 1
		}
	})
	if err != nil {
		return err
	}
	g.starts = make([]int32, layers+1)
	g.carriedFrom = make([]int, g.blocks()+1)
	for t := range n {
		if g.least[t] <= g.greatest[t] {
			g.starts[g.least[t]+1]++
			for b := g.firstCarried(t); g.carries(t, b); b++ {
				g.carriedFrom[b+1]++
			}
		}
	}
	for k := range layers {
		g.starts[k+1] += g.starts[k]
	}
	for b := range len(g.carriedFrom) - 1 {
		g.carriedFrom[b+1] += g.carriedFrom[b]
	}
	g.order = make([]int32, g.starts[layers])
	g.carried = make([]int32, g.carriedFrom[len(g.carriedFrom)-1])
	next, nextCarried := make([]int32, layers), make([]int, len(g.carriedFrom))
	copy(next, g.starts)
	copy(nextCarried, g.carriedFrom)
	for t := range n {
		if k := g.least[t]; k <= g.greatest[t] {
			g.order[next[k]] = int32(t)
			next[k]++
			for b := g.firstCarried(t); g.carries(t, b); b++ {
				g.carried[nextCarried[b]] = int32(t)
				nextCarried[b]++
			}
		}
	}
	return ctx.Err()
}

// blocks is how many blocks the layers come to.
func (g *grid) blocks() int { return parallel.Count(g.layers(), g.block) }

// opening is the first layer that a block needs: the last one of the block before.
func (g *grid) opening(block int) int { return max(block*g.block-1, 0) }

// firstCarried is the first block that opens after t's first layer.
func (g *grid) firstCarried(t int) int { return (int(g.least[t])+1)/g.block + 1 }

// carries says whether t reaches as far as a block's opening.
func (g *grid) carries(t, block int) bool {
	return block < g.blocks() && g.opening(block) <= int(g.greatest[t])
}
