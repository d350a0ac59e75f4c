package site

import (
	"errors"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"cardback/internal/release"
	"cardback/internal/verdict"
)

// backlogPath is the designer's own page: it is written only where Input.Backlog
// asks for it, and the sitemap never has it.
const backlogPath = "backlog/index.html"

// BacklogPage is what is left to do, and how far the releases have come.
type BacklogPage struct {
	Frame
	Facts    []Fact
	Groups   []BacklogGroup
	Progress *ProgressView // nil where nothing was ever sealed
	NotKnown []string
}

// BacklogGroup is the tasks of one class of effort.
type BacklogGroup struct {
	Name, Rule, ID string
	Rows           []BacklogRow
}

// BacklogRow is one task. Parts are its parts by their numbers on the release's
// chart.
type BacklogRow struct {
	Release, Href, Kind, What, Takes, Settles, Command, Parts string
	Missing                                                   []string
	Bears                                                     string // the releases' cells that it bears on, in words
	Spare                                                     bool   // the release does without it
}

// ProgressView is the drawings and the table of the progress.
type ProgressView struct {
	Charts  []ProgressChart
	Columns []string // processes
	Rows    []ProgressRow
}

// ProgressChart is the drawing of one process.
type ProgressChart struct {
	Name string
	SVG  template.HTML
}

// ProgressRow is one day on which something was sealed, or the working files.
type ProgressRow struct {
	When, Machine string
	Sealed        []string
	Releases      string
	By            []ProgressCell
}

// ProgressCell is the counts of one process: "12 of 14".
type ProgressCell struct{ Cut, Printed, Complete, CompletePrinted string }

func (b *builder) backlog() error {
	if !b.in.Backlog {
		return nil
	}
	if slices.ContainsFunc(b.in.Site.Pages, func(p release.Page) bool { return pagePath(p) == backlogPath }) {
		return errors.New("pages/backlog.md has the address of the backlog; give it another name")
	}
	p := BacklogPage{Frame: b.frame(backlogPath, "Backlog", "What is left to do, for the designer.")}
	tasks := verdict.Backlog(verdict.BacklogInput{
		Site: b.in.Site, Survey: b.in.Survey, Cells: b.in.Cells, Plates: b.in.Plates, Findings: b.in.Findings, History: b.in.History,
	})
	todo := 0
	for _, effort := range verdict.Efforts {
		g := BacklogGroup{Name: capital(effort.String()), Rule: effort.Rule(), ID: "effort-" + fmt.Sprint(int(effort))}
		for _, t := range tasks {
			if t.Effort == effort {
				g.Rows = append(g.Rows, b.backlogRow(t))
			}
		}
		if len(g.Rows) == 0 {
			continue
		}
		if effort != verdict.Nothing {
			todo += len(g.Rows)
		}
		p.Groups = append(p.Groups, g)
	}
	proven := 0
	for _, c := range b.in.Cells {
		if c.Standing == verdict.Proven {
			proven++
		}
	}
	p.Facts = []Fact{
		{Label: "To do", Value: plural(todo, "thing", "things")},
		{Label: "Releases in materials", Value: fmt.Sprintf("%s of %s proven", count(proven), count(len(b.in.Cells)))},
	}
	progress := verdict.ProgressOf(b.in.Site, b.in.Survey)
	p.Progress, p.NotKnown = progressView(progress), progress.NotKnown
	return b.page("backlog", backlogPath, p)
}

func (b *builder) backlogRow(t verdict.Task) BacklogRow {
	row := BacklogRow{Kind: string(t.Kind), What: t.What, Missing: t.Missing, Settles: t.Settles, Command: t.Command, Spare: !t.Needed}
	if takes := t.Takes(); takes != "" {
		row.Takes = tied(takes)
	}
	i := slices.IndexFunc(b.in.Site.Releases, func(r release.Release) bool { return r.Number == t.Release })
	if i < 0 {
		return row
	}
	r := b.in.Site.Releases[i]
	row.Release, row.Href = fmt.Sprintf("%d.%s%s", r.Number, "\u00a0", r.Title), releasePath(r)
	const named = 3 // beyond that What counts them
	if len(t.Parts) > named && len(t.Parts) < len(r.Parts) {
		var names []string
		for k, p := range r.Parts {
			if slices.Contains(t.Parts, p.Slug) {
				names = append(names, fmt.Sprintf("%d\u00a0%s", k+1, p.Name))
			}
		}
		row.Parts = strings.Join(names, "; ")
	}
	var words []string
	for _, m := range b.in.Site.Bench.Materials {
		for _, c := range t.Cells {
			if c.Part == "" && c.Material == m.ID {
				words = append(words, fmt.Sprintf("%s: %s", m.Name, c.Standing))
			}
		}
	}
	row.Bears = strings.Join(words, "; ")
	return row
}

func progressView(p verdict.Progress) *ProgressView {
	if len(p.Points) == 0 {
		return nil
	}
	v := &ProgressView{}
	for i, c := range p.Now.By {
		v.Columns = append(v.Columns, processName(c.Process))
		if len(p.Points) > 1 {
			v.Charts = append(v.Charts, ProgressChart{processName(c.Process), progressChart(p.Points, i)})
		}
	}
	row := func(pt verdict.ProgressPoint) ProgressRow {
		r := ProgressRow{When: "now", Releases: count(pt.Releases)}
		if !pt.Date.IsZero() {
			r.When, r.Machine = day(pt.Date), machine(pt.Date)
		}
		for _, s := range pt.Sealed {
			what := fmt.Sprintf("%d%s", s.Release, s.Revision)
			if s.Changed < s.Parts {
				what += fmt.Sprintf(", %s changed", plural(s.Changed, "part", "parts"))
			}
			r.Sealed = append(r.Sealed, what)
		}
		for _, c := range pt.By {
			r.By = append(r.By, ProgressCell{
				Cut: fmt.Sprintf("%d of %d", c.Cut, c.Parts), Printed: count(c.Printed),
				Complete: count(c.Complete), CompletePrinted: count(c.CompletePrinted),
			})
		}
		return r
	}
	for _, pt := range p.Points {
		if len(pt.Sealed) > 0 { // days of prints alone are steps of the drawing
			v.Rows = append(v.Rows, row(pt))
		}
	}
	v.Rows = append(v.Rows, row(p.Now))
	return v
}
