package release

import (
	"strings"

	"github.com/yuin/goldmark/ast"

	"cardback/internal/notes"
)

// Sections cuts notes at their second-level headings. Text before the first
// one becomes a section with an empty title; a title is the heading's text
// without its emphasis and links.
func Sections(body string) []Section {
	var out []Section
	for _, s := range sections(body) {
		out = append(out, s.Section)
	}
	return out
}

// placedSection is a section and where its Body begins, in bytes of the whole.
type placedSection struct {
	Section
	at int
}

func sections(body string) []placedSection {
	src := []byte(body)
	doc := notes.ParsePlain(src)
	var out []placedSection
	title, from := "", 0
	flush := func(to int) {
		if b := strings.Trim(body[from:to], "\n"); title != "" || strings.TrimSpace(b) != "" {
			at := from + len(body[from:to]) - len(strings.TrimLeft(body[from:to], "\n"))
			out = append(out, placedSection{Section{Title: title, Body: b}, at})
		}
	}
	for n := doc.FirstChild(); n != nil; n = n.NextSibling() {
		h, ok := n.(*ast.Heading)
		if !ok || h.Level != 2 || h.Lines().Len() == 0 {
			continue
		}
		start, end := headingSpan(body, h)
		if start < from {
			continue
		}
		flush(start)
		title, from = plainText(h, src), end
	}
	flush(len(body))
	return out
}

// headingSpan is the heading's bytes, whole lines: its own lines, and the
// underline of the underlined form.
func headingSpan(body string, h *ast.Heading) (start, end int) {
	lines := h.Lines()
	start = strings.LastIndexByte(body[:lines.At(0).Start], '\n') + 1
	end = nextLine(body, lines.At(lines.Len()-1).Start)
	if !strings.HasPrefix(strings.TrimLeft(body[start:], " "), "#") {
		end = nextLine(body, end)
	}
	return start, end
}

func nextLine(s string, at int) int {
	if i := strings.IndexByte(s[at:], '\n'); i >= 0 {
		return at + i + 1
	}
	return len(s)
}

func plainText(n ast.Node, src []byte) string {
	var b strings.Builder
	_ = ast.Walk(n, func(c ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			if c.Type() == ast.TypeBlock {
				b.WriteByte(' ') // words of two blocks are not one
			}
			return ast.WalkContinue, nil
		}
		switch c := c.(type) {
		case *ast.Text:
			b.Write(c.Value(src))
			if c.SoftLineBreak() || c.HardLineBreak() {
				b.WriteByte(' ')
			}
		case *ast.String:
			b.Write(c.Value)
		case *ast.AutoLink:
			b.Write(c.Label(src))
		}
		return ast.WalkContinue, nil
	})
	return strings.TrimSpace(b.String())
}
