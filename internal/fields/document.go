package fields

import (
	"bytes"
	"errors"
	"fmt"
	"strings"

	"github.com/goccy/go-yaml"
	"github.com/goccy/go-yaml/ast"
	"github.com/goccy/go-yaml/parser"
)

// Document is one file's table and the problems found in it.
type Document struct {
	name  string
	lines []string // of the whole file
	root  *Map
	maps  []*Map // every table that was handed out
	errs  Errors
	body  int // line of the body's first text, from 1; notes only
}

// Parse reads a whole YAML file whose top level is a table. name is the path
// that errors show. The result is never nil; problems wait for Finish.
func Parse(name string, data []byte) *Document {
	d := newDocument(name, data)
	if d.root == nil {
		d.parse(0, len(d.lines))
	}
	return d
}

// newDocument begins a document. Where the file is written in another encoding than
// UTF-8, that is its one problem, and root is set: there is nothing to read.
func newDocument(name string, data []byte) *Document {
	if in := encoding(data); in != "" {
		d := &Document{name: name, lines: []string{""}, body: 1}
		d.root = d.newMap(1, 1)
		d.root.broken = true
		d.errs = Errors{{File: name, Message: "the file is " + in + "; save it as UTF-8"}}
		return d
	}
	return &Document{name: name, lines: splitLines(data)}
}

// encoding names the encoding of a text that is certainly not UTF-8: by the mark that
// it begins with, or because every other byte near its beginning is zero, which no
// text of ours is. It is empty for all others.
func encoding(data []byte) string {
	head := data[:min(len(data), 512)]
	switch {
	case bytes.HasPrefix(head, []byte{0xff, 0xfe, 0, 0}), bytes.HasPrefix(head, []byte{0, 0, 0xfe, 0xff}):
		return "UTF-32"
	case bytes.HasPrefix(head, []byte{0xff, 0xfe}), bytes.HasPrefix(head, []byte{0xfe, 0xff}):
		return "UTF-16"
	}
	var zeros [2]int // at even and odd offsets
	for i, c := range head {
		if c == 0 {
			zeros[i%2]++
		}
	}
	// Latin letters have a zero byte each; two in three leave room for others.
	if pairs := len(head) / 2; pairs >= 2 && (zeros[0] == 0) != (zeros[1] == 0) && 3*max(zeros[0], zeros[1]) >= 2*pairs {
		return "UTF-16"
	}
	return ""
}

// ParseNotes reads a file of notes: YAML between two lines of "---", then the
// body, returned with line ends made "\n" and without the blank lines around it.
func ParseNotes(name string, data []byte) (d *Document, body string) {
	d = newDocument(name, data)
	start, end, rest, whole := 0, 0, 0, false
	if d.root != nil {
		return d, ""
	}
	if strings.TrimRight(d.lines[0], " \t") != "---" {
		d.Errorf(1, 1, "the file has no front matter; expected a first line of ---, then fields, then another line of ---")
	} else {
		start, end = 1, -1
		for i, l := range d.lines[1:] {
			if strings.TrimRight(l, " \t") == "---" {
				end, rest, whole = i+1, i+2, true
				break
			}
		}
		if end < 0 {
			d.Errorf(1, 1, "the front matter that begins here has no end; expected a second line of --- after the last field")
			end, rest = len(d.lines), len(d.lines)
		}
	}
	d.parse(start, end)
	if !whole { // one problem was told; its fields are not missing one by one
		d.root.broken = true
	}
	for i, l := range d.lines[rest:] {
		if c := strings.IndexFunc(l, control); c >= 0 {
			d.Errorf(rest+i+1, len([]rune(l[:c]))+1, "there is a control character here; expected plain text")
		}
	}
	body = strings.Join(d.lines[rest:], "\n")
	if clean := strings.ToValidUTF8(body, "\ufffd"); clean != body {
		for i, l := range d.lines[rest:] {
			if strings.ToValidUTF8(l, "\ufffd") != l {
				d.Errorf(rest+i+1, 1, "this line is not UTF-8 text; save the file as UTF-8")
				break
			}
		}
		body = clean
	}
	text := strings.TrimLeft(body, "\n")
	d.body = rest + 1 + len(body) - len(text)
	return d, strings.TrimRight(text, "\n")
}

// BodyLine is the line of the file on which the body that ParseNotes returned
// begins, from 1.
func (d *Document) BodyLine() int { return d.body }

// Map is the document's top level; empty where it could not be read.
func (d *Document) Map() *Map { return d.root }

// Errorf adds a problem at a place of the file.
func (d *Document) Errorf(line, column int, format string, args ...any) {
	e := d.At(line, column)
	e.Message = fmt.Sprintf(format, args...)
	d.errs = append(d.errs, e)
}

// At is a place of the file, for a problem that is told when more is known.
func (d *Document) At(line, column int) Error {
	e := Error{File: d.name, Line: line, Column: column}
	if line >= 1 && line <= len(d.lines) {
		e.Source = strings.ToValidUTF8(d.lines[line-1], "\ufffd")
	}
	return e
}

// Finish reports, for every table read, the fields nobody asked for and the
// required ones that are missing, and returns all the document's problems.
func (d *Document) Finish() Errors {
	for _, m := range d.maps {
		m.finish()
	}
	d.maps = nil
	return d.errs.Sort()
}

// splitLines drops a byte order mark and cuts at LF, CRLF and CR.
func splitLines(data []byte) []string {
	s := strings.TrimPrefix(string(data), "\ufeff")
	s = strings.ReplaceAll(s, "\r\n", "\n")
	return strings.Split(strings.ReplaceAll(s, "\r", "\n"), "\n")
}

