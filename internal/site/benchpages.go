package site

import (
	"fmt"
	"html/template"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/verdict"
	"cardback/internal/words"
)

func platePath(id string) string { return "plates/" + id + "/index.html" }
func itemPath(id string) string  { return "hardware/" + id + "/index.html" }

// MaterialsPage is the model of the material table.
type MaterialsPage struct {
	Frame
	Columns   []MaterialColumn
	Rows      []StandingRow
	Materials []MaterialFacts
}

// MaterialColumn is a material at the head of the table.
type MaterialColumn struct{ Name, Process, Href string }

// StandingRow is a release's standing in every material.
type StandingRow struct {
	Number, Title, Href string
	Revision            string // which one the meshes are; empty where none was sealed
	Cells               []StandingCell
}

// StandingCell is a word that links to its reason.
type StandingCell struct{ Word, Class, Reason, Href string }

// MaterialFacts is what the bench says of a material.
type MaterialFacts struct {
	ID, Name, Process, Stiffness, Density, Wall, Pin, Hole, Shrinkage, Source, Note string
}

func (b *builder) materialTable() error {
	p := MaterialsPage{Frame: b.frame("materials/index.html", "Materials",
		"Which release is offered in which material, each word linked to its reason.")}
	for _, m := range b.in.Site.Bench.Materials {
		p.Columns = append(p.Columns, MaterialColumn{m.Name, unsaid(m.Name, m.Process), "#material-" + m.ID})
		f := MaterialFacts{ID: "material-" + m.ID, Name: m.Name, Process: unsaid(m.Name, m.Process), Stiffness: string(m.Stiffness), Source: m.Source, Note: m.Note}
		if m.Density > 0 {
			f.Density = trimmed(m.Density, 2)
		}
		f.Wall, f.Pin, f.Hole = orNone(m.WallMin), orNone(m.PinMin), orNone(m.HoleAllowance)
		f.Shrinkage = orNone(100 * m.Shrinkage)
		p.Materials = append(p.Materials, f)
	}
	for _, r := range b.in.Site.Releases {
		row := StandingRow{Number: fmt.Sprint(r.Number), Title: r.Title, Href: releasePath(r)}
		row.Revision = b.revisionAside(r)
		for _, c := range b.in.Of(r.Number).Cells {
			row.Cells = append(row.Cells, StandingCell{string(c.Standing), standingClass(c.Standing), c.Reason, releasePath(r) + "#in-" + c.Material})
		}
		p.Rows = append(p.Rows, row)
	}
	b.record(p.Path, b.in.newest())
	return b.page("materials", p.Path, p)
}

func orNone(v float64) string {
	if v == 0 {
		return ""
	}
	return trimmed(v, 2)
}

// PlatesPage is the model of the list of plates.
type PlatesPage struct {
	Frame
	Chart  template.HTML
	Groups []PlateList
}

// PlateList is the plates of one process.
type PlateList struct {
	Process string
	Rows    []PlateFacts
}

// PlateFacts is one plate with how much of the range it takes.
type PlateFacts struct {
	Number                           int
	Name, Href, Size, Inches, Margin string
	Standard                         bool
	Note, Range                      string
}

// PlatePage is everything in the range on one plate.
type PlatePage struct {
	Frame
	Plate   PlateFacts
	Process string
	Outline template.HTML
	Rows    []PlateRow
}

func (b *builder) plateFacts(i int) PlateFacts {
	plate := b.in.Site.Bench.Plates[i]
	f := PlateFacts{
		Number: i + 1, Name: plate.Name, Href: platePath(plate.ID), Size: b.plateSize(plate),
		Margin: plain(plate.Margin), Standard: plate.Standard, Note: plate.Note,
	}
	if b.in.units().inches {
		dims := []float64{plate.Width, plate.Depth, plate.Height}
		if plate.Round {
			dims = []float64{plate.Width, plate.Height}
		}
		var words []string
		for _, d := range dims {
			words = append(words, number(d/25.4, 2))
		}
		f.Inches = strings.Join(words, times) + thin + "in"
		if plate.Round {
			f.Inches = "⌀" + thin + f.Inches
		}
	}
	whole, split, all := 0, 0, 0
	for _, r := range b.in.Site.Releases {
		for _, a := range b.in.Of(r.Number).Plates {
			if a.Plate.ID != plate.ID {
				continue
			}
			all++
			if a.Fits && len(a.UseSplit) > 0 {
				split++
			} else if a.Fits {
				whole++
			}
		}
	}
	f.Range = fmt.Sprintf("%d of %s", whole+split, plural(all, "release", "releases"))
	if split > 0 {
		f.Range += fmt.Sprintf(", %d of them split", split)
	}
	return f
}

