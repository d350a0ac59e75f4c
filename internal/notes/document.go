package notes

import (
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
)

// AssemblyTitle is the title of the section that tells how a figure goes together, in
// capitals or not. The items of its numbered lists are the steps.
const AssemblyTitle = "Assembly"

// Document is a text of notes as a tree. It is never changed, so it may be read and
// rendered by many at a time. A nil Document is one without a word.
type Document struct {
	source     []byte
	lines      []int // where each line begins, in bytes
	tree       *ast.Document
	sections   []*Section
	references []*Reference
}

// Problem is what is wrong with a text, and where: lines and columns count from 1,
// columns in characters.
type Problem struct {
	Line, Column int
	Text         string
}

// Parse reads a text. Its problems are what would cost the parser too much, of which
// the Document is then empty; and what notes say in vain: HTML, which no page shows,
// addresses that run something, an address that is defined in two ways, a footnote that
// is taken for an address, and images, which are not published. HTML comments pass: nobody expects to see them. An image of
// another site passes too; it becomes a link.
func Parse(body string) (*Document, []Problem) {
	if p := guard(body); p != nil {
		return &Document{}, []Problem{*p}
	}
	d := &Document{source: []byte(body), lines: []int{0}}
	for i, c := range d.source {
		if c == '\n' {
			d.lines = append(d.lines, i+1)
		}
	}
	made := parser.NewContext()
	d.tree = grammar().Parser().Parse(text.NewReader(d.source), parser.WithContext(made)).(*ast.Document)
	if f := tooLarge(made); f != nil {
		return &Document{}, []Problem{d.problem(*f)}
	}
	for n := d.tree.FirstChild(); n != nil; n = n.NextSibling() {
		s := n.(*Section)
		s.in = d
		d.sections = append(d.sections, s)
	}
	walk(d.tree, func(n ast.Node) {
		if r, ok := n.(*Reference); ok {
			d.references = append(d.references, r)
		}
	})
	var problems []Problem
	for _, f := range d.inVain() {
		problems = append(problems, d.problem(f))
	}
	return d, problems
}

// fault is a problem at a byte of the text.
type fault struct {
	at   int
	text string
}

func (d *Document) problem(f fault) Problem {
	line, column := d.Place(f.at)
	return Problem{line, column, f.text}
}

// Place is the line and the column, in characters, of the byte at; both count from 1.
func (d *Document) Place(at int) (line, column int) {
	at = min(max(at, 0), len(d.source))
	i, found := slices.BinarySearch(d.lines, at)
	if !found {
		i--
	}
	return i + 1, utf8.RuneCount(d.source[d.lines[i]:at]) + 1
}

// Sections are the second-level headings with what stands under them, in the order of the
// text. What stands before the first of them, where there is anything, comes first and has
// no title.
func (d *Document) Sections() []*Section {
	if d == nil {
		return nil
	}
	return d.sections
}

// Steps are those of all sections called Assembly, in the order of the text.
func (d *Document) Steps() []*Step {
	var out []*Step
	for _, s := range d.Sections() {
		out = append(out, s.Steps...)
	}
	return out
}

// References are the links, addresses and images of the text, in its order.
func (d *Document) References() []*Reference {
	if d == nil {
		return nil
	}
	return d.references
}

// Says reports whether a sentence stands in the text, however its lines are broken.
func (d *Document) Says(sentence string) bool {
	return d != nil && d.tree != nil && strings.Contains(plain(d.tree, d.source), strings.Join(strings.Fields(sentence), " "))
}

// Lead is the first words of the text under no heading of their own: those of the first
// paragraph, list, quotation or the like that has any.
func (d *Document) Lead() string {
	for _, s := range d.Sections() {
		for n := s.FirstChild(); n != nil; n = n.NextSibling() {
			if _, heading := n.(*ast.Heading); heading {
				continue
			}
			if lead := plain(n, d.source); lead != "" {
				return lead
			}
		}
	}
	return ""
}

// Words are those under the section's heading.
func (s *Section) Words() string {
	var out []string
	for n := s.FirstChild(); n != nil; n = n.NextSibling() {
		if n != ast.Node(s.heading) {
			out = append(out, plain(n, s.in.source))
		}
	}
	return strings.Join(strings.Fields(strings.Join(out, " ")), " ")
}

// walk calls visit for n and all that is in it, in the order of the text.
func walk(n ast.Node, visit func(ast.Node)) {
	_ = ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if entering {
			visit(n)
		}
		return ast.WalkContinue, nil
	})
}
