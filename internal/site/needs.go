package site

import (
	"fmt"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/verdict/needs"
	"cardback/internal/words"
)

// NeedTable is what a full print takes by one process, on its design standard.
type NeedTable struct {
	Process, ID     string
	Stock           string // the head of what is used: "Resin, ml"
	Amounts         string // "millilitres of resin"
	WasteUnit       string // "ml"
	Spooled         bool   // it is a strand, of which the grams count too
	Poured          bool   // a liquid, of which some must be left in the vat
	Layered         bool   // each layer takes as long, so that they are counted
	Plate, Href     string // empty where the process has no design standard
	Rows            []NeedRow
	Costed, Timed   bool     // of some row the cost, or the time, is known
	Assumed         []string // what is not measured, each a sentence
	Left            string   // parts that are not counted
	Parts           NeedGrid
	Plates          NeedGrid
	PlatesNotListed bool // there is one plate, so that the full print says it all
}

// NeedRow is what a full print takes of one stock.
type NeedRow struct {
	Stock, Pieces string
	Shares        []string // of a blend: what to measure out of each
	Used          string   // in the unit of Stock
	Waste         string   // of that
	Vat           string   // ml left in the vat
	Spool         string   // g of a strand
	Print         string   // g
	Cost          string
	Layers, Time  string
}

// NeedGrid is parts or plates by stock. Stocks of which every row takes the same share
// a column. Cells are empty where the stock is not what the row is printed in.
type NeedGrid struct {
	Stocks []string
	Rows   []NeedGridRow
	Total  []NeedCell // of plates, all together
}

// NeedGridRow is one part, or one plate.
type NeedGridRow struct {
	Number int
	Name   string
	Count  string // how many of it a full print has
	Cells  []NeedCell
}

// NeedCell is how much is used and, where it is known, how long it takes.
type NeedCell struct{ Used, Time string }

func (b *builder) needTables(r release.Release) []NeedTable {
	var out []NeedTable
	for _, n := range b.in.Of(r.Number).Needs {
		t := newNeedTable(n.Process)
		if n.Plate.ID != "" {
			t.Plate, t.Href = n.Plate.Name, platePath(n.Plate.ID)
		}
		var left []string
		for _, need := range n.Stocks {
			t.Rows = append(t.Rows, needRow(need.Need))
			t.Costed = t.Costed || need.Currency != ""
			t.Timed = t.Timed || need.Seconds > 0
			t.Assumed = appendNew(t.Assumed, need.Assumed)
			left = appendNew(left, need.Left)
		}
		t.Left = words.List(left)
		t.Parts = partNeeds(r, n)
		t.Plates = plateNeeds(n)
		t.PlatesNotListed = len(t.Plates.Rows) == 1
		out = append(out, t)
	}
	return out
}

func appendNew(to, list []string) []string {
	for _, s := range list {
		if !slices.Contains(to, s) {
			to = append(to, s)
		}
	}
	return to
}

func needRow(n needs.Need) NeedRow {
	row := NeedRow{
		Stock: stockName(n.Stock), Pieces: plural(n.Pieces, "piece", "pieces"),
		Used: needUsed(&n), Print: significant(n.Grams),
		Time: span(n),
	}
	if n.Layers > 0 && n.Process.Pace == bench.ByLayer {
		row.Layers = count(n.Layers)
	}
	if n.Currency != "" {
		row.Cost = number(n.Cost, 2) + thin + n.Currency
	}
	if n.Process.Measured != bench.ByVolume {
		row.Spool = significant(n.UsedGrams)
		if n.Used > 0 {
			row.Waste = significant(float64(n.UsedGrams*n.Waste) / n.Used)
		}
		return row
	}
	row.Waste = number(n.Waste/1000, 1)
	if n.Vat > 0 {
		row.Vat = trimmed(n.Vat/1000, 1)
	}
	if len(n.Shares) > 1 {
		for _, s := range n.Shares {
			row.Shares = append(row.Shares, tenthsOf(s.Tenths)+thin+"ml "+s.Material.Name)
		}
	}
	return row
}

// stockName is a material's name, or a blend in shares.
func stockName(stock []release.Share) string {
	if len(stock) == 1 {
		return stock[0].Material.Name
	}
	var parts []string
	for _, s := range stock {
		parts = append(parts, trimmed(s.Share*100, 1)+thin+"% "+s.Material.Name)
	}
	return words.List(parts)
}

// needUsed is what to have ready: m of a strand, g of a powder, or ml of a liquid, in whole
// tenths and rounded up, as the shares of a blend are.
func needUsed(n *needs.Need) string {
	switch n.Process.Measured {
	case bench.ByLength:
		return significant(n.Length / 1000)
	case bench.ByVolume:
		return tenthsOf(n.Tenths())
	}
	return significant(n.UsedGrams)
}

