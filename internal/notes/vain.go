package notes

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/util"
)

const noHTML = "HTML is not shown on a page; write it in Markdown, or put it between backticks to show it as it is"

// inVain finds what a text says and no page shows, or not as it was meant.
func (d *Document) inVain() []fault {
	var out []fault
	say := func(at int, format string, args ...any) {
		out = append(out, fault{at, fmt.Sprintf(format, args...)})
	}
	defined := map[string]*ast.LinkReferenceDefinition{}
	walk(d.tree, func(n ast.Node) {
		switch n := n.(type) {
		case *ast.HTMLBlock:
			if n.HTMLBlockType != ast.HTMLBlockType2 {
				first := n.Lines().At(0)
				line := first.Value(d.source)
				say(first.Start+len(line)-len(bytes.TrimLeft(line, " ")), noHTML)
			}
		case *ast.RawHTML:
			s := n.Segments.At(0)
			if tag := string(s.Value(d.source)); !strings.HasPrefix(tag, "</") && !strings.HasPrefix(tag, "<!--") {
				say(s.Start, noHTML)
			}
		case *ast.LinkReferenceDefinition:
			if bytes.HasPrefix(n.Label, []byte("^")) {
				say(n.Pos(), "[%s] begins a footnote, which notes do not have, and its word would not be shown; write it where it belongs", n.Label)
			}
			name := util.ToLinkReference(n.Label)
			if first := defined[name]; first == nil {
				defined[name] = n
			} else if !bytes.Equal(first.Destination, n.Destination) || !bytes.Equal(first.Title, n.Title) {
				say(n.Pos(), "the address of [%s] is defined a second time, and not as before; one definition serves the whole text, so give this one another name", n.Label)
			}
		case *Reference:
			switch {
			case n.Image && n.To != Elsewhere:
				say(n.Pos(), "image %q is not published; a release's own pictures go in the field photos", n.Written)
			case !n.Image && n.To == Refused:
				say(n.Pos(), "the address %q cannot stand on a page; expected one that begins with https://, http://, mailto: or /", n.Written)
			}
		}
	})
	return out
}
