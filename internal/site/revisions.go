package site

import (
	"fmt"
	"html/template"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/draw"
	"cardback/internal/measure/change"
	"cardback/internal/release"
	"cardback/internal/survey/history"
	"cardback/internal/verdict/reprint"
	"cardback/internal/words"
)

// Since is the model of "What changed": which revision stands here, and for
// whoever printed an earlier one what to print again. It is nil on the page of a
// release of which nothing was sealed.
type Since struct {
	Name     string // of the last revision
	Unsealed bool   // the files here differ from it
	// Tolerance says below what nothing is printed again, in mm and as text; empty
	// where every difference counts.
	Tolerance string
	Entries   []RevisionEntry
}

// RevisionEntry is one revision, newest first.
type RevisionEntry struct {
	ID, Name      string
	Date, Machine string
	Note          string
	Faults        string       // why it was sealed although a fault stood; mostly empty
	Current       bool         // it is what stands here
	Printed       *PrintedThen // what to do for whoever printed it; nil where Current
}

// PrintedThen is the advice for whoever printed one revision.
type PrintedThen struct {
	Summary  string // "print 3 parts again, 1 new"
	Blocks   []AdviceBlock
	Hardware []string
	Figures  []ChangeFigure
}

// AdviceBlock is the advice for one way of printing, or for all of them where it
// is the same.
type AdviceBlock struct {
	Process string
	Nothing bool // nothing is to be printed
	Rows    []AdviceRow
	Same    string // names of the parts that nothing has happened to

	same []string
}

// AdviceRow is one part of an AdviceBlock.
type AdviceRow struct{ Part, WasName, Word, Class, Sentence string }

// ChangeFigure is an old mesh and a new one over each other. Where another entry
// shows it already, Figure is empty and Href leads there.
type ChangeFigure struct {
	ID, Title, Caption string
	Figure             template.HTML
	Href               string
}

// revisionID is a revision's place on the release's page. Feeds refer to it, so it
// must never change.
func revisionID(name string) string { return "revision-" + strings.ToLower(name) }

func (b *builder) since(r release.Release) *Since {
	c := b.in.Of(r.Number).Changes
	last, ok := c.Last()
	if !ok {
		return nil
	}
	s := &Since{Name: last.Name, Unsealed: c.Unsealed()}
	if t := b.in.Site.PrintTolerance; t > 0 {
		s.Tolerance = words.Plain(t)
	}
	drawn := map[[2]string]string{} // fingerprints to the id of their figure
	printed := map[string]*PrintedThen{}
	for _, a := range c.Earlier() {
		printed[a.From] = b.printedThen(r, a, drawn)
	}
	for _, n := range c.Notes {
		if n.Name == "" {
			continue
		}
		s.Entries = append(s.Entries, RevisionEntry{
			ID: revisionID(n.Name), Name: n.Name, Date: words.Day(n.Date), Machine: words.Date(n.Date), Note: n.Note, Faults: n.Faults,
			Current: n.Name == last.Name && !s.Unsealed, Printed: printed[n.Name],
		})
	}
	return s
}

// revisionAside names the revision in the material table; empty where nothing was
// sealed.
func (b *builder) revisionAside(r release.Release) string {
	c := b.in.Of(r.Number).Changes
	last, ok := c.Last()
	switch {
	case !ok:
		return ""
	case c.Unsealed():
		return "later than revision " + last.Name
	}
	return "revision " + last.Name
}

// revisionFact names the revision for the facts under the title; ok is false where
// nothing was sealed.
func (b *builder) revisionFact(r release.Release) (f Fact, ok bool) {
	c := b.in.Of(r.Number).Changes
	last, ok := c.Last()
	if !ok {
		return f, false
	}
	f = Fact{Label: "Revision", Value: last.Name + ", " + words.Day(last.Date), Machine: words.Date(last.Date)}
	if c.Unsealed() {
		f = Fact{Label: "Revision", Value: "later than " + last.Name + ", not sealed"}
	}
	return f, true
}

func (b *builder) printedThen(r release.Release, a reprint.Advice, drawn map[[2]string]string) *PrintedThen {
	p := &PrintedThen{Summary: adviceSummary(a)}
	for _, proc := range a.Processes() {
		block := adviceBlock(a, proc)
		if n := len(p.Blocks); n > 0 {
			if first := &p.Blocks[n-1]; slices.Equal(first.Rows, block.Rows) && first.Nothing == block.Nothing {
				first.Process += " and " + proc.String()
				first.same = append(first.same, block.same...)
				continue
			}
		}
		p.Blocks = append(p.Blocks, block)
	}
	for i := range p.Blocks {
		p.Blocks[i].Same = eachOnce(a, p.Blocks[i].same)
	}
	for _, h := range a.Hardware {
		p.Hardware = append(p.Hardware, tied(h.Sentence))
	}
	p.Figures = b.changeFigures(r, a, drawn)
	return p
}