// newNeedTable has the heads of a process's table.
func newNeedTable(proc *bench.Process) NeedTable {
	t := NeedTable{
		Process: proc.Name, ID: proc.ID, Layered: proc.Pace == bench.ByLayer,
		Spooled: proc.Measured == bench.ByLength, Poured: proc.Measured == bench.ByVolume, WasteUnit: "g",
	}
	unit, many := "g", "grams"
	switch {
	case t.Spooled:
		unit, many = "m", "metres"
	case t.Poured:
		unit, many, t.WasteUnit = "ml", "millilitres", "ml"
	}
	t.Stock, t.Amounts = processName(proc)+", "+unit, many+" of "+proc.Name
	return t
}

func tenthsOf(t int) string { return number(float64(t)/10, 1) }

// duration is seconds in words a person plans by: minutes below an hour, then hours and
// tens of minutes. No model of printing time is better than that. Zero is not known.
// span is a time and how far it may be off.
func span(n needs.Need) string {
	if !(n.Seconds > 0) {
		return ""
	}
	return "about " + duration(n.Seconds) + ", from " + duration(n.SecondsLeast) + " to " + duration(n.SecondsMost)
}

// partNeeds is what one copy of each part takes of each stock.
func partNeeds(r release.Release, n needs.Process) NeedGrid {
	var g NeedGrid
	for i, p := range r.Parts {
		row := NeedGridRow{Number: i + 1, Name: p.Name, Count: count(p.Printed())}
		known := false
		for _, stock := range n.Stocks {
			cell := NeedCell{}
			if need := stock.Parts[i]; need != nil {
				known = true
				cell = NeedCell{needUsed(need), duration(need.Seconds)}
			}
			row.Cells = append(row.Cells, cell)
		}
		if known {
			g.Rows = append(g.Rows, row)
		}
	}
	return g.shared(n.Stocks)
}

// plateNeeds is what each laid plate takes of each stock, and all plates together.
func plateNeeds(n needs.Process) NeedGrid {
	var g NeedGrid
	for k := range n.Stocks {
		stock := &n.Stocks[k]
		for i := range stock.Plates {
			if k == 0 {
				g.Rows = append(g.Rows, NeedGridRow{Number: i + 1, Name: fmt.Sprintf("Plate %d", i+1)})
			}
			cell := NeedCell{}
			if plate := &stock.Plates[i]; plate.Pieces > 0 {
				cell = NeedCell{needUsed(plate), duration(plate.Seconds)}
			}
			g.Rows[i].Cells = append(g.Rows[i].Cells, cell)
		}
		if len(stock.Plates) > 0 {
			g.Total = append(g.Total, NeedCell{needUsed(&stock.Together), duration(stock.Together.Seconds)})
		}
	}
	return g.shared(n.Stocks)
}

// shared is g, whose columns are of the stocks, with one column for those that are alike.
func (g NeedGrid) shared(needs []needs.Stock) NeedGrid {
	column := func(k int) []NeedCell {
		var out []NeedCell
		for _, row := range g.Rows {
			out = append(out, row.Cells[k])
		}
		if g.Total != nil {
			out = append(out, g.Total[k])
		}
		return out
	}
	var kept []int
	var stocks [][][]release.Share
	for k, need := range needs {
		i := slices.IndexFunc(kept, func(o int) bool { return slices.Equal(column(o), column(k)) })
		if i < 0 {
			kept, stocks = append(kept, k), append(stocks, nil)
			i = len(kept) - 1
		}
		stocks[i] = append(stocks[i], need.Stock)
	}
	out := NeedGrid{}
	for _, row := range g.Rows {
		cells := row.Cells
		row.Cells = nil
		for _, k := range kept {
			row.Cells = append(row.Cells, cells[k])
		}
		out.Rows = append(out.Rows, row)
	}
	for i, k := range kept {
		out.Stocks = append(out.Stocks, stockNames(stocks[i]))
		if g.Total != nil {
			out.Total = append(out.Total, g.Total[k])
		}
	}
	return out
}

// stockNames heads a column: plain materials share the words of their names.
func stockNames(stocks [][]release.Share) string {
	var blends []string
	var plain []bench.Material
	for _, s := range stocks {
		if len(s) == 1 {
			plain = append(plain, s[0].Material)
		} else {
			blends = append(blends, stockName(s))
		}
	}
	if len(plain) > 0 {
		blends = append(blends, words.Capital(bench.Named(plain)))
	}
	return strings.Join(blends, "; ")
}
