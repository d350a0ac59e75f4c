package fields

import (
	"strings"

	"github.com/goccy/go-yaml/ast"
)

// ParseEntries reads a YAML file whose top level is one list of tables that
// grows: a log, or a history. Where the list is written as dashes in one column,
// as it usually is, each entry is parsed alone, so that the bounds of a text hold
// for an entry and not for all that have gathered over the years, and a slip in
// one entry does not hide the others. Any other form is read as Parse does.
func ParseEntries(name string, data []byte, list string) (*Document, []*Map) {
	d := newDocument(name, data)
	if d.root != nil {
		return d, nil
	}
	starts := entryLines(d.lines, list)
	if starts == nil {
		d.parse(0, len(d.lines))
		return d, d.root.Tables(list, Optional)
	}
	d.parse(0, starts[0])
	d.root.Tables(list, Optional) // a name without a value; it makes the field a known one
	var out []*Map
	for i, at := range starts {
		next := len(d.lines)
		if i+1 < len(starts) {
			next = starts[i+1]
		}
		if m := d.entry(list, at, next); m != nil {
			out = append(out, m)
		} else {
			d.root.broken = true
		}
	}
	return d, out
}

// entry parses lines[at:next], which begin with a dash; nil where they are no
// table.
func (d *Document) entry(list string, at, next int) *Map {
	lines := d.lines[at:next]
	if line, column, problem := guard(lines); problem != "" {
		d.Errorf(at+line+1, column, "%s", problem)
		return nil
	}
	file, err := parseYAML(lines)
	if err != nil {
		d.syntaxError(err, at)
		return nil
	}
	for _, doc := range file.Docs {
		if doc == nil || doc.Body == nil {
			continue
		}
		if seq, ok := doc.Body.(*ast.SequenceNode); ok && len(seq.Values) == 1 {
			if _, null := seq.Values[0].(*ast.NullNode); null || seq.Values[0] == nil { // it stands at its dash
				d.Errorf(at+1, strings.IndexByte(lines[0], '-')+1, "this entry of %q should be a table of fields, found nothing", list)
				return nil
			}
			return d.table(seq.Values[0], at, "this entry of \""+list+"\"")
		}
		line, column := place(doc.Body, at)
		d.Errorf(line, column, "this entry of %q should be a table of fields, found %s", list, kindOf(doc.Body))
		return nil
	}
	return nil
}

// entryLines finds the lines on which the entries of the list begin; nil where
// the file is not one list of dashes in one column and nothing else.
func entryLines(lines []string, list string) []int {
	var out []int
	indent := -1 // the dashes' column, from 0
	named := false
	for i, l := range lines {
		text := strings.TrimLeft(l, " ")
		in := len(l) - len(text)
		dash := text == "-" || strings.HasPrefix(text, "- ")
		switch {
		case strings.TrimSpace(text) == "" || text[0] == '#':
		case !named:
			rest, ok := strings.CutPrefix(l, list+":")
			rest = strings.TrimSpace(rest)
			if !ok || rest != "" && rest[0] != '#' {
				return nil
			}
			named = true
		case indent < 0 && !dash:
			return nil
		case indent < 0 || dash && in == indent:
			indent = in
			out = append(out, i)
		case in <= indent:
			return nil
		}
	}
	return out
}
