package notes

import (
	"bytes"
	"fmt"
	"html/template"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	east "github.com/yuin/goldmark/extension/ast"
	"github.com/yuin/goldmark/renderer"
	"github.com/yuin/goldmark/renderer/html"
	"github.com/yuin/goldmark/util"
)

// Page is what a piece of notes has to know of the page that it is put on.
type Page struct {
	Root     string             // the way to the site's root, which is before a path: "../", or an address
	Top      int                // the level of the highest heading
	Cautions map[*Step]*Caution // put at the end of these steps
}

// Render writes the whole text as HTML that asks no other site for anything.
//
// Its highest heading has the page's level, and none is skipped below it, so that notes
// keep to the outline around them. HTML is left out. An address from the site's root is
// made one of the page; what leads to another site says rel=noopener. An image of another
// site is a link to it, and any other its description.
func (d *Document) Render(page Page) (template.HTML, error) {
	if d == nil || d.tree == nil {
		return "", nil
	}
	return d.render(d.tree, &writer{page: page})
}

// Render writes a section as [Document.Render] does, without its heading: the page sets
// that, with the section's anchor.
func (s *Section) Render(page Page) (template.HTML, error) {
	return s.in.render(s, &writer{page: page, apart: s.heading})
}

func (d *Document) render(n ast.Node, w *writer) (template.HTML, error) {
	var out bytes.Buffer
	r := renderer.NewRenderer(renderer.WithNodeRenderers(
		util.Prioritized(html.NewRenderer(), 1000),
		util.Prioritized(extension.NewTableHTMLRenderer(), 500),
		util.Prioritized(extension.NewDefinitionListHTMLRenderer(), 500),
		util.Prioritized(extension.NewStrikethroughHTMLRenderer(), 500),
		util.Prioritized(w, 100),
	))
	if err := r.Render(&out, d.source, n); err != nil {
		return "", fmt.Errorf("render notes: %w", err)
	}
	return template.HTML(out.String()), nil // of a tree whose HTML is left out
}

// writer writes the nodes that are a page's own matter. The others are goldmark's, which
// escapes all text.
type writer struct {
	page  Page
	apart *ast.Heading // a heading that the page sets itself
	open  []int        // levels, in the text, of the headings around the place that is written
}

// RegisterFuncs implements renderer.NodeRenderer.
func (w *writer) RegisterFuncs(reg renderer.NodeRendererFuncRegisterer) {
	reg.Register(kindSection, nothing)
	reg.Register(kindStep, w.step)
	reg.Register(kindCaution, w.caution)
	reg.Register(kindReference, w.reference)
	reg.Register(ast.KindHeading, w.heading)
	reg.Register(ast.KindCodeBlock, w.code)
	reg.Register(ast.KindFencedCodeBlock, w.code)
	reg.Register(ast.KindHTMLBlock, nothing)
	reg.Register(ast.KindRawHTML, nothing)
	reg.Register(east.KindTable, w.table)
	// Each became a Reference. One that did not would ask another site unseen.
	reg.Register(ast.KindLink, unresolved)
	reg.Register(ast.KindAutoLink, unresolved)
	reg.Register(ast.KindImage, unresolved)
}

func nothing(_ util.BufWriter, _ []byte, _ ast.Node, _ bool) (ast.WalkStatus, error) {
	return ast.WalkContinue, nil
}

func unresolved(_ util.BufWriter, _ []byte, n ast.Node, _ bool) (ast.WalkStatus, error) {
	return ast.WalkStop, fmt.Errorf("a %s was not resolved", n.Kind())
}

func (w *writer) heading(out util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	h := n.(*ast.Heading)
	if h == w.apart {
		return ast.WalkSkipChildren, nil
	}
	if entering {
		for len(w.open) > 0 && w.open[len(w.open)-1] >= h.Level {
			w.open = w.open[:len(w.open)-1]
		}
		w.open = append(w.open, h.Level)
	}
	level := min(w.page.Top+len(w.open)-1, 6)
	if entering {
		_, _ = fmt.Fprintf(out, "<h%d>", level)
	} else {
		_, _ = fmt.Fprintf(out, "</h%d>\n", level)
	}
	return ast.WalkContinue, nil
}

// A table is wider than a phone sooner than a paragraph is: each gets its own scroll
// region, reachable from the keyboard. So does code.
func (w *writer) table(out util.BufWriter, _ []byte, _ ast.Node, entering bool) (ast.WalkStatus, error) {
	if entering {
		_, _ = out.WriteString(`<div class="scroll" role="region" aria-label="Table" tabindex="0"><table>` + "\n")
	} else {
		_, _ = out.WriteString("</table></div>\n")
	}
	return ast.WalkContinue, nil
}

func (w *writer) code(out util.BufWriter, source []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if !entering {
		_, _ = out.WriteString("</code></pre>\n")
		return ast.WalkContinue, nil
	}
	_, _ = out.WriteString(`<pre tabindex="0"><code`)
	if fenced, ok := n.(*ast.FencedCodeBlock); ok && fenced.Language(source) != nil {
		_, _ = out.WriteString(` class="language-`)
		html.DefaultWriter.Write(out, fenced.Language(source))
		_ = out.WriteByte('"')
	}
	_ = out.WriteByte('>')
	for i := range n.Lines().Len() {
		line := n.Lines().At(i)
		html.DefaultWriter.RawWrite(out, line.Value(source))
	}
	return ast.WalkContinue, nil
}

func (w *writer) reference(out util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	r := n.(*Reference)
	switch {
	case !r.leads():
	case entering:
		_, _ = out.WriteString(`<a href="`)
		_, _ = out.Write(util.EscapeHTML([]byte(r.from(w.page.Root))))
		_ = out.WriteByte('"')
		if r.title != nil {
			_, _ = out.WriteString(` title="`)
			html.DefaultWriter.Write(out, r.title)
			_ = out.WriteByte('"')
		}
		if r.To == Elsewhere {
			_, _ = out.WriteString(` rel="noopener"`)
		}
		_ = out.WriteByte('>')
	default:
		_, _ = out.WriteString("</a>")
	}
	return ast.WalkContinue, nil
}

// step writes a list item, as goldmark does, and the caution that the page has for it.
func (w *writer) step(out util.BufWriter, source []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if entering {
		_, _ = out.WriteString("<li>")
		if first := n.FirstChild(); first != nil && first.Kind() != ast.KindTextBlock {
			_ = out.WriteByte('\n')
		}
		return ast.WalkContinue, nil
	}
	if c := w.page.Cautions[n.(*Step)]; c != nil {
		if last := n.LastChild(); last == nil || last.Kind() == ast.KindTextBlock {
			_ = out.WriteByte('\n') // the text of a tight list has no end of its own
		}
		_, _ = w.caution(out, source, c, true)
		_, _ = w.caution(out, source, c, false)
	}
	_, _ = out.WriteString("</li>\n")
	return ast.WalkContinue, nil
}

func (w *writer) caution(out util.BufWriter, _ []byte, n ast.Node, entering bool) (ast.WalkStatus, error) {
	if entering {
		_, _ = out.WriteString(`<p class="at-step"><strong>Caution.</strong> `)
		html.DefaultWriter.RawWrite(out, []byte(n.(*Caution).Words))
	} else {
		_, _ = out.WriteString("</p>\n")
	}
	return ast.WalkContinue, nil
}
