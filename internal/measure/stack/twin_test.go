package stack_test

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/longrun"
	"cardback/internal/measure/stack"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// cells is a small grid of unit cells, which the twin below fills with water in the
// plainest way.
type cells struct {
	size   [3]int
	filled map[[3]int]bool
}

func (c cells) empty(p [3]int, top int) bool {
	for k := range 3 {
		if p[k] < 0 || p[k] >= c.size[k] {
			return false
		}
	}
	return p[2] <= top && !c.filled[p]
}

func neighbours(p [3]int) [][3]int {
	x, y, z := p[0], p[1], p[2]
	return [][3]int{{x - 1, y, z}, {x + 1, y, z}, {x, y - 1, z}, {x, y + 1, z}, {x, y, z - 1}, {x, y, z + 1}}
}

// flood is what can be reached from the given cells through what holds.
func flood(from [][3]int, holds func([3]int) bool) map[[3]int]bool {
	seen := map[[3]int]bool{}
	for len(from) > 0 {
		p := from[len(from)-1]
		from = from[:len(from)-1]
		if seen[p] || !holds(p) {
			continue
		}
		seen[p] = true
		from = append(from, neighbours(p)...)
	}
	return seen
}

// groups are the connected groups of what holds.
func (c cells) groups(holds func([3]int) bool) []map[[3]int]bool {
	var out []map[[3]int]bool
	seen := map[[3]int]bool{}
	for z := range c.size[2] {
		for y := range c.size[1] {
			for x := range c.size[0] {
				p := [3]int{x, y, z}
				if seen[p] || !holds(p) {
					continue
				}
				g := flood([][3]int{p}, holds)
				for q := range g {
					seen[q] = true
				}
				out = append(out, g)
			}
		}
	}
	return out
}

// open is what is joined to the outside with everything over top taken away, the
// sides and the underside open; with the whole height, the upper side too.
func (c cells) open(top int) map[[3]int]bool {
	var from [][3]int
	for x := range c.size[0] {
		for y := range c.size[1] {
			for z := range c.size[2] {
				if x == 0 || y == 0 || z == 0 || x == c.size[0]-1 || y == c.size[1]-1 || top >= c.size[2] && z == c.size[2]-1 {
					from = append(from, [3]int{x, y, z})
				}
			}
		}
	}
	return flood(from, func(p [3]int) bool { return c.empty(p, top) })
}

// spell is a hollow in the twin's words: cells, the lowest and the rim.
type spell struct{ volume, bottom, rim float64 }

func spellOf(g map[[3]int]bool, rim int) spell {
	bottom := rim
	for p := range g {
		bottom = min(bottom, p[2])
	}
	return spell{float64(len(g)), float64(bottom), float64(rim)}
}

// wells fills the grid to each height in turn, and says what overflows at the next.
func (c cells) wells() (wells, trapped []spell) {
	for top := range c.size[2] {
		now, next := c.open(top), c.open(top+1)
		for _, g := range c.groups(func(p [3]int) bool { return c.empty(p, top) && !now[p] }) {
			for p := range g {
				if next[p] {
					wells = append(wells, spellOf(g, top+1))
					break
				}
			}
		}
	}
	all := c.open(c.size[2])
	for _, g := range c.groups(func(p [3]int) bool { return c.empty(p, c.size[2]) && !all[p] }) {
		high := 0
		for p := range g {
			high = max(high, p[2]+1)
		}
		trapped = append(trapped, spellOf(g, high))
	}
	return wells, trapped
}

// over is the grid upside down.
func (c cells) over() cells {
	out := cells{c.size, map[[3]int]bool{}}
	for p := range c.filled {
		out.filled[[3]int{p[0], c.size[1] - 1 - p[1], c.size[2] - 1 - p[2]}] = true
	}
	return out
}

// islands are the area and the layer of each group within a layer that has nothing
// under it.
func (c cells) islands() []spell {
	var out []spell
	for z := 1; z < c.size[2]; z++ {
		for _, g := range c.groups(func(p [3]int) bool { return p[2] == z && c.filled[p] }) {
			held := false
			for p := range g {
				held = held || c.filled[[3]int{p[0], p[1], z - 1}]
			}
			if !held {
				out = append(out, spell{volume: float64(len(g)), bottom: float64(z)})
			}
		}
	}
	return out
}