func (b *builder) platePages() error {
	p := PlatesPage{Frame: b.frame("plates/index.html", "Plates",
		"The printers' plates that every release is judged on, and how much of the range each takes.")}
	for _, proc := range b.in.Site.Bench.Processes() {
		g := PlateList{Process: processName(proc)}
		for i, plate := range b.in.Site.Bench.Plates {
			if plate.Process == proc {
				g.Rows = append(g.Rows, b.plateFacts(i))
			}
		}
		if len(g.Rows) > 0 {
			p.Groups = append(p.Groups, g)
		}
	}
	p.Chart = plateChart(b.in.Site.Bench.Plates, -1)
	b.record(p.Path, b.in.newest())
	if err := b.page("plates", p.Path, p); err != nil {
		return err
	}
	for i, plate := range b.in.Site.Bench.Plates {
		if err := b.platePage(i, plate); err != nil {
			return err
		}
	}
	return nil
}

func (b *builder) platePage(i int, plate bench.Plate) error {
	p := PlatePage{
		Frame:   b.frame(platePath(plate.ID), plate.Name, "Every release of the range on this plate: what fits, what must be split, what does not fit."),
		Plate:   b.plateFacts(i),
		Process: processName(plate.Process),
		Outline: plateChart(b.in.Site.Bench.Plates, i),
	}
	for _, r := range b.in.Site.Releases {
		for _, a := range b.in.Of(r.Number).Plates {
			if a.Plate.ID == plate.ID {
				row := b.plateRow(r, a)
				row.ReleaseName, row.Href2 = r.Title, releasePath(r)
				p.Rows = append(p.Rows, row)
			}
		}
	}
	b.record(p.Path, b.in.newest())
	return b.page("plate", p.Path, p)
}

// plateChart draws the footprints of all plates at one scale from a common
// corner, each with the number it has in the tables; the plate at index marked,
// unless negative, is drawn solid. A label that would cover another is moved
// along its plate's upper edge.
func plateChart(plates []bench.Plate, marked int) template.HTML {
	if len(plates) == 0 {
		return ""
	}
	var w, d float64
	for _, p := range plates {
		w, d = max(w, p.Width), max(d, p.Depth)
	}
	const pad = 8.0
	var s strings.Builder
	fmt.Fprintf(&s, `<svg class="footprint-chart" viewBox="0 0 %s %s" role="img" aria-label="%s">`, fixed(w+2*pad), fixed(d+2*pad+14), template.HTMLEscapeString(plateChartLabel(plates, marked)))
	shape := func(p bench.Plate, class string) {
		if p.Round {
			fmt.Fprintf(&s, `<circle class="%s" cx="%s" cy="%s" r="%s"/>`, class, fixed(pad+p.Width/2), fixed(pad+d-p.Width/2), fixed(p.Width/2))
			return
		}
		fmt.Fprintf(&s, `<rect class="%s" x="%s" y="%s" width="%s" height="%s"/>`, class, fixed(pad), fixed(pad+d-p.Depth), fixed(p.Width), fixed(p.Depth))
	}
	if marked >= 0 {
		shape(plates[marked], "footprint marked")
	}
	for _, p := range plates {
		shape(p, "footprint")
	}
	const label = 11.0
	var taken [][2]float64
	for i, p := range plates {
		x, y := pad+p.Width-5, pad+d-p.Depth+10
		if p.Round {
			x, y = pad+p.Width/2, pad+d-p.Depth+10
		}
		for moved := true; moved; {
			moved = false
			for _, t := range taken {
				if dx, dy := x-t[0], y-t[1]; dx > -label && dx < label && dy > -label && dy < label {
					x, moved = t[0]-label, true
				}
			}
		}
		taken = append(taken, [2]float64{x, y})
		class := "number"
		if i == marked {
			class = "number on"
		}
		fmt.Fprintf(&s, `<text class="%s" x="%s" y="%s" text-anchor="end">%d</text>`, class, fixed(x), fixed(y), i+1)
	}
	y := fixed(d + 2*pad + 2)
	fmt.Fprintf(&s, `<path class="ruler" d="M%s %sv-3v3h100v-3M%s %sv-2"/><text class="ruler" x="%s" y="%s">100 mm</text>`,
		fixed(pad), y, fixed(pad+50), y, fixed(pad+103), fixed(d+2*pad+4))
	s.WriteString("</svg>")
	return template.HTML(s.String())
}

