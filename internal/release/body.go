package release

import (
	"strings"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/renderer/html"
	"github.com/yuin/goldmark/text"

	"cardback/internal/fields"
)

// checkBody reports what notes say in vain: HTML, which no page shows; addresses
// that run something; and images that are not published. HTML comments pass:
// nobody expects to see them. An image of another site passes too; it becomes a
// link.
func checkBody(d *fields.Document, body string) {
	src := []byte(body)
	problem := func(at int, format string, args ...any) {
		at = min(max(at, 0), len(body))
		line := strings.Count(body[:at], "\n")
		start := strings.LastIndexByte(body[:at], '\n') + 1
		d.Errorf(d.BodyLine()+line, len([]rune(body[start:at]))+1, format, args...)
	}
	const noHTML = "HTML is not shown on a page; write it in Markdown, or put it between backticks to show it as it is"
	_ = ast.Walk(goldmark.New().Parser().Parse(text.NewReader(src)), func(n ast.Node, entering bool) (ast.WalkStatus, error) {
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
		case *ast.Link:
			if html.IsDangerousURL(n.Destination) {
				problem(startOf(n), "the address %q cannot stand on a page; expected one that begins with https://, http://, mailto: or /", n.Destination)
			}
		case *ast.AutoLink:
			if url := n.URL(src); html.IsDangerousURL(url) {
				problem(startOf(n), "the address %q cannot stand on a page; expected one that begins with https://, http://, mailto: or /", url)
			}
		case *ast.Image:
			if !elsewhere(string(n.Destination)) {
				problem(startOf(n), "image %q is not published; a release's own pictures go in the field photos", n.Destination)
			}
		}
		return ast.WalkContinue, nil
	})
}

// elsewhere reports whether an address is on another site.
func elsewhere(url string) bool {
	url = strings.ToLower(url)
	return strings.HasPrefix(url, "//") || strings.HasPrefix(url, "http:") || strings.HasPrefix(url, "https:")
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
	for p := n.Parent(); p != nil; p = p.Parent() {
		if p.Type() == ast.TypeBlock && p.Lines() != nil && p.Lines().Len() > 0 {
			return p.Lines().At(0).Start
		}
	}
	return 0
}

func leading(s string) int { return len(s) - len(strings.TrimLeft(s, " ")) }
