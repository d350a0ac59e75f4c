package site

import (
	"bytes"
	"fmt"
	"html/template"
	"strings"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// render turns Markdown into HTML whose highest heading is of level top, so
// that notes keep to the outline of the page around them. Raw HTML and
// dangerous addresses are dropped. Links to other sites say rel=noopener; an
// address that begins with a slash is taken from the site's root, which is
// root (".", "../..") from this page. An image from another site becomes a
// link to it: no page asks another origin for anything. Further transformers of the text
// may be given; they come after these.
func render(markdown string, top int, root string, also ...util.PrioritizedValue) (template.HTML, error) {
	md := goldmark.New(
		goldmark.WithExtensions(extension.Table, extension.DefinitionList, extension.Typographer, extension.Strikethrough),
		goldmark.WithParserOptions(parser.WithASTTransformers(append([]util.PrioritizedValue{
			util.Prioritized(outline{top}, 100),
			util.Prioritized(addresses{root}, 101),
		}, also...)...)),
	)
	var out bytes.Buffer
	if err := md.Convert([]byte(markdown), &out); err != nil {
		return "", fmt.Errorf("render notes: %w", err)
	}
	// A table is wider than a phone sooner than a paragraph is: each gets its
	// own scroll region, reachable from the keyboard.
	html := strings.ReplaceAll(out.String(), "<table>", `<div class="scroll" role="region" aria-label="Table" tabindex="0"><table>`)
	html = strings.ReplaceAll(html, "</table>", "</table></div>")
	html = strings.ReplaceAll(html, "<pre>", `<pre tabindex="0">`)
	html = strings.ReplaceAll(html, "<!-- raw HTML omitted -->", "")
	return template.HTML(html), nil // goldmark without its unsafe option
}

// outline moves every heading down so that the first level used becomes top,
// and closes gaps, because a level may not be skipped.
type outline struct{ top int }

func (o outline) Transform(doc *ast.Document, _ text.Reader, _ parser.Context) {
	var open []int // source levels of the headings around the current one
	_ = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		h, ok := n.(*ast.Heading)
		if !ok || !entering {
			return ast.WalkContinue, nil
		}
		for len(open) > 0 && open[len(open)-1] >= h.Level {
			open = open[:len(open)-1]
		}
		open = append(open, h.Level)
		h.Level = min(o.top+len(open)-1, 6)
		return ast.WalkSkipChildren, nil
	})
}

type addresses struct{ root string }

func (a addresses) Transform(doc *ast.Document, reader text.Reader, _ parser.Context) {
	var images []*ast.Image
	_ = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.Link:
			n.Destination = a.resolve(n.Destination)
			if elsewhere(n.Destination) {
				n.SetAttributeString("rel", []byte("noopener"))
			}
		case *ast.AutoLink:
			n.SetAttributeString("rel", []byte("noopener"))
		case *ast.Image:
			if elsewhere(n.Destination) {
				images = append(images, n)
			} else {
				n.Destination = a.resolve(n.Destination)
			}
		}
		return ast.WalkContinue, nil
	})
	for _, img := range images {
		link := ast.NewLink()
		link.Destination = img.Destination
		link.SetAttributeString("rel", []byte("noopener"))
		for c := img.FirstChild(); c != nil; {
			next := c.NextSibling()
			link.AppendChild(link, c)
			c = next
		}
		img.Parent().ReplaceChild(img.Parent(), img, link)
	}
}

// resolve makes an address from the site's root relative, and names the file
// of an address that ends in a slash.
func (a addresses) resolve(dest []byte) []byte {
	s := string(dest)
	if !strings.HasPrefix(s, "/") || strings.HasPrefix(s, "//") {
		return dest
	}
	path, fragment, found := strings.Cut(strings.TrimPrefix(s, "/"), "#")
	if path == "" || strings.HasSuffix(path, "/") {
		path += "index.html"
	}
	if found {
		path += "#" + fragment
	}
	return []byte(a.root + path)
}

// elsewhere reports whether an address leaves the site.
func elsewhere(dest []byte) bool {
	s := strings.ToLower(string(dest))
	return strings.HasPrefix(s, "//") || strings.HasPrefix(s, "http:") || strings.HasPrefix(s, "https:")
}
