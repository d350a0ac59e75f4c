package site

import (
	"slices"
	"strconv"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/verdict/standing"
	"cardback/internal/words"
)

// MaterialRow is this release's standing in one material.
type MaterialRow struct {
	ID, Name, Process, Word, Class, Reason string
	Change                                 WouldChange
	// Grounds are all that it rests on, worst first.
	Grounds []GroundRow
}

// WouldChange leads to what would change a standing.
type WouldChange struct {
	Lead  string
	Links []NavItem
}

// GroundRow is one ground of a standing, and where to look at it.
type GroundRow struct {
	Word, Class, Text string
	Link              NavItem // without Href where there is nothing to look at
}

// PartStandings is the table of parts and materials, one for each process.
type PartStandings struct {
	Process   string
	Materials []string
	Rows      []PartStandingRow
	Notes     []StandingNote
}

// PartStandingRow is one part in each material of a PartStandings.
type PartStandingRow struct {
	Number int
	Name   string
	Cells  []PartStandingCell
}

// PartStandingCell is a word; Note is the number of the reason below the table.
type PartStandingCell struct{ Word, Class, Note, Href string }

// StandingNote is a reason that cells refer to.
type StandingNote struct {
	ID, Number, Text string
	Change           WouldChange
}

// Address is where a link of a ground leads as seen from this page: those that
// begin with "#" stay on it.
func (p ReleasePage) Address(href string) string {
	if strings.HasPrefix(href, "#") {
		return href
	}
	return p.To(href)
}

// Seen is w as seen from this page.
func (p ReleasePage) Seen(w WouldChange) WouldChange {
	w.Links = slices.Clone(w.Links)
	for i := range w.Links {
		w.Links[i].Href = p.Address(w.Links[i].Href)
	}
	return w
}

func (b *builder) materialRows(r release.Release) []MaterialRow {
	var out []MaterialRow
	for _, c := range b.in.Of(r.Number).Cells {
		row := MaterialRow{ID: "in-" + c.Material, Name: c.Material, Word: string(c.Standing), Class: standingClass(c.Standing), Reason: c.Reason}
		if m, ok := b.material(c.Material); ok {
			row.Name, row.Process = m.Name, unsaid(m.Name, m.Process)
		}
		row.Change = b.wouldChange(r, c.Standing, c.Grounds)
		for _, g := range c.Grounds {
			row.Grounds = append(row.Grounds, GroundRow{Word: string(g.Standing), Class: standingClass(g.Standing), Text: g.Text, Link: b.groundLink(r, g)})
		}
		out = append(out, row)
	}
	return out
}

func (b *builder) material(id string) (bench.Material, bool) {
	i := slices.IndexFunc(b.in.Site.Bench.Materials, func(m bench.Material) bool { return m.ID == id })
	if i < 0 {
		return bench.Material{}, false
	}
	return b.in.Site.Bench.Materials[i], true
}

// wouldChange links to what the grounds that give the standing name, each once.
func (b *builder) wouldChange(r release.Release, s standing.Standing, grounds []standing.Ground) WouldChange {
	out := WouldChange{Lead: "What would change it"}
	switch s {
	case standing.Proven:
		out.Lead = "It rests on"
	case standing.Expected:
		out.Lead = "A good print would prove it"
	case standing.NeedsReprint:
		out.Lead = "A good print of the new mesh would prove it again"
	}
	for _, g := range grounds {
		link := b.groundLink(r, g)
		if g.Kind == standing.OfPrint && (s == standing.WithCare || s == standing.NotSuited) {
			link.Label = strings.Replace(link.Label, "the print", "a better print than that", 1)
		}
		if g.Standing == s && link.Href != "" && !slices.Contains(out.Links, link) {
			out.Links = append(out.Links, link)
		}
	}
	return out
}

