package hardware

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/release"
)

var (
	brass = bench.Hardware{ID: "brass", Name: "Brass rod", Kind: bench.Rod, Diameter: 1.5, StockLength: 100, Kerf: 1}
	cord  = bench.Hardware{ID: "cord", Name: "Cord", Kind: bench.Cord, Diameter: .8, StockLength: 5000}
	disc  = bench.Hardware{ID: "disc", Name: "Disc magnet", Kind: bench.Magnet, Diameter: 3, Thickness: 1}
	glue  = bench.Hardware{ID: "glue", Name: "Glue", Kind: bench.Adhesive}
)

func takes(item bench.Hardware, count int, cut float64, where string) release.HardwareUse {
	return release.HardwareUse{Item: item, Count: count, Cut: cut, Where: where}
}

// add gives r a part with one cut for every process.
func add(r *release.Release, p release.Part) {
	p.Quantity = max(p.Quantity, 1)
	p.Name = strings.ToUpper(p.Slug[:1]) + p.Slug[1:]
	p.Cuts = []release.Cut{{Kind: release.CutAny, Rel: p.Slug + "/any"}}
	r.Parts = append(r.Parts, p)
}

func TestTheHardwareListIsSummedByItemAndLength(t *testing.T) {
	r := &release.Release{Number: 1}
	r.Hardware = []release.HardwareUse{takes(brass, 1, 10, "neck"), takes(glue, 1, 0, "ends"), takes(brass, 2, 31, "hips"), takes(brass, 3, 10, "knees")}
	add(r, release.Part{Slug: "arm", Quantity: 1, MirroredTwin: true, Takes: []release.HardwareUse{takes(brass, 2, 0, "")}})
	add(r, release.Part{Slug: "hat", Choice: "hat", Takes: []release.HardwareUse{takes(brass, 1, 5, ""), takes(cord, 1, 80, "band")}})
	add(r, release.Part{Slug: "cap", Choice: "hat", Quantity: 2, Takes: []release.HardwareUse{takes(brass, 1, 6, ""), takes(cord, 1, 30, "chin")}})
	add(r, release.Part{Slug: "back", Only: bench.Resin, Takes: []release.HardwareUse{takes(disc, 4, 0, "")}})
	add(r, release.Part{Slug: "front", Only: bench.Filament, Takes: []release.HardwareUse{takes(disc, 2, 0, "")}})
	got := Of(*r)
	require.Equal(t, []Bought{
		{Item: brass, Count: 6, Length: 102, Taken: 6, // two arms take two each, two caps one each, which is more than the hat
			Pieces: []Piece{{Cut: 31, Count: 2, Where: []string{"hips"}}, {Cut: 10, Count: 4, Where: []string{"neck", "knees"}}}},
		{Item: glue, Count: 1, Pieces: []Piece{{Cut: 0, Count: 1, Where: []string{"ends"}}}},
		{Item: cord, Count: 2, Taken: 2, FromParts: true, Length: 60, Pieces: []Piece{{Cut: 30, Count: 2, Where: []string{"chin"}}}},
		{Item: disc, Count: 4, Taken: 4, FromParts: true, Pieces: []Piece{{Cut: 0, Count: 4, Where: []string{"Back"}}}}, // its notes name no place
	}, got)

	lists, err := CutLists(t.Context(), got)
	require.NoError(t, err)
	require.Len(t, lists, 2)
	// 2·31 + 4·10 and five kerfs are 107: more than one bar.
	require.Equal(t, "Buy 2 lengths of 100 mm; each cut takes 1 mm. Fewer will not do.", lists[0].Sentence)
	require.Equal(t, 2, lists[0].Plan.Count)
	require.Equal(t, "Buy 1 length of 5 m.", lists[1].Sentence)
}

func TestAWholeOrItsPiecesTakeTheMost(t *testing.T) {
	r := &release.Release{Number: 1}
	add(r, release.Part{Slug: "hull", Takes: []release.HardwareUse{takes(brass, 5, 0, "")}})
	add(r, release.Part{Slug: "fore", Replaces: "hull", Takes: []release.HardwareUse{takes(brass, 4, 0, "")}})
	add(r, release.Part{Slug: "aft", Replaces: "hull", Takes: []release.HardwareUse{takes(brass, 4, 0, "")}})
	got := Of(*r)
	require.Equal(t, 8, got[0].Count)
	require.True(t, got[0].FromParts)
}

func TestTheCutListSaysWhatItCannotDo(t *testing.T) {
	lists, err := CutLists(t.Context(), []Bought{
		{Item: brass, Length: 120, Pieces: []Piece{{Cut: 120, Count: 1}}},
		{Item: brass, Length: 220, Pieces: []Piece{{Cut: 120, Count: 1}, {Cut: 50, Count: 2}, {Cut: 0, Count: 3}}},
		{Item: bench.Hardware{ID: "coil", Kind: bench.Wire}, Length: 10, Pieces: []Piece{{Cut: 10, Count: 1}}},
		{Item: disc, Pieces: []Piece{{Cut: 0, Count: 1}}},
	})
	require.NoError(t, err)
	require.Len(t, lists, 2, "nothing is known of the coil's length, and magnets are not cut")
	require.Equal(t, "No piece is as short as the 100 mm that are sold.", lists[0].Sentence)
	require.Equal(t, "Buy 2 lengths of 100 mm; each cut takes 1 mm. Fewer will not do. A piece of 120 mm is longer than what is sold.", lists[1].Sentence)
	require.Equal(t, 3, lists[1].Loose)
}

// Sums by hand from the notes. Lamplighter: 27 + 25 + 2·(6.8 + 7.4 + 7.4 + 10) + 11.5 +
// 10 = 136.7, and of 300 mm twelve cuts of 1 mm leave 151.3. Dredger: 4·(26 + 11 +
// 12 + 12.5) + 16.5 + 15 = 277.5, and eighteen cuts leave 4.5.
func TestTheDemosRodsAreCutFromOneBarEach(t *testing.T) {
	site, err := release.Load("../../../content")
	require.NoError(t, err)
	for _, c := range []struct {
		number, count int
		length, left  float64
	}{{1, 12, 136.7, 151.3}, {5, 18, 277.5, 4.5}} {
		r := site.Releases[slices.IndexFunc(site.Releases, func(r release.Release) bool { return r.Number == c.number })]
		items := Of(r)
		require.Equal(t, bench.Rod, items[0].Item.Kind)
		require.Equal(t, c.count, items[0].Count)
		require.InDelta(t, c.length, items[0].Length, 1e-9)
		require.False(t, items[0].FromParts)
		require.GreaterOrEqual(t, items[0].Taken, items[0].Count, "rods are in the notes of both parts that they join")
		lists, err := CutLists(t.Context(), items)
		require.NoError(t, err)
		require.Equal(t, "Buy 1 length of 300 mm; each cut takes 1 mm.", lists[0].Sentence)
		require.InDelta(t, c.left, lists[0].Plan.Bars[0].Offcut, 1e-9)
	}
}