// parse reads lines[start:end] as the root table. Where the whole does not
// parse, each top-level entry is tried alone, so that one slip does not hide
// what the others say.
func (d *Document) parse(start, end int) {
	d.root = d.newMap(max(1, start), 1)
	lines := d.lines[start:end]
	if line, column, problem := guard(lines); problem != "" {
		d.root.broken = true
		d.Errorf(start+line+1, column, "%s", problem)
		return
	}
	file, err := parseYAML(lines)
	if err == nil {
		d.addDocs(file, start)
		return
	}
	chunks := topLevel(lines)
	before := len(d.errs)
	for i, at := range chunks {
		next := len(lines)
		if i+1 < len(chunks) {
			next = chunks[i+1]
		}
		part, err := parseYAML(lines[at:next])
		if err != nil {
			d.syntaxError(err, start+at)
			continue
		}
		d.addDocs(part, start+at)
	}
	d.root.broken = true
	if len(d.errs) == before {
		d.syntaxError(err, start) // wrong only as a whole
	}
}

// topLevel finds the lines where an entry of the top level begins; the first
// is always 0.
func topLevel(lines []string) []int {
	out := []int{0}
	for i, l := range lines {
		if i > 0 && l != "" && !strings.ContainsAny(l[:1], " \t#-?:]},'\"") && strings.Contains(l, ":") {
			out = append(out, i)
		}
	}
	return out
}

// parseYAML turns the parser's panics, should it have any left, into errors.
func parseYAML(lines []string) (file *ast.File, err error) {
	defer func() {
		if p := recover(); p != nil {
			file, err = nil, fmt.Errorf("the text confuses the YAML reader (%v)", p)
		}
	}()
	text := strings.Join(lines, "\n") + "\n"
	return parser.ParseBytes([]byte(text), 0, parser.AllowDuplicateMapKey())
}

func (d *Document) syntaxError(err error, offset int) {
	line, column, message := 1, 1, err.Error()
	var located yaml.Error
	if errors.As(err, &located) {
		message = located.GetMessage()
		if t := located.GetToken(); t != nil && t.Position != nil {
			line, column = t.Position.Line, t.Position.Column
		}
	}
	message, _, _ = strings.Cut(message, "\n")
	message = plainSyntax(message)
	d.Errorf(min(offset+max(1, line), len(d.lines)), max(1, column), "cannot be read as YAML: %s; expected lines such as name: value", message)
}

// plainSyntax puts the reader's commonest complaints into a designer's words;
// the rest pass as they are.
func plainSyntax(message string) string {
	switch {
	case strings.Contains(message, "\t"), strings.HasPrefix(message, "tab "):
		return "a tab cannot set a line in, use spaces"
	case strings.HasPrefix(message, "mapping value is not allowed"):
		return "there is a second colon in a value, which then needs quotes around it, or the next line is set in too far"
	case strings.HasPrefix(message, "value is not allowed"):
		return "this line does not begin in the same column as the fields above it"
	case strings.HasPrefix(message, "non-map value"):
		return "there is no colon and space after the field's name"
	case strings.HasPrefix(message, "could not find end character of"):
		return "the quotation mark here is never closed"
	}
	return message
}

func (d *Document) addDocs(file *ast.File, offset int) {
	seen := false
	for _, doc := range file.Docs {
		if doc == nil || doc.Body == nil {
			continue
		}
		line, column := place(doc.Body, offset)
		if _, comment := doc.Body.(*ast.CommentGroupNode); comment {
			continue
		}
		if seen {
			d.Errorf(line, column, "a second document begins here; expected one table in a file")
			return
		}
		seen = true
		pairs, ok := d.pairs(doc.Body)
		if !ok {
			d.root.broken = true
			d.Errorf(line, column, "expected lines such as name: value, found %s", kindOf(doc.Body))
			continue
		}
		d.root.add(pairs, offset)
	}
}

// pairs are the entries of a table node.
func (d *Document) pairs(n ast.Node) ([]*ast.MappingValueNode, bool) {
	switch n := n.(type) {
	case *ast.MappingNode:
		return n.Values, true
	case *ast.MappingValueNode:
		return []*ast.MappingValueNode{n}, true
	}
	return nil, false
}

// place is a node's first character in the file. A table or list is placed at
// its first entry.
func place(n ast.Node, offset int) (line, column int) {
	switch v := n.(type) {
	case *ast.MappingNode:
		if len(v.Values) > 0 && !v.IsFlowStyle {
			return place(v.Values[0], offset)
		}
	case *ast.MappingValueNode:
		if v.Key != nil {
			return place(v.Key, offset)
		}
	}
	if n == nil {
		return offset + 1, 1
	}
	t := n.GetToken()
	if t == nil || t.Position == nil {
		return offset + 1, 1
	}
	return offset + max(1, t.Position.Line), max(1, t.Position.Column)
}

// kindOf names a node for a sentence.
func kindOf(n ast.Node) string {
	switch v := n.(type) {
	case *ast.MappingNode, *ast.MappingValueNode:
		return "a table of fields"
	case *ast.SequenceNode:
		return "a list"
	case *ast.NullNode:
		return "nothing"
	case *ast.BoolNode:
		return fmt.Sprintf("%t (put it in quotes if it is text)", v.Value)
	case *ast.AliasNode:
		return "an alias; write the value out"
	case *ast.AnchorNode:
		return "an anchor; write the value without it"
	case *ast.TagNode:
		return "a tag; write the value without it"
	case *ast.StringNode:
		return quote(v.Value)
	case *ast.LiteralNode:
		return "a block of text"
	case ast.ScalarNode:
		return scalarText(n)
	}
	return "something else"
}

// scalarText is a number's or constant's own characters.
func scalarText(n ast.Node) string {
	if t := n.GetToken(); t != nil {
		return t.Value
	}
	return ""
}
