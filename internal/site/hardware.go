package site

import (
	"fmt"
	"html/template"
	"strconv"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/draw"
	"cardback/internal/release"
	"cardback/internal/verdict/hardware"
	"cardback/internal/verdict/seats"
)

// Takes is what a release takes beside patience: bought items, how to cut them,
// what suits at another size, and material to print with.
type Takes struct {
	Hardware []HardwareItem
	CutLists []CutView
	Scale    *ScaleView // nil where no rod goes through a hole
	Needs    []NeedTable
}

// HardwareItem is one bought item with all of its pieces.
type HardwareItem struct {
	Name, Href string
	Sum        string // "9 pieces, 96.4 mm together"; empty for a single kind of piece
	FromParts  bool   // the parts ask for it, and the release's own list does not have it
	Pieces     []HardwareRow
}

// HardwareRow is a line of the hardware list: pieces of one length.
type HardwareRow struct {
	Count, Cut, Where string
	ToSize            template.HTML
}

// CutView is how the pieces of one item are cut from what is sold.
type CutView struct {
	Name, Href string
	Charts     Charts
	Sheet      template.HTML // the same for an assembly sheet
	Sentence   string        // how many to buy, and whether fewer would do
	Loose      string        // pieces that are not in it
}

// ScaleView says which rods suit a release that is printed larger or smaller.
type ScaleView struct {
	Columns []ScaleColumn
	Rows    []ScaleRow
}

// ScaleColumn is a rod of the release in some materials.
type ScaleColumn struct{ Item, Href, Materials string }

// ScaleRow is one scale, with a cell for each column.
type ScaleRow struct {
	Scale string
	Full  bool // 100 %
	Cells []ScaleCell
}

// ScaleCell is the answer for one rod at one scale: what the hole passes, the rod, and
// what a drill would change.
type ScaleCell struct{ Hole, Rod, Tight string }

func (b *builder) takes(r release.Release) Takes {
	t := Takes{Hardware: b.hardwareRows(r), Scale: b.scaleView(r), Needs: b.needTables(r)}
	for i, l := range b.in.Of(r.Number).CutLists {
		t.CutLists = append(t.CutLists, b.cutView(l, i+1))
	}
	return t
}

func (b *builder) hardwareRows(r release.Release) []HardwareItem {
	var out []HardwareItem
	drawn := 0
	for _, it := range b.in.Of(r.Number).Hardware {
		item := HardwareItem{Name: tied(it.Item.Name), Href: itemPath(it.Item.ID), FromParts: it.FromParts && len(r.Hardware) > 0}
		item.Pieces = b.pieceRows(it, &drawn)
		if len(it.Pieces) > 1 {
			item.Sum = count(it.Count) + " pieces"
			if it.Length > 0 {
				item.Sum += ", " + plain(it.Length) + " together"
			}
		}
		out = append(out, item)
	}
	return out
}

// pieceRows lists an item's pieces, one row for each length. drawn counts the drawings of
// the page, for their ids.
func (b *builder) pieceRows(it hardware.Bought, drawn *int) []HardwareRow {
	var out []HardwareRow
	for _, p := range it.Pieces {
		*drawn++
		row := HardwareRow{Where: strings.Join(p.Where, "; "), ToSize: toSize(it.Item, p.Cut, "cut-"+strconv.Itoa(*drawn))}
		if p.Count > 0 {
			row.Count = count(p.Count)
		}
		if p.Cut > 0 {
			row.Cut = b.in.units().plain(p.Cut)
		}
		out = append(out, row)
	}
	return out
}

// cutView draws the bars of one item at two widths, and once for paper. n is its number
// on the page, for the ids.
func (b *builder) cutView(l hardware.CutList, n int) CutView {
	v := CutView{Name: tied(l.Item.Name), Href: itemPath(l.Item.ID), Sentence: l.Sentence}
	if l.Loose > 0 {
		v.Loose = plural(l.Loose, "piece has", "pieces have") + " no stated length and " + isOrAre(l.Loose) + " not in it."
	}
	if l.Plan.Count == 0 {
		return v
	}
	var bars []draw.CutBar
	for _, bar := range l.Plan.Bars {
		d := draw.CutBar{Times: bar.Times, OffcutMM: bar.Offcut}
		for _, p := range bar.Pieces {
			d.Pieces = append(d.Pieces, draw.CutPieces{LengthMM: p.Length, Count: p.Count})
		}
		bars = append(bars, d)
	}
	o := draw.CutListOptions{
		Title:   l.Item.Name + ": how to cut it",
		StockMM: l.Item.StockLength, KerfMM: l.Item.Kerf, HideRuler: true, // the bar's length stands above it
	}
	chart := func(id string, width float64) template.HTML {
		o.ID, o.WidthMM = fmt.Sprintf("cut-list-%d-%s", n, id), width
		return picture(draw.CutList(bars, o))
	}
	v.Charts = Charts{Desk: chart("desk", deskMM), Phone: chart("phone", phoneMM)}
	v.Sheet = chart("sheet", sheetMM)
	return v
}

func isOrAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

func (b *builder) scaleView(r release.Release) *ScaleView {
	rods := b.in.Of(r.Number).Scaled
	if len(rods) == 0 {
		return nil
	}
	v := &ScaleView{}
	for i, s := range seats.Scales {
		row := ScaleRow{Scale: trimmed(s*100, 1) + thin + "%", Full: s == 1}
		for _, rod := range rods {
			row.Cells = append(row.Cells, scaleCell(rod.At[i]))
		}
		v.Rows = append(v.Rows, row)
	}
	for _, rod := range rods {
		v.Columns = append(v.Columns, ScaleColumn{tied(rod.Item.Name), itemPath(rod.Item.ID), bench.Named(rod.Materials)})
	}
	return v
}

func scaleCell(a seats.RodAtScale) ScaleCell {
	c := ScaleCell{Hole: number(a.Hole, 2), Rod: "none"}
	switch {
	case a.Free != nil:
		c.Rod = plain(a.Free.Diameter)
		if a.Tight != nil {
			c.Tight = "or " + plain(a.Tight.Diameter) + " with a " + plain(a.Drill) + " drill"
		}
	case a.Tight != nil:
		c.Rod, c.Tight = plain(a.Tight.Diameter), "tight: clear with a "+plain(a.Drill)+" drill"
	}
	return c
}