func plateChartLabel(plates []bench.Plate, marked int) string {
	if marked >= 0 {
		return "Footprint of " + plates[marked].Name + " among those of all plates, at one scale"
	}
	return "Footprints of all plates at one scale, from a common corner, with the numbers of the table below"
}

// HardwarePage is the model of the list of hardware.
type HardwarePage struct {
	Frame
	Rows []ItemRow
}

// ItemRow is one item with how many releases need it.
type ItemRow struct{ Name, Href, Kind, Size, Stock, Needed string }

// ItemPage is one item of hardware with every release that needs it.
type ItemPage struct {
	Frame
	Facts    []Fact
	Note     string
	Caution  []CautionRow
	Uses     []UseRow
	Total    string
	Together string // lengths to buy for all of the releases at once
}

// UseRow is one release that needs an item, with all of its pieces.
type UseRow struct {
	Number, Title, Href string
	Buy                 string // "2 lengths to buy", of what is cut
	Pieces              []HardwareRow
}

func hardwareSize(h bench.Hardware) string {
	switch {
	case h.Diameter > 0 && h.Bore > 0:
		return "⌀" + thin + trimmed(h.Bore, 2) + "–" + trimmed(h.Diameter, 2) + times + trimmed(h.Thickness, 2) + thin + "mm"
	case h.Diameter > 0 && h.Length > 0:
		return "⌀" + thin + trimmed(h.Diameter, 2) + times + trimmed(h.Length, 2) + thin + "mm"
	case h.Diameter > 0 && h.Thickness > 0:
		return "⌀" + thin + trimmed(h.Diameter, 2) + times + trimmed(h.Thickness, 2) + thin + "mm"
	case h.Diameter > 0:
		return "⌀" + thin + plain(h.Diameter)
	case h.Thickness > 0:
		return plain(h.Thickness)
	}
	return ""
}

func (b *builder) hardwarePages() error {
	if len(b.in.Site.Bench.Hardware) == 0 {
		return nil
	}
	p := HardwarePage{Frame: b.frame("hardware/index.html", "Hardware",
		"The bought items that the range needs: rods, wire, cord, magnets, screws, bearings, springs and adhesives.")}
	for _, use := range b.in.Uses {
		h := use.Item
		row := ItemRow{Name: h.Name, Href: itemPath(h.ID), Kind: string(h.Kind), Size: hardwareSize(h)}
		if h.StockLength > 0 {
			row.Stock = plain(h.StockLength)
		}
		row.Needed = plural(len(use.By), "release", "releases")
		if len(use.By) == 0 {
			row.Needed = "none yet"
		}
		p.Rows = append(p.Rows, row)
		if err := b.itemPage(use); err != nil {
			return err
		}
	}
	b.record(p.Path, b.in.newest())
	return b.page("hardware", p.Path, p)
}

func (b *builder) itemPage(use verdict.ItemUse) error {
	h, u := use.Item, b.in.units()
	p := ItemPage{Frame: b.frame(itemPath(h.ID), h.Name, "Every release that needs it, with counts and cut lengths."), Note: h.Note}
	add := func(label string, v float64) {
		if v > 0 {
			p.Facts = append(p.Facts, Fact{Label: label, Value: u.plain(v)})
		}
	}
	p.Facts = append(p.Facts, Fact{Label: "Kind", Value: words.Capital(string(h.Kind))})
	add("Diameter", h.Diameter)
	add("Bore", h.Bore)
	add("Thickness", h.Thickness)
	add("Length", h.Length)
	add("Sold in lengths of", h.StockLength)
	add("Each cut takes", h.Kerf)
	p.Caution = cautionRows(use.Cautions)
	drawn := 0
	for _, by := range use.By {
		r := b.release(by.Release)
		row := UseRow{Number: fmt.Sprint(r.Number), Title: r.Title, Href: releasePath(r), Pieces: b.pieceRows(by.Bought, &drawn)}
		if by.CutList != nil {
			row.Buy = plural(by.CutList.Plan.Count, "length", "lengths") + " to buy"
		}
		p.Uses = append(p.Uses, row)
	}
	if use.Length > 0 {
		p.Total = u.length(use.Length)
		if l := use.Together; l != nil && l.Plan.Count > 0 {
			p.Together = plural(l.Plan.Count, "length", "lengths")
		}
	}
	b.record(p.Path, b.in.newest())
	return b.page("item", p.Path, p)
}
