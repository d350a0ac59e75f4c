package notes

import "github.com/yuin/goldmark/ast"

// The kinds of this package's nodes.
var (
	kindSection   = ast.NewNodeKind("Section")
	kindStep      = ast.NewNodeKind("Step")
	kindCaution   = ast.NewNodeKind("Caution")
	kindReference = ast.NewNodeKind("Reference")
)

// Section is a second-level heading and what stands under it. Its first child is the
// heading, where it has one.
type Section struct {
	ast.BaseBlock
	Title   string  // the heading's words, without emphasis and links; empty before the first heading
	Anchor  string  // the name of its place on a release's page; empty without a title
	Steps   []*Step // of a section called Assembly, in order
	heading *ast.Heading
	in      *Document
}

// Step is a numbered step of the assembly: an item of a numbered list that stands in
// the section by itself. A list within an item is part of it.
type Step struct {
	ast.ListItem
	Number int // as the reader sees it
	Words  string
}

// Caution is a paragraph that warns. It has no place in a document of its own accord: a
// page puts it at a step, see [Page.Cautions].
type Caution struct {
	ast.BaseBlock
	Words string // plain text
}

// Reference is a link, an address that is written out, or an image.
type Reference struct {
	ast.BaseInline
	Written string // the address as the designer wrote it
	Address string // and as a page has it, apart from the way to the site's root
	To      Target
	Path    string // of an address in the site: what is before its ? and #
	Place   string // and from its # on; empty where it has none
	Image   bool
	query   string // from its ? on
	title   []byte // as written; nil where there is none
	within  bool   // another link, and so no link of its own
}

// Kind implements ast.Node.
func (*Section) Kind() ast.NodeKind { return kindSection }

// Kind implements ast.Node.
func (*Step) Kind() ast.NodeKind { return kindStep }

// Kind implements ast.Node.
func (*Caution) Kind() ast.NodeKind { return kindCaution }

// Kind implements ast.Node.
func (*Reference) Kind() ast.NodeKind { return kindReference }

// Dump implements ast.Node.
func (s *Section) Dump(source []byte, level int) {
	ast.DumpHelper(s, source, level, map[string]string{"Title": s.Title, "Anchor": s.Anchor}, nil)
}

// Dump implements ast.Node.
func (c *Caution) Dump(source []byte, level int) {
	ast.DumpHelper(c, source, level, map[string]string{"Words": c.Words}, nil)
}

// Dump implements ast.Node.
func (r *Reference) Dump(source []byte, level int) {
	ast.DumpHelper(r, source, level, map[string]string{"Written": r.Written, "Address": r.Address}, nil)
}

// leads reports whether a page makes a link of r. Of an image it does so where the
// image is another site's, since no page shows it; and never of a link in a link.
func (r *Reference) leads() bool { return !r.within && (!r.Image || r.To == Elsewhere) }
