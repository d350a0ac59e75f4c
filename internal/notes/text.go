package notes

import (
	"bufio"
	"bytes"
	"html"
	"strings"

	"github.com/yuin/goldmark/ast"
	renderer "github.com/yuin/goldmark/renderer/html"
)

// typed is what a designer typed for the marks that printers' quotation makes.
var typed = map[string]string{
	"&lsquo;": "'", "&rsquo;": "'", "&ldquo;": `"`, "&rdquo;": `"`, "&ndash;": "--", "&mdash;": "---",
	"&hellip;": "...", "&laquo;": "<<", "&raquo;": ">>",
}

// plain is the words of a node and all in it as a reader sees them, with single spaces
// between, and with quotation marks and dashes as they were typed.
func plain(n ast.Node, source []byte) string {
	var b strings.Builder
	_ = ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if n.Type() == ast.TypeBlock {
			b.WriteByte(' ') // words of two blocks are not one
		}
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.CodeBlock, *ast.FencedCodeBlock:
			b.Write(n.Lines().Value(source))
		case *ast.Text:
			value := n.Value(source)
			if n.IsRaw() {
				b.Write(value)
			} else {
				b.WriteString(shown(value))
			}
			if n.SoftLineBreak() || n.HardLineBreak() {
				b.WriteByte(' ')
			}
		case *ast.String:
			if mark, ok := typed[string(n.Value)]; ok && n.IsCode() {
				b.WriteString(mark)
			} else {
				b.Write(n.Value)
			}
		}
		return ast.WalkContinue, nil
	})
	return strings.Join(strings.Fields(b.String()), " ")
}

// shown is a text without its backslashes and with its references such as &amp; resolved:
// what the renderer writes, read back.
func shown(text []byte) string {
	if !bytes.ContainsAny(text, `&\`) {
		return string(text)
	}
	var out bytes.Buffer
	w := bufio.NewWriter(&out)
	renderer.DefaultWriter.Write(w, text)
	_ = w.Flush() // to memory
	return html.UnescapeString(out.String())
}