func adviceBlock(a reprint.Advice, proc *bench.Process) AdviceBlock {
	block := AdviceBlock{Process: processName(proc), Nothing: true}
	for _, g := range a.Groups(proc) {
		block.Nothing = block.Nothing && !g.Action.Prints()
		for _, p := range g.Parts {
			if p.Untouched() {
				block.same = append(block.same, p.Titled())
				continue
			}
			row := AdviceRow{Part: p.Titled(), WasName: p.WasName, Word: string(p.Action), Class: actionClass(p.Action), Sentence: p.Sentence}
			if row.Sentence == words.Capital(row.Word)+"." {
				row.Sentence = "" // the word says it
			}
			block.Rows = append(block.Rows, row)
		}
	}
	return block
}

// eachOnce lists names in the order of the advice.
func eachOnce(a reprint.Advice, names []string) string {
	var out []string
	for _, p := range a.Parts {
		if name := p.Titled(); slices.Contains(names, name) && !slices.Contains(out, name) {
			out = append(out, name)
		}
	}
	return strings.Join(out, "; ")
}

func actionClass(a reprint.Action) string {
	switch {
	case a.Prints():
		return "again"
	case a == reprint.Keep:
		return "yes"
	case a == reprint.IfWanted:
		return "open"
	}
	return "none"
}

// adviceSummary counts the parts to print, each once whatever it is printed by.
func adviceSummary(a reprint.Advice) string {
	names := map[reprint.Action][]string{}
	for _, p := range a.Parts {
		if !slices.Contains(names[p.Action], p.Part) {
			names[p.Action] = append(names[p.Action], p.Part)
		}
	}
	var out []string
	if n := len(names[reprint.PrintAgain]); n > 0 {
		out = append(out, "print "+plural(n, "part", "parts")+" again")
	}
	if n := len(names[reprint.PrintMore]); n > 0 {
		out = append(out, "print more of "+plural(n, "part", "parts"))
	}
	if n := len(names[reprint.PrintNew]); n > 0 {
		out = append(out, plural(n, "new part", "new parts"))
	}
	if len(out) == 0 {
		out = append(out, "nothing to print again")
	}
	if len(a.Hardware) > 0 {
		out = append(out, "hardware changed")
	}
	return strings.Join(out, ", ")
}

// Width in mm of an overlay: a phone's column, and half of a desk's.
const overlayMM = phoneMM

// changeFigures draws the meshes that are to be printed again. The same pair of
// meshes is drawn once on a page.
func (b *builder) changeFigures(r release.Release, a reprint.Advice, drawn map[[2]string]string) []ChangeFigure {
	h := b.in.History[r.Number]
	i := slices.IndexFunc(h.ToWorking, func(s history.Step) bool { return s.From == a.From })
	if i < 0 {
		return nil
	}
	var out []ChangeFigure
	for _, p := range h.ToWorking[i].Parts {
		for _, c := range p.Cuts {
			if c.Overlay == nil || c.Was == nil || c.Is == nil || !toPrint(a, p.Slug(), c) {
				continue
			}
			f := ChangeFigure{Title: p.Name(), Caption: changeCaption(c)}
			if cuts := cutsOf(c); cuts != "" {
				f.Title += ", " + cuts
			}
			key := [2]string{c.Was.Fingerprint, c.Is.Fingerprint}
			if id, ok := drawn[key]; ok {
				f.Href = "#" + id
				out = append(out, f)
				continue
			}
			f.ID = "changed-" + strconv.Itoa(len(drawn)+1)
			drawn[key] = f.ID
			f.Figure = picture(c.Picture(draw.OverlayOptions{
				ID: f.ID + "-drawn", Title: f.Title + ": revision " + a.From + " and now, over each other", WidthMM: overlayMM, Inches: b.in.units().inches,
			}))
			out = append(out, f)
		}
	}
	return out
}

// toPrint reports whether the advice has the cut printed for anybody. Of a part
// whose mirrored twin takes its place, for one, it does not.
func toPrint(a reprint.Advice, slug string, c history.CutStep) bool {
	return slices.ContainsFunc(a.Parts, func(p reprint.PartAdvice) bool {
		return p.Part == slug && p.Action.Prints() && slices.ContainsFunc(c.Uses, func(u history.Use) bool {
			return u.Process == p.Process && (p.Only == "" || u.Flexible == (p.Only == bench.Flexible))
		})
	})
}

// cutsOf says which mesh took the place of which; empty for a part with one mesh
// for everything.
func cutsOf(c history.CutStep) string {
	switch {
	case c.Was.Kind != c.Is.Kind:
		return fmt.Sprintf("%s cut, before %s", c.Is.Kind, c.Was.Kind)
	case c.Is.Kind == release.CutAny:
		return ""
	}
	return string(c.Is.Kind) + " cut"
}

// changeCaption gives the numbers of a comparison.
func changeCaption(c history.CutStep) string {
	if c.Change == nil {
		return ""
	}
	if c.Change.Kind == change.Changed {
		return words.Capital(strings.TrimPrefix(c.Change.Sentence(), "Changed: "))
	}
	return c.Change.Sentence()
}
