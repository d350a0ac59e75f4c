package draw

import (
	"context"
	"math"
	"runtime"

	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/parallel"
)

// scene is a mesh seen in a view: x to the right, y up from the drawing's lower
// left corner, depth towards the eye, all mm.
type scene struct {
	x, y, depth []float64
	triangles   [][3]uint32
}

func project(m *mesh.Mesh, v shadow.View, lo shadow.Point) *scene {
	n := len(m.Vertices)
	s := &scene{make([]float64, n), make([]float64, n), make([]float64, n), m.Triangles}
	for i, p := range m.Vertices {
		x, y, d := v.Project(p)
		s.x[i], s.y[i], s.depth[i] = x-lo.X, y-lo.Y, d
	}
	return s
}

// resolution is the depth buffer's larger side in pixels: twice what a screen
// shows of a drawing, in 10 MB.
const resolution = 1600

// rim is a margin of empty pixels, so that neighbours always exist.
const rim = 4

// depthBuffer holds, at the centres of square pixels, the depth of the surface
// nearest to the eye; minus infinity where there is none.
type depthBuffer struct {
	pixel         float64 // mm
	width, height int
	depth         []float64
}

// cell is the column and row of the pixel that holds a place of the drawing.
func (b *depthBuffer) cell(x, y float64) (col, row int) {
	return clampInt(int(x/b.pixel)+rim, rim, b.width-1-rim), clampInt(int(y/b.pixel)+rim, rim, b.height-1-rim)
}

func clampInt(i, lo, hi int) int { return min(max(i, lo), hi) }

// leastAround is the least depth among the pixels within r of one.
func (b *depthBuffer) leastAround(col, row, r int) float64 {
	least := math.Inf(1)
	for j := row - r; j <= row+r; j++ {
		for _, d := range b.depth[j*b.width+col-r : j*b.width+col+r+1] {
			least = min(least, d)
		}
	}
	return least
}

// Bounds on the work of one view, beyond which its pixels are made larger: a part
// fills some 25 million of them, a few surfaces behind each other, and looks at some
// million places along its edges. Only heaps of large triangles come near.
const (
	mostFilled = 1 << 29 // pixels, of all triangles
	eachRow    = 8       // pixels that beginning a row costs, about
	mostPlaces = 1 << 24 // along edges
)

// pixel is the side of a pixel in mm: the larger extent over resolution, or as much
// more as keeps the view within its bounds. Filling takes a part that grows with the
// square of the resolution k (pixels to the mm), for areas, and one that grows with it,
// for rows: a·k² + b·k ≤ mostFilled is solved for k. Edges grow with k.
func (s *scene) pixel(larger float64, edges []edge) float64 {
	usual := resolution / larger
	k := usual
	var a, b float64
	for _, t := range s.triangles {
		a += math.Abs(s.turn(t[0], t[1], t[2])) / 2
		y0, y1, y2 := s.y[t[0]], s.y[t[1]], s.y[t[2]]
		b += eachRow * (max(y0, y1, y2) - min(y0, y1, y2))
	}
	if a*k*k+b*k > mostFilled {
		// Without cancellation: 2·c/(b + √(b² + 4ac)).
		k = 2 * mostFilled / (b + math.Sqrt(b*b+4*a*mostFilled))
	}
	var along float64
	for _, e := range edges {
		along += math.Hypot(s.x[e.b]-s.x[e.a], s.y[e.b]-s.y[e.a])
	}
	if along*k > mostPlaces {
		k = mostPlaces / along
	}
	if k == usual {
		return larger / resolution
	}
	return 1 / k
}

// rasterise fills a depth buffer with all triangles, whichever way they face.
func rasterise(ctx context.Context, s *scene, width, height, pixel float64) (*depthBuffer, error) {
	b := &depthBuffer{pixel: pixel}
	b.width = int(math.Ceil(width/pixel)) + 2*rim
	b.height = int(math.Ceil(height/pixel)) + 2*rim
	b.depth = make([]float64, b.width*b.height)
	for i := range b.depth {
		b.depth[i] = math.Inf(-1)
	}
	bands := 2 * runtime.GOMAXPROCS(0)
	err := parallel.Tasks(ctx, bands, func(k int) {
		from, to := b.height*k/bands, b.height*(k+1)/bands
		for i, t := range s.triangles {
			if i%(1<<16) == 0 && ctx.Err() != nil {
				return
			}
			b.fill(s, t, from, to)
		}
	})
	return b, err
}

// fill puts a triangle into the rows [from, to).
func (b *depthBuffer) fill(s *scene, t [3]uint32, from, to int) {
	var x, y, d [3]float64
	for k, v := range t {
		// In pixels, with the centre of pixel (0, 0) at the origin.
		x[k], y[k], d[k] = s.x[v]/b.pixel+rim-0.5, s.y[v]/b.pixel+rim-0.5, s.depth[v]
	}
	first := max(from, int(math.Ceil(min(y[0], y[1], y[2]))))
	last := min(to-1, int(math.Floor(max(y[0], y[1], y[2]))))
	if first > last {
		return
	}
	area := cross(x[1]-x[0], y[1]-y[0], x[2]-x[0], y[2]-y[0])
	if area == 0 {
		return
	}
	slopeX := cross(d[1]-d[0], y[1]-y[0], d[2]-d[0], y[2]-y[0]) / area
	slopeY := cross(x[1]-x[0], d[1]-d[0], x[2]-x[0], d[2]-d[0]) / area
	nearest, farthest := max(d[0], d[1], d[2]), min(d[0], d[1], d[2])
	for row := first; row <= last; row++ {
		fy := float64(row)
		left, right := math.Inf(1), math.Inf(-1)
		for k := range 3 {
			j := (k + 1) % 3
			if y[k] == y[j] {
				if y[k] == fy {
					left, right = min(left, x[k], x[j]), max(right, x[k], x[j])
				}
				continue
			}
			if at := (fy - y[k]) / (y[j] - y[k]); at >= 0 && at <= 1 {
				cut := x[k] + float64(at*(x[j]-x[k]))
				left, right = min(left, cut), max(right, cut)
			}
		}
		begin, end := max(0, int(math.Ceil(left))), min(b.width-1, int(math.Floor(right)))
		line := b.depth[row*b.width : (row+1)*b.width]
		for col := begin; col <= end; col++ {
			depth := d[0] + dot(slopeX, slopeY, float64(col)-x[0], fy-y[0])
			depth = min(max(depth, farthest), nearest) // rounding on slivers
			if depth > line[col] {
				line[col] = depth
			}
		}
	}
}
