package slice

import (
	"math"

	"cardback/internal/measure/exact"
)

// ladder is where layers are cut: n of them, layer k at bottom + (k+½)·step.
type ladder struct {
	bottom, step float64
	n            int
	perMM        float64 // 1/step
}

func newLadder(bottom, step float64, n int) *ladder { return &ladder{bottom, step, n, 1 / step} }

func (l *ladder) at(k int) float64 { return l.bottom + float64((float64(k)+0.5)*l.step) }

// above is the first layer that is cut at or over height z. It depends on z
// alone, so that all triangles of a corner agree on which side of a cut it is.
func (l *ladder) above(z float64) int {
	k := math.Ceil(float64((z-l.bottom)*l.perMM) - 0.5)
	return int(min(max(k, 0), float64(l.n)))
}

// fan is how many spans of one rank make one of the next.
const (
	fanBits = 4
	fan     = 1 << fanBits
)

// tally adds up the sections of triangles at all layers. What a strip adds to a
// single layer is added there; what it adds to a whole span of 16, 256, … layers
// is a polynomial, and added once. So a triangle costs at most some 30 additions
// for each rank, whether it crosses ten layers or a hundred thousand. Every sum
// carries its roundings along.
type tally struct {
	*ladder
	layers   []single  // rank 0
	spans    [][]span  // ranks 1, 2, …
	volume   exact.Sum // six times
	down, up exact.Sum // twice the area that leans out, downwards and upwards
}

// single is one layer: twice the area, and the length.
type single struct{ area, length exact.Sum }

// span is polynomials in the height over the span's middle.
type span struct {
	area   [3]exact.Sum
	length [2]exact.Sum
}

// tallyBytes is about what a tally takes for each layer.
const tallyBytes = 32 + 80.0/(fan-1)

func newTally(l *ladder) *tally {
	t := &tally{ladder: l, layers: make([]single, l.n)}
	for n := l.n >> fanBits; n > 0; n >>= fanBits {
		t.spans = append(t.spans, make([]span, n))
	}
	return t
}

// middle is the middle height of span i of a rank.
func (l *ladder) middle(rank, i int) float64 {
	return l.bottom + float64((float64(i)+0.5)*math.Ldexp(l.step, fanBits*rank))
}

// add puts a strip into the layers from lo up to hi, hi not included.
func (t *tally) add(s *strip, lo, hi int) {
	if hi-lo < fan { // too few for a span
		for k := lo; k < hi; k++ {
			area, length := s.at(t.at(k))
			t.layers[k].area.Add(area)
			t.layers[k].length.Add(length)
		}
		return
	}
	for rank := 0; lo < hi; rank++ {
		for ; lo < hi && lo%fan != 0; lo++ {
			t.put(s, rank, lo)
		}
		for lo < hi && hi%fan != 0 {
			hi--
			t.put(s, rank, hi)
		}
		lo, hi = lo/fan, hi/fan
	}
}

func (t *tally) put(s *strip, rank, i int) {
	if rank == 0 {
		area, length := s.at(t.at(i))
		t.layers[i].area.Add(area)
		t.layers[i].length.Add(length)
		return
	}
	area, length := s.over(t.middle(rank, i))
	p := &t.spans[rank-1][i]
	for k := range area {
		p.area[k].Add(area[k])
	}
	for k := range length {
		p.length[k].Add(length[k])
	}
}

// join adds another tally over the same layers.
func (t *tally) join(o *tally) {
	for i := range t.layers {
		t.layers[i].area.Join(o.layers[i].area)
		t.layers[i].length.Join(o.layers[i].length)
	}
	for rank := range t.spans {
		for i := range t.spans[rank] {
			p, q := &t.spans[rank][i], &o.spans[rank][i]
			for k := range p.area {
				p.area[k].Join(q.area[k])
			}
			for k := range p.length {
				p.length[k].Join(q.length[k])
			}
		}
	}
	t.volume.Join(o.volume)
	t.down.Join(o.down)
	t.up.Join(o.up)
}

// layer is the area and the perimeter of layer k.
func (t *tally) layer(k int) (area, length float64) {
	a, l := t.layers[k].area, t.layers[k].length
	for r, spans := range t.spans {
		i := k >> (fanBits * (r + 1))
		if i >= len(spans) {
			break // nor has any higher rank a span there
		}
		p := &spans[i]
		up := float64((float64(k) + 0.5 - math.Ldexp(float64(i)+0.5, fanBits*(r+1))) * t.step)
		a.Add(p.area[0].Value())
		a.Add(float64(up * (p.area[1].Value() + float64(up*p.area[2].Value()))))
		l.Add(p.length[0].Value() + float64(up*p.length[1].Value()))
	}
	return a.Value() / 2, max(l.Value(), 0)
}
