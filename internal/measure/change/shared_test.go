package change

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/longrun"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/reference"
)

// Meshes that nobody here wrote, turned, shifted, mirrored and scaled at random, and
// rounded as a file would. Which of them are their own mirror image is not known
// beforehand: Moved is right for those. That the motion told is one is looked up
// by asking every triangle.
func TestSharedMeshesMoved(t *testing.T) {
	most := longrun.Of(1_000, 20_000) // triangles; the larger ones take minutes together and show no more
	kinds := map[Kind]int{}
	meshtest.EachReference(t, func(t *testing.T, ref reference.File, m *mesh.Mesh) {
		if len(m.Triangles) > most {
			t.Skip("large")
		}
		h := fnv.New64()
		h.Write([]byte(ref.File))
		rng := rand.New(rand.NewPCG(h.Sum64(), 7))
		m = inFloat32(m)
		size := m.Bounds().Size().Norm()
		if a := m.Bounds(); size == 0 || math.IsInf(a.Size().Norm(), 0) {
			t.Skip("it has no extent")
		}
		about := mesh.Vec{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()}
		about = about.Scale(1 / about.Norm())
		angle := rng.Float64() * 2 * math.Pi
		shift := meshtest.Shift(rng.NormFloat64()*size, rng.NormFloat64()*size, rng.NormFloat64()*size)
		move := func(m *mesh.Mesh) *mesh.Mesh {
			return inFloat32(meshtest.Moved(meshtest.Turned(m, about, angle), shift))
		}
		for _, c := range []struct {
			new  *mesh.Mesh
			want []Kind
		}{
			{move(m), []Kind{Moved}},
			{move(m.Mirrored()), []Kind{Moved, Nearly, Mirrored}},
			{move(meshtest.Scaled(m, 1.07)), []Kind{Rescaled}},
		} {
			got := compare(t, m, c.new)
			require.Contains(t, c.want, got.Kind)
			kinds[got.Kind]++
			within := Same
			if got.Kind == Nearly { // its own mirror image, but for less than a print shows
				within = printing
			}
			everywhere := brute{c.new}
			for range 25 {
				p := m.Vertices[m.Triangles[rng.IntN(len(m.Triangles))][0]]
				far := max(size, c.new.Bounds().Max.Norm(), c.new.Bounds().Min.Norm())
				require.Less(t, everywhere.distance(got.Motion.Apply(p)), max(within, 0x1p-21*far))
			}
		}
	})
	t.Log(kinds)
}