// groundLink is the place that a ground names; addresses within the page begin
// with "#", others are paths from the site's root.
func (b *builder) groundLink(r release.Release, g standing.Ground) NavItem {
	on := ""
	if len(g.Parts) == 1 {
		if i := slices.IndexFunc(r.Parts, func(p release.Part) bool { return p.Slug == g.Parts[0] }); i >= 0 {
			on = "#part-" + strconv.Itoa(i+1)
		}
	}
	switch g.Kind {
	case standing.OfFinding:
		return NavItem{Label: "the findings", Href: "#findings"}
	case standing.OfCut:
		if on != "" {
			return NavItem{Label: "the part", Href: on}
		}
		return NavItem{Label: "the parts", Href: "#parts"}
	case standing.OfPlate:
		for _, p := range b.in.Site.Bench.Plates {
			if p.ID == g.Target {
				return NavItem{Label: "the plate", Href: platePath(p.ID)}
			}
		}
	case standing.OfPrint:
		line, err := strconv.Atoi(g.Target)
		if i := slices.IndexFunc(r.Log, func(p release.Print) bool { return p.Line == line }); err == nil && i >= 0 {
			return NavItem{Label: "the print of " + words.Day(r.Log[i].Date), Href: "#" + printID(r.Log[i])}
		}
	case standing.OfLog:
		return NavItem{Label: "the test prints", Href: "#test-prints"}
	case standing.OfRevision:
		if slices.ContainsFunc(r.Revisions, func(v release.Revision) bool { return v.Name == g.Target }) {
			return NavItem{Label: "what changed since revision " + g.Target, Href: "#" + revisionID(g.Target)}
		}
	case standing.OfSettings:
		return NavItem{Label: "the settings", Href: "#settings"}
	case standing.OfMaterial:
		if m, ok := b.material(g.Target); ok && slices.ContainsFunc(b.in.Of(r.Number).Cells, func(c standing.Cell) bool { return c.Material == m.ID }) {
			return NavItem{Label: m.Name, Href: "#in-" + m.ID}
		}
	}
	return NavItem{}
}

// partStandings are the tables of each part in each material. Reasons that a word
// does not already say stand below, each once.
func (b *builder) partStandings(r release.Release) []PartStandings {
	var out []PartStandings
	for _, proc := range b.in.Site.Bench.Processes() {
		var cells []standing.Cell
		t := PartStandings{Process: processName(proc)}
		for _, c := range b.in.Of(r.Number).Cells {
			if m, ok := b.material(c.Material); ok && m.Process == proc {
				cells, t.Materials = append(cells, c), append(t.Materials, m.Name)
			}
		}
		for i, p := range r.Parts {
			row := PartStandingRow{Number: i + 1, Name: p.Name}
			any := false
			for _, c := range cells {
				k := slices.IndexFunc(c.Parts, func(pc standing.PartCell) bool { return pc.Part == p.Slug })
				if k < 0 {
					row.Cells = append(row.Cells, PartStandingCell{Word: "not needed", Class: "none"})
					continue
				}
				any = true
				row.Cells = append(row.Cells, b.partStanding(r, c.Parts[k], &t))
			}
			if any {
				t.Rows = append(t.Rows, row)
			}
		}
		if len(t.Rows) > 0 {
			out = append(out, t)
		}
	}
	return out
}

func (b *builder) partStanding(r release.Release, pc standing.PartCell, t *PartStandings) PartStandingCell {
	cell := PartStandingCell{Word: string(pc.Standing), Class: standingClass(pc.Standing)}
	change := b.wouldChange(r, pc.Standing, pc.Grounds)
	said := pc.Standing == standing.Proven || pc.Standing == standing.Expected &&
		!slices.ContainsFunc(pc.Grounds, func(g standing.Ground) bool { return g.Code == standing.GroundMoved || g.Code == standing.GroundNearly })
	if n := len(change.Links); said && n > 0 {
		cell.Href = change.Links[n-1].Href // the print, or the log
		return cell
	}
	i := slices.IndexFunc(t.Notes, func(n StandingNote) bool { return n.Text == pc.Reason })
	if i < 0 {
		i = len(t.Notes)
		number := strconv.Itoa(i + 1)
		t.Notes = append(t.Notes, StandingNote{ID: "why-" + strings.ToLower(t.Process) + "-" + number, Number: number, Text: pc.Reason, Change: change})
	}
	cell.Note, cell.Href = t.Notes[i].Number, "#"+t.Notes[i].ID
	return cell
}

// unsaid is the process, unless the name says it already.
func unsaid(name string, proc *bench.Process) string {
	if strings.Contains(strings.ToLower(name), proc.String()) {
		return ""
	}
	return proc.String()
}

// standingClass picks the sign before the word: a full circle for what is proven,
// an open one for what nobody has tried, a half for what was proven once.
func standingClass(s standing.Standing) string {
	switch s {
	case standing.Proven:
		return "yes"
	case standing.Expected:
		return "open"
	case standing.NeedsReprint:
		return "split"
	case standing.WithCare:
		return "caution"
	case standing.NotSuited:
		return "no"
	default:
		return "none"
	}
}
