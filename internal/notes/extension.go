package notes

import (
	"bytes"
	"strconv"
	"strings"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"

	"cardback/internal/words"
)

// grammar is how notes are read.
func grammar() goldmark.Markdown {
	return goldmark.New(goldmark.WithExtensions(
		extension.Table, extension.DefinitionList, extension.Strikethrough, extension.Typographer, ours{},
	))
}

// ours is the extension that makes a tree of CommonMark one of notes. It comes last,
// after the transformers of the others.
type ours struct{}

func (ours) Extend(m goldmark.Markdown) {
	m.Parser().AddOptions(parser.WithASTTransformers(util.Prioritized(ours{}, 1000)))
}

var boundsKey = parser.NewContextKey()

// tooLarge is what the bounds of a tree say of the one that was parsed with pc.
func tooLarge(pc parser.Context) *fault {
	f, _ := pc.Get(boundsKey).(*fault)
	return f
}

// Transform puts this package's nodes into a tree. A tree past the bounds stays as it is.
func (ours) Transform(tree *ast.Document, reader text.Reader, pc parser.Context) {
	if f := checkTree(tree); f != nil {
		pc.Set(boundsKey, f)
		return
	}
	source := reader.Source()
	resolve(tree, source)
	divide(tree, source)
}

// resolve makes a Reference of every link, address and image.
func resolve(tree *ast.Document, source []byte) {
	var found []ast.Node
	walk(tree, func(n ast.Node) {
		switch n.(type) {
		case *ast.Link, *ast.AutoLink, *ast.Image:
			found = append(found, n)
		}
	})
	for _, n := range found {
		r := &Reference{}
		switch n := n.(type) {
		case *ast.Link:
			r.Written, r.title = string(n.Destination), n.Title
			r.lead(final(n.Destination))
		case *ast.Image:
			r.Written, r.title, r.Image = string(n.Destination), n.Title, true
			r.lead(final(n.Destination))
		case *ast.AutoLink:
			r.Written = string(util.URLEscape(n.URL(source), false))
			if n.AutoLinkType == ast.AutoLinkEmail && !bytes.HasPrefix(bytes.ToLower([]byte(r.Written)), []byte("mailto:")) {
				r.Written = "mailto:" + r.Written
			}
			r.lead(r.Written)
			label := ast.NewString(n.Label(source))
			label.SetRaw(true)
			r.AppendChild(r, label)
		}
		r.SetPos(n.Pos())
		for c := n.FirstChild(); c != nil; c = n.FirstChild() {
			r.AppendChild(r, c)
		}
		n.Parent().ReplaceChild(n.Parent(), n, r)
		for p := r.Parent(); p != nil && !r.within; p = p.Parent() {
			around, ok := p.(*Reference)
			r.within = ok && around.leads()
		}
	}
}

// divide puts the blocks of a text into sections, at the headings of the second level
// that stand in the text by themselves and have words.
func divide(tree *ast.Document, source []byte) {
	var blocks []ast.Node
	for n := tree.FirstChild(); n != nil; n = n.NextSibling() {
		blocks = append(blocks, n)
	}
	used := map[string]int{}
	var s *Section
	begin := func(next *Section) {
		s = next
		tree.AppendChild(tree, s)
	}
	for _, n := range blocks {
		if h, ok := n.(*ast.Heading); ok && h.Level == 2 {
			if title := plain(h, source); title != "" {
				begin(&Section{Title: title, Anchor: anchor(title, used), heading: h})
			}
		}
		if s == nil {
			begin(&Section{})
		}
		s.AppendChild(s, n)
		if list, ok := n.(*ast.List); ok && list.IsOrdered() && strings.EqualFold(s.Title, AssemblyTitle) {
			s.Steps = append(s.Steps, number(list, source)...)
		}
	}
}

// anchor names a section's place; of sections of one title the later ones have a number.
func anchor(title string, used map[string]int) string {
	id := "notes-" + words.Fragment(title)
	used[id]++
	if n := used[id]; n > 1 {
		id += "-" + strconv.Itoa(n)
	}
	return id
}

// number makes steps of a list's items.
func number(list *ast.List, source []byte) []*Step {
	var items []ast.Node
	for n := list.FirstChild(); n != nil; n = n.NextSibling() {
		items = append(items, n)
	}
	var out []*Step
	for i, item := range items {
		s := &Step{ListItem: ast.ListItem{Offset: item.(*ast.ListItem).Offset}, Number: list.Start + i, Words: plain(item, source)}
		s.SetPos(item.Pos())
		for c := item.FirstChild(); c != nil; c = item.FirstChild() {
			s.AppendChild(s, c)
		}
		list.ReplaceChild(list, item, s)
		out = append(out, s)
	}
	return out
}
