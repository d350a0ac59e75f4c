package site

import (
	"bytes"
	"fmt"
	"html/template"
	"io"
	"strings"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"

	"cardback/internal/notes"
)

// render turns Markdown into HTML whose highest heading is of level top, so
// that notes keep to the outline of the page around them. Raw HTML and
// dangerous addresses are dropped. Links to other sites say rel=noopener; an
// address that begins with a slash is taken from the site's root, which is
// root (".", "../..") from this page. An image from another site becomes a
// link to it, and any other its description: no page asks another origin for anything. Further transformers of the text
// may be given; they come after these.
func render(markdown string, top int, root string, also ...util.PrioritizedValue) (template.HTML, error) {
	md := notes.Markdown(parser.WithASTTransformers(append([]util.PrioritizedValue{
		util.Prioritized(outline{top}, 100),
		util.Prioritized(addresses{root}, 101),
	}, also...)...))
	var out bytes.Buffer
	if err := md.Convert([]byte(markdown), &out); err != nil {
		return "", fmt.Errorf("render notes: %w", err)
	}
	if err := keepsToTheSite(out.Bytes()); err != nil {
		return "", err
	}
	// A table is wider than a phone sooner than a paragraph is: each gets its
	// own scroll region, reachable from the keyboard.
	piece := strings.ReplaceAll(out.String(), "<table>", `<div class="scroll" role="region" aria-label="Table" tabindex="0"><table>`)
	piece = strings.ReplaceAll(piece, "</table>", "</table></div>")
	piece = strings.ReplaceAll(piece, "<pre>", `<pre tabindex="0">`)
	piece = strings.ReplaceAll(piece, "<!-- raw HTML omitted -->", "")
	return template.HTML(piece), nil // goldmark without its unsafe option
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

// addresses makes the addresses of notes those of this page.
type addresses struct{ root string }

func (a addresses) Transform(doc *ast.Document, reader text.Reader, _ parser.Context) {
	for _, found := range notes.Addresses(doc, reader.Source()) {
		switch n := found.Node.(type) {
		case *ast.Link:
			n.Destination = a.resolve(found)
			if found.To == notes.Elsewhere {
				n.SetAttributeString("rel", []byte("noopener"))
			}
		case *ast.AutoLink:
			n.SetAttributeString("rel", []byte("noopener"))
		case *ast.Image:
			withoutImage(n, found.To == notes.Elsewhere)
		}
	}
}

// withoutImage puts a link in an image's place, or its description alone.
func withoutImage(img *ast.Image, linked bool) {
	parent := img.Parent()
	if linked {
		link := ast.NewLink()
		link.Destination = img.Destination
		link.SetAttributeString("rel", []byte("noopener"))
		for c := img.FirstChild(); c != nil; c = img.FirstChild() {
			link.AppendChild(link, c)
		}
		parent.ReplaceChild(parent, img, link)
		return
	}
	for c := img.FirstChild(); c != nil; c = img.FirstChild() {
		parent.InsertBefore(parent, img, c)
	}
	parent.RemoveChild(parent, img)
}

// resolve makes an address from the site's root relative, and names the file
// of an address that ends in a slash.
func (a addresses) resolve(found notes.Address) []byte {
	switch found.To {
	case notes.Refused:
		return nil
	case notes.Within:
	default:
		return []byte(found.Final)
	}
	path, fragment, hasFragment := strings.Cut(strings.TrimPrefix(found.Final, "/"), "#")
	if path == "" || strings.HasSuffix(path, "/") {
		path += "index.html"
	}
	if hasFragment {
		path += "#" + fragment
	}
	return []byte(a.root + path)
}

// keepsToTheSite makes sure that a page with this piece of HTML asks nobody else for
// anything: it has no element that fetches, and no link that leaves without saying
// so. It looks at what was rendered and trusts nothing that came before.
func keepsToTheSite(piece []byte) error {
	z := html.NewTokenizer(bytes.NewReader(piece))
	for {
		switch z.Next() {
		case html.ErrorToken:
			if z.Err() == io.EOF {
				return nil
			}
			return z.Err()
		case html.StartTagToken, html.SelfClosingTagToken:
		default:
			continue
		}
		token := z.Token()
		href, rel := "", ""
		for _, at := range token.Attr {
			switch at.Key {
			case "href":
				href = at.Val
			case "rel":
				rel = at.Val
			case "id", "class", "title", "start", "style", "role", "aria-label", "tabindex", "align":
			default:
				return fmt.Errorf("notes became <%s %s=%q>, which may ask another site", token.Data, at.Key, at.Val)
			}
		}
		if token.DataAtom != atom.A && href != "" || token.DataAtom == atom.Link || token.DataAtom == atom.Base {
			return fmt.Errorf("notes became <%s href=%q>, which may ask another site", token.Data, href)
		}
		if notes.TargetOf(href) == notes.Elsewhere && rel != "noopener" {
			return fmt.Errorf("notes became a link to %q that does not say so", href)
		}
	}
}