func sorted(s []spell) []spell {
	slices.SortFunc(s, func(a, b spell) int {
		return cmp.Or(cmp.Compare(a.volume, b.volume), cmp.Compare(a.bottom, b.bottom), cmp.Compare(a.rim, b.rim))
	})
	return s
}

// told is what a report says, in the twin's words.
func told(hollows []stack.Hollow) []spell {
	var out []spell
	for _, h := range hollows {
		out = append(out, spell{h.Volume, h.At.Z, h.Rim})
	}
	return sorted(out)
}

// With eight layers and eight rows to a cell every sum is exact, and nothing is too
// small or slim to report.
func TestAgreesWithFloodingAGrid(t *testing.T) {
	seen := [4]int{}
	rapid.Check(t, func(t *rapid.T) {
		c := cells{[3]int{7, 6, 7}, map[[3]int]bool{}}
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 7))
		var boxes []*mesh.Mesh
		fill := func(x0, y0, z0, x1, y1, z1 int) {
			boxes = append(boxes, meshtest.Block(float64(x0), float64(y0), float64(z0), float64(x1), float64(y1), float64(z1)))
			for x := x0; x < x1; x++ {
				for y := y0; y < y1; y++ {
					for z := z0; z < z1; z++ {
						c.filled[[3]int{x, y, z}] = true
					}
				}
			}
		}
		if rapid.Bool().Draw(t, "boxes") {
			for range rapid.IntRange(1, 14).Draw(t, "how many") {
				x, y, z := rng.IntN(7), rng.IntN(6), rng.IntN(7)
				fill(x, y, z, x+1+rng.IntN(7-x), y+1+rng.IntN(6-y), z+1+rng.IntN(min(7-z, 2)))
			}
		} else {
			share := rapid.Float64Range(0.3, 0.8).Draw(t, "share")
			for i := range 7 * 6 * 7 {
				if x, y, z := i%7, i/7%6, i/42; rng.Float64() < share {
					fill(x, y, z, x+1, y+1, z+1)
				}
			}
		}
		// So that the grid is the mesh's bounds: a floor's corner and a roof's.
		fill(0, 0, 0, 1, 1, 1)
		fill(6, 5, 6, 7, 6, 7)

		border := meshtest.Cells(7, 6, 7, func(x, y, z int) bool { return c.filled[[3]int{x, y, z}] })
		wells, trapped := c.wells()
		cups, _ := c.over().wells()
		for i := range cups { // a cup's end is its top
			cups[i].bottom, cups[i].rim = 7-cups[i].bottom, 7-cups[i].rim
		}
		for _, m := range []*mesh.Mesh{border, meshtest.Together(boxes...)} {
			r, err := stack.Of(t.Context(), m, 0.125)
			require.NoError(t, err)
			require.Equal(t, sorted(wells), told(r.Wells))
			require.Equal(t, sorted(cups), told(r.Cups))
			require.Equal(t, sorted(trapped), told(r.Trapped))
			require.Zero(t, r.Small)
			var islands []spell
			for _, i := range r.Islands {
				require.Zero(t, i.Layer%8)
				islands = append(islands, spell{volume: i.Area, bottom: i.At.Z - 0.0625})
			}
			require.Equal(t, sorted(c.islands()), sorted(islands))
			for k, n := range counts(r) {
				seen[k] += n
			}
		}
		over, err := stack.Of(t.Context(), meshtest.Over(border), 0.125)
		require.NoError(t, err)
		for i := range wells {
			wells[i].bottom, wells[i].rim = 7-wells[i].bottom, 7-wells[i].rim
		}
		require.Equal(t, sorted(wells), told(over.Cups))
		require.Equal(t, len(cups), len(over.Wells))
	})
	for k, n := range seen {
		if !longrun.Asked() { // a fifth as many
			n *= 5
		}
		require.Greater(t, n, 50, "too few of kind %d to tell", k)
	}
}
