package site

import (
	"fmt"
	"html/template"
	"slices"
	"strconv"

	"cardback/internal/draw"
	"cardback/internal/measure"
	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/verdict"
	"cardback/internal/verdict/standing"
)

// FindingGroup is what was found in one cut of a part, and its drawing with the
// places marked; Figure is empty where no finding has a place.
type FindingGroup struct {
	Part, Cut string
	Figure    template.HTML
	From      string // where the figure is seen from
	Rows      []FindingRow
}

// FindingRow is one finding. Mark is its number on the drawing, empty without a
// place; Accepted is the designer's reason to accept it, if there is one.
type FindingRow struct{ Level, Mark, Text, Accepted string }

// Largest size in mm of a drawing beside its findings.
const markedWide, markedHigh = 62, 52

// largestScale is how much a small part may be blown up: a dot larger than life
// tells nothing more.
const largestScale = 4

func (b *builder) findingGroups(r release.Release) (groups []FindingGroup, faults int) {
	own := b.in.Of(r.Number).Findings
	for len(own) > 0 {
		n := 1
		for n < len(own) && own[n].Part == own[0].Part && own[n].Cut == own[0].Cut {
			n++
		}
		groups = append(groups, b.findingGroup(r, own[:n], "marked-"+strconv.Itoa(len(groups)+1)))
		own = own[n:]
	}
	// What may spoil a print comes before what is worth knowing.
	slices.SortStableFunc(groups, func(a, b FindingGroup) int { return a.weight() - b.weight() })
	for _, f := range b.in.Of(r.Number).Findings {
		if f.Level == measure.Fault {
			faults++
		}
	}
	return groups, faults
}

// weight is less the graver the group's gravest finding is.
func (g FindingGroup) weight() int {
	least := 2
	for _, f := range g.Rows {
		least = min(least, slices.Index([]string{string(measure.Fault), string(measure.Caution), string(measure.Note)}, f.Level))
	}
	return least
}

// findingGroup shows findings about one cut. The id must be unique on the page.
func (b *builder) findingGroup(r release.Release, found []verdict.Finding, id string) FindingGroup {
	g := FindingGroup{Cut: string(found[0].Cut)}
	part, ok := partBySlug(r, found[0].Part)
	if ok {
		g.Part = part.Name
		if g.Cut = ""; len(part.Cuts) > 1 || found[0].Cut != release.CutAny {
			g.Cut = string(found[0].Cut) + " cut"
		}
	} else if found[0].Part == "" {
		g.Part = "All parts together"
	}
	var view *draw.Drawing
	var bounds mesh.Box
	for _, c := range part.Cuts {
		if cs, ok := b.in.Survey.Measured(c); ok && c.Kind == found[0].Cut && cs.Report != nil {
			view, bounds = telling(cs), cs.Report.Bounds
		}
	}
	var marks []draw.Mark
	for _, f := range found {
		row := FindingRow{Level: string(f.Level), Text: f.Text}
		if f.Accepted != "" {
			row.Accepted = standing.AcceptedText(f.Accepted)
		}
		if f.At != nil && view != nil {
			row.Mark = strconv.Itoa(len(marks) + 1)
			marks = append(marks, draw.Mark{Label: row.Mark, At: draw.Spot(view.View, bounds, mesh.Vec{X: f.At[0], Y: f.At[1], Z: f.At[2]})})
		}
		g.Rows = append(g.Rows, row)
	}
	if len(marks) > 0 && view.Width > 0 && view.Height > 0 {
		g.From = seenFrom(view.View)
		title := fmt.Sprintf("%s from %s, with %s marked", part.Name, g.From, plural(len(marks), "place", "places"))
		scale := min(markedWide/view.Width, markedHigh/view.Height, largestScale)
		g.Figure = picture(draw.Figure(view, draw.FigureOptions{ID: id, Title: title, Scale: scale, Marks: marks}))
	}
	return g
}

// seenFrom is where a view is seen from.
func seenFrom(v shadow.View) string { return [...]string{"the front", "the side", "above"}[v] }
