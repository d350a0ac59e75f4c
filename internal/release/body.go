package release

import (
	"strings"

	"github.com/yuin/goldmark/ast"

	"cardback/internal/fields"
	"cardback/internal/notes"
)

// body checks the text of notes and returns it where it may be parsed, else nothing.
// It reports what would cost the parser too much, and what notes say in vain: HTML,
// which no page shows; addresses that run something; and images that are not
// published. HTML comments pass: nobody expects to see them. An image of another site
// passes too; it becomes a link. Addresses within the site are remembered until all
// its pages are known.
//
// inSections says that each section is read by itself, so that an address defined in
// another is none.
func (l *loader) body(d *fields.Document, body string, inSections bool) string {
	if p := notes.Guard(body); p != nil {
		d.Errorf(d.BodyLine()+p.Line-1, p.Column, "%s", p.Text)
		return ""
	}
	src := []byte(body)
	doc := notes.Parse(src)
	if p := notes.CheckTree(doc, func(n ast.Node) (line, column int) { return placeIn(d, body, blockStart(n)) }); p != nil {
		d.Errorf(p.Line, p.Column, "%s", p.Text)
		return ""
	}
	problem := func(at int, format string, args ...any) {
		line, column := placeIn(d, body, at)
		d.Errorf(line, column, format, args...)
	}
	const noHTML = "HTML is not shown on a page; write it in Markdown, or put it between backticks to show it as it is"
	_ = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.HTMLBlock:
			if at := n.Lines().At(0).Start; n.HTMLBlockType != ast.HTMLBlockType2 {
				problem(at+leading(body[at:]), noHTML)
			}
		case *ast.RawHTML:
			s := n.Segments.At(0)
			if tag := string(s.Value(src)); !strings.HasPrefix(tag, "</") && !strings.HasPrefix(tag, "<!--") {
				problem(s.Start, noHTML)
			}
		}
		return ast.WalkContinue, nil
	})
	var alone map[int]bool
	if inSections {
		alone = linksOfSections(body)
	}
	for _, a := range notes.Addresses(doc, src) {
		if _, auto := a.Node.(*ast.AutoLink); inSections && !auto && !alone[startOf(a.Node)] && !inHeading(a.Node) {
			problem(startOf(a.Node), "the address of this link stands in another section, and each section is read by itself; write it in this one")
			continue
		}
		written := a.Final
		switch n := a.Node.(type) {
		case *ast.Link:
			written = string(n.Destination)
		case *ast.Image:
			if written = string(n.Destination); a.To != notes.Elsewhere {
				problem(startOf(n), "image %q is not published; a release's own pictures go in the field photos", written)
			}
			continue
		}
		switch a.To {
		case notes.Refused:
			problem(startOf(a.Node), "the address %q cannot stand on a page; expected one that begins with https://, http://, mailto: or /", written)
		case notes.Within, notes.Beside:
			line, column := placeIn(d, body, startOf(a.Node))
			l.links = append(l.links, link{at: d.At(line, column), written: written, final: a.Final})
		}
	}
	return body
}

// linksOfSections are the places of the links and images that there are when each
// section is read by itself, as a release's page does.
func linksOfSections(body string) map[int]bool {
	out := map[int]bool{}
	for _, s := range sections(body) {
		src := []byte(s.Body)
		for _, a := range notes.Addresses(notes.Parse(src), src) {
			out[s.at+startOf(a.Node)] = true
		}
	}
	return out
}

func inHeading(n ast.Node) bool {
	for ; n != nil; n = n.Parent() {
		if _, ok := n.(*ast.Heading); ok {
			return true
		}
	}
	return false
}

// placeIn is the place in the file of the body's byte at.
func placeIn(d *fields.Document, body string, at int) (line, column int) {
	at = min(max(at, 0), len(body))
	start := strings.LastIndexByte(body[:at], '\n') + 1
	return d.BodyLine() + strings.Count(body[:at], "\n"), len([]rune(body[start:at])) + 1
}

// startOf is about where an inline node stands: its first text, or else the
// block around it. The parser keeps no more.
func startOf(n ast.Node) int {
	at := -1
	_ = ast.Walk(n, func(c ast.Node, entering bool) (ast.WalkStatus, error) {
		if t, ok := c.(*ast.Text); ok && entering {
			at = t.Segment.Start
			return ast.WalkStop, nil
		}
		return ast.WalkContinue, nil
	})
	if at >= 0 {
		return at
	}
	return blockStart(n)
}

// blockStart is where the block that a node is, or stands in, begins.
func blockStart(n ast.Node) int {
	for ; n != nil; n = n.Parent() {
		if n.Type() == ast.TypeBlock && n.Lines() != nil && n.Lines().Len() > 0 {
			return n.Lines().At(0).Start
		}
	}
	return 0
}

func leading(s string) int { return len(s) - len(strings.TrimLeft(s, " ")) }
