package site

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/release"
)

func TestHardwareIsSummedAndCut(t *testing.T) {
	f := newFixture(t)
	r := &f.in.Site.Releases[0]
	rod := r.Hardware[0].Item
	rod.Kerf = 1
	r.Hardware = []release.HardwareUse{
		{Item: rod, Count: 2, Cut: 140, Where: "shoulders"},
		{Item: r.Hardware[1].Item, Where: "pole"},
		{Item: rod, Count: 3, Cut: 100, Where: "hips"},
		{Item: rod, Count: 1, Cut: 140, Where: "neck"},
		{Item: rod, Count: 2},
	}
	b := &builder{ctx: t.Context(), in: f.input()}
	takes := b.takes(*r)
	require.Len(t, takes.Hardware, 2)
	it := takes.Hardware[0]
	require.Equal(t, "8 pieces, 720\u202fmm together", it.Sum)
	require.Len(t, it.Pieces, 3, "by length")
	require.Equal(t, "3", it.Pieces[0].Count)
	require.Equal(t, "shoulders; neck", it.Pieces[0].Where)
	require.Empty(t, it.Pieces[2].Cut)
	require.Empty(t, takes.Hardware[1].Sum)
	require.Empty(t, takes.Hardware[1].Pieces[0].Count, "adhesive is not counted")

	// 3 × 140 and 3 × 100 with cuts of 1 mm, from 300: two of 140 leave 18, and three of
	// 100 need 302. So 140 + 140, then 140 + 100, then 100 + 100: three bars; two would hold
	// 600 mm of the 720.
	require.Len(t, takes.CutLists, 1)
	c := takes.CutLists[0]
	require.True(t, strings.HasPrefix(c.Sentence, "Buy 3 lengths of 300 mm; each cut takes 1 mm. Fewer will not do."), c.Sentence)
	require.Equal(t, "2 pieces have no stated length and are not in it.", c.Loose)
	require.Contains(t, string(c.Charts.Desk), `id="cut-list-1-desk`)
	require.Contains(t, string(c.Charts.Phone), `id="cut-list-1-phone`)
	require.Contains(t, string(c.Sheet), "140")
}

// A hole that passes 1.75 mm wants 0.3 mm over the rod in filament and 0.2 in
// resin: at 100 % the 1.5 mm rod turns in resin and is tight in filament, at
// 110 % (1.925 mm) it turns in both.
func TestRodsAtOtherScales(t *testing.T) {
	f := newFixture(t)
	b := &builder{ctx: t.Context(), in: f.input()}
	v := b.scaleView(f.in.Site.Releases[0])
	require.NotNil(t, v)
	require.Equal(t, []string{"plain filament", "tough resin"}, []string{v.Columns[0].Materials, v.Columns[1].Materials})
	at := func(scale string) []ScaleCell {
		for _, row := range v.Rows {
			if row.Scale == scale+"\u202f%" {
				require.Equal(t, scale == "100", row.Full)
				return row.Cells
			}
		}
		t.Fatal("no row for " + scale)
		return nil
	}
	require.Equal(t, []ScaleCell{{"1.75", "1.5\u202fmm", "tight: clear with a 1.6\u202fmm drill"}, {"1.75", "1.5\u202fmm", ""}}, at("100"))
	require.Equal(t, "1.5\u202fmm", at("110")[0].Rod)
	require.Equal(t, "1.93", at("110")[0].Hole)
	require.Equal(t, "none", at("50")[0].Rod)
	require.Nil(t, b.scaleView(f.in.Site.Releases[1]), "it takes no rod")
}
