package site

import (
	"errors"
	"fmt"
	"html/template"
	"slices"
	"strings"

	"cardback/internal/release"
	"cardback/internal/verdict/backlog"
	"cardback/internal/verdict/standing"
	"cardback/internal/words"
)

// backlogPath is the designer's own page: it is written only where Input.ShowBacklog
// asks for it, and the sitemap never has it.
const backlogPath = "backlog/index.html"

// BacklogPage is what is left to do, and how far the releases have come.
type BacklogPage struct {
	Frame
	Facts    []Fact
	Groups   []BacklogGroup
	Progress []ProgressView // none where nothing was ever sealed
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

// ProgressView is the progress in one process: a drawing, where there are two days
// to draw, and a table.
type ProgressView struct {
	Name string
	SVG  template.HTML
	Rows []ProgressRow
}

// ProgressRow is one day on which something was sealed, or the working files.
type ProgressRow struct {
	When, Machine string
	Sealed        []string
	// Cut is "12 of 14" parts; Complete and CompletePrinted are of Releases.
	Releases, Cut, Printed, Complete, CompletePrinted string
}

func (b *builder) backlog() error {
	if !b.in.ShowBacklog {
		return nil
	}
	if slices.ContainsFunc(b.in.Site.Pages, func(p release.Page) bool { return pagePath(p) == backlogPath }) {
		return errors.New("pages/backlog.md has the address of the backlog; give it another name")
	}
	p := BacklogPage{Frame: b.frame(backlogPath, "Backlog", "What is left to do, for the designer.")}
	tasks := backlog.Of(b.in.Judged)
	todo := 0
	for _, effort := range backlog.Efforts {
		g := BacklogGroup{Name: words.Capital(effort.String()), Rule: effort.Rule(), ID: "effort-" + fmt.Sprint(int(effort))}
		for _, t := range tasks {
			if t.Effort == effort {
				g.Rows = append(g.Rows, b.backlogRow(t))
			}
		}
		if len(g.Rows) == 0 {
			continue
		}
		if effort != backlog.Nothing {
			todo += len(g.Rows)
		}
		p.Groups = append(p.Groups, g)
	}
	proven := 0
	for _, c := range b.in.Cells {
		if c.Standing == standing.Proven {
			proven++
		}
	}
	p.Facts = []Fact{
		{Label: "To do", Value: plural(todo, "thing", "things")},
		{Label: "Releases in materials", Value: fmt.Sprintf("%s of %s proven", count(proven), count(len(b.in.Cells)))},
	}
	progress := backlog.ProgressOf(b.in.Site, b.in.Survey)
	p.Progress, p.NotKnown = progressViews(progress), progress.NotKnown
	return b.page("backlog", backlogPath, p)
}

func (b *builder) backlogRow(t backlog.Task) BacklogRow {
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

func progressViews(p backlog.Progress) []ProgressView {
	if len(p.Points) == 0 {
		return nil
	}
	var out []ProgressView
	for i, c := range p.Now.By {
		v := ProgressView{Name: processName(c.Process)}
		if len(p.Points) > 1 {
			v.SVG = progressChart(p.Points, i)
		}
		for _, pt := range p.Points {
			if len(pt.Sealed) > 0 { // days of prints alone are steps of the drawing
				v.Rows = append(v.Rows, progressRow(pt, i))
			}
		}
		v.Rows = append(v.Rows, progressRow(p.Now, i))
		out = append(out, v)
	}
	return out
}

func progressRow(pt backlog.ProgressPoint, i int) ProgressRow {
	c := pt.By[i]
	r := ProgressRow{
		When: "now", Releases: count(pt.Releases), Cut: fmt.Sprintf("%s of %s", count(c.Cut), count(c.Parts)), Printed: count(c.Printed),
		Complete: count(c.Complete), CompletePrinted: count(c.CompletePrinted),
	}
	if !pt.Date.IsZero() {
		r.When, r.Machine = words.Day(pt.Date), words.Date(pt.Date)
	}
	for _, s := range pt.Sealed {
		what := fmt.Sprintf("%d%s", s.Release, s.Revision)
		if s.Changed < s.Parts {
			what += fmt.Sprintf(", %s changed", plural(s.Changed, "part", "parts"))
		}
		r.Sealed = append(r.Sealed, what)
	}
	return r
}
