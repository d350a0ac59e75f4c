package fields

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/goccy/go-yaml/ast"
)

// Need says whether a field may be left out.
type Need bool

const (
	Optional Need = false
	Required Need = true
)

// Map is a table of fields. Each method reads one field by name: the zero value
// where it is absent, empty or wrong, and in the last case an error at its
// place. An empty field (nothing after the colon) counts as absent.
type Map struct {
	doc          *Document
	line, column int // where errors about the table as a whole stand
	entries      []entry
	known        []string
	missing      []string
	broken       bool // parts could not be read: absences prove nothing
}

type entry struct {
	name         string
	key          ast.Node
	value        ast.Node
	offset       int // lines before the text the nodes count from
	line, column int // of the value; of the key where there is none
}

func (d *Document) newMap(line, column int) *Map {
	m := &Map{doc: d, line: line, column: column}
	d.maps = append(d.maps, m)
	return m
}

func (m *Map) add(pairs []*ast.MappingValueNode, offset int) {
	first := make(map[string]int, len(m.entries)+len(pairs)) // name -> index in entries
	for i, e := range m.entries {
		first[e.name] = i
	}
	for _, p := range pairs {
		if p == nil || p.Key == nil {
			continue
		}
		line, column := place(p.Key, offset)
		if m.decimalComma(p, offset) {
			continue
		}
		var name string
		switch k := p.Key.(type) {
		case *ast.StringNode:
			name = k.Value
		case *ast.MergeKeyNode:
			m.doc.Errorf(line, column, "merge keys are not read; write the fields out")
			continue
		default:
			m.doc.Errorf(line, column, "a field's name is not plain text; expected lines such as name: value")
			continue
		}
		if i, dup := first[name]; dup {
			on, _ := place(m.entries[i].key, m.entries[i].offset)
			m.doc.Errorf(line, column, "%q is given twice; the first is on line %d, remove one", name, on)
			continue
		}
		first[name] = len(m.entries)
		e := entry{name: name, key: p.Key, value: p.Value, offset: offset, line: line, column: column}
		if _, null := p.Value.(*ast.NullNode); !null && p.Value != nil {
			e.line, e.column = place(p.Value, offset)
		}
		m.entries = append(m.entries, e)
	}
}

var wholeNumber = regexp.MustCompile(`^[+-]?[0-9]+$`)

// decimals is what stands after a decimal comma: digits, and perhaps a unit.
var decimals = regexp.MustCompile(`^[0-9]+ ?(?:\pL{1,6}|["″%°])?$`)

// decimalComma reports whether a pair is the second half of a number such as 0,2:
// inside braces the comma ends the value, and the rest looks like a field without
// one. It says so at the number.
func (m *Map) decimalComma(p *ast.MappingValueNode, offset int) bool {
	if _, null := p.Value.(*ast.NullNode); !null && p.Value != nil || len(m.entries) == 0 {
		return false
	}
	rest := ""
	switch k := p.Key.(type) {
	case *ast.StringNode:
		rest = k.Value
	case *ast.IntegerNode:
		rest = scalarText(k)
	}
	last := m.entries[len(m.entries)-1]
	line, _ := place(p.Key, offset)
	whole, ok := m.doc.scalar(last.value)
	if !ok || last.line != line || !decimals.MatchString(rest) || !wholeNumber.MatchString(whole) {
		return false
	}
	m.doc.Errorf(last.line, last.column, "%q is %s,%s: a comma ends a value inside braces; expected a decimal point, %s.%s", last.name, whole, rest, whole, rest)
	return true
}

// Has reports whether the field is written, even if empty.
func (m *Map) Has(name string) bool {
	return slices.ContainsFunc(m.entries, func(e entry) bool { return e.name == name })
}

// Whole reports whether all of the table could be read, so that a field that is
// not there was never written.
func (m *Map) Whole() bool { return !m.broken }

// Errorf adds a problem at the field's value, or at the table where the field
// is absent.
func (m *Map) Errorf(name, format string, args ...any) {
	line, column := m.At(name)
	m.doc.Errorf(line, column, format, args...)
}

// At is the place of the field's value, or of the table where it is absent.
func (m *Map) At(name string) (line, column int) {
	for _, e := range m.entries {
		if e.name == name {
			return e.line, e.column
		}
	}
	return m.line, m.column
}

// find registers the name as known and returns its entry, nil where absent.
func (m *Map) find(name string, need Need) *entry {
	if !slices.Contains(m.known, name) {
		m.known = append(m.known, name)
	}
	for i := range m.entries {
		e := &m.entries[i]
		if e.name != name {
			continue
		}
		if _, null := e.value.(*ast.NullNode); null || e.value == nil {
			if need == Required {
				m.doc.Errorf(e.line, e.column, "%q is empty; expected a value after the colon", name)
			}
			return nil
		}
		return e
	}
	if need == Required {
		m.missing = append(m.missing, name)
	}
	return nil
}

// scalar is a field's characters. expected ends the error sentence.
func (m *Map) scalar(name string, need Need, expected string) (string, bool) {
	e := m.find(name, need)
	if e == nil {
		return "", false
	}
	s, ok := m.doc.scalar(e.value)
	if !ok {
		m.doc.Errorf(e.line, e.column, "%q should be %s, found %s", name, expected, kindOf(e.value))
	}
	return s, ok
}

func (d *Document) scalar(n ast.Node) (string, bool) {
	switch v := n.(type) {
	case *ast.StringNode:
		return strings.TrimSpace(v.Value), true
	case *ast.LiteralNode:
		if v.Value == nil {
			return "", true
		}
		return strings.TrimSpace(v.Value.Value), true
	case *ast.IntegerNode, *ast.FloatNode, *ast.NanNode, *ast.InfinityNode:
		return scalarText(n), true
	}
	return "", false
}

// Text reads text, trimmed. Numbers are taken as written; true and false are
// errors, since they are usually a slip.
func (m *Map) Text(name string, need Need) string {
	s, ok := m.scalar(name, need, "text")
	if ok && s == "" && need == Required {
		m.Errorf(name, "%q is empty; expected text", name)
	}
	return s
}

// Length reads a length above zero, in mm.
func (m *Map) Length(name string, need Need) float64 {
	mm := m.LengthOrZero(name, need)
	if mm == 0 && m.given(name) && !m.failed(name) {
		m.Errorf(name, "length %q is zero; expected a length above zero", name)
	}
	return mm
}

// LengthOrZero reads a length of zero or more, in mm.
func (m *Map) LengthOrZero(name string, need Need) float64 {
	return read(m, name, need, "a length, such as 1.5 mm", ParseLength)
}

// Number reads a decimal number between lo and hi.
func (m *Map) Number(name string, need Need, lo, hi float64) float64 {
	return read(m, name, need, "a number", func(s string) (float64, error) {
		n, err := ParseNumber(s)
		if err == nil && (n < lo || n > hi) {
			err = fmt.Errorf("%q is %s; expected a number from %g to %g", name, s, lo, hi)
		}
		return n, err
	})
}

// Angle reads degrees between lo and hi.
func (m *Map) Angle(name string, need Need, lo, hi float64) float64 {
	return read(m, name, need, "degrees, such as 35", func(s string) (float64, error) {
		n, err := ParseAngle(s)
		if err == nil && (n < lo || n > hi) {
			err = fmt.Errorf("%q is %s; expected %g to %g degrees", name, s, lo, hi)
		}
		return n, err
	})
}

// Count reads a whole number of at least one; absent is the given default.
func (m *Map) Count(name string, need Need, otherwise int) int {
	n := read(m, name, need, "a whole number, such as 2", func(s string) (int, error) {
		n, err := ParseCount(s)
		if err == nil && n == 0 {
			err = fmt.Errorf("%q is 0; expected a whole number of at least 1", name)
		}
		return n, err
	})
	if n == 0 {
		return otherwise
	}
	return n
}

// Date reads an ISO 8601 date as midnight UTC.
func (m *Map) Date(name string, need Need) time.Time {
	return read(m, name, need, "a date, such as 2026-03-14", ParseDate)
}

// DateOr reads an ISO 8601 date as midnight UTC, or the zero time where the field says
// the word that stands for none.
func (m *Map) DateOr(name string, need Need, word string) time.Time {
	return read(m, name, need, "a date, such as 2026-03-14, or "+word, func(s string) (time.Time, error) {
		if strings.Join(strings.Fields(strings.ToLower(s)), " ") == word {
			return time.Time{}, nil
		}
		t, err := ParseDate(s)
		if err != nil {
			err = fmt.Errorf("%w, or %s", err, word)
		}
		return t, err
	})
}

// Bool reads true or false.
func (m *Map) Bool(name string, need Need) bool {
	e := m.find(name, need)
	if e == nil {
		return false
	}
	b, ok := e.value.(*ast.BoolNode)
	if !ok {
		m.doc.Errorf(e.line, e.column, "%q should be true or false, found %s", name, kindOf(e.value))
		return false
	}
	return b.Value
}

// Enum reads one of the allowed words.
func (m *Map) Enum(name string, need Need, allowed ...string) string {
	return read(m, name, need, OneOf(allowed), func(s string) (string, error) {
		if slices.Contains(allowed, s) {
			return s, nil
		}
		return "", fmt.Errorf("%s %s is not known; %s", name, quote(s), Suggest(s, allowed))
	})
}

// Texts reads a list of texts, in order, with the place of each.
func (m *Map) Texts(name string, need Need) []Located {
	var out []Located
	for _, item := range m.items(name, need, "a list of texts") {
		s, ok := m.doc.scalar(item.node)
		switch {
		case !ok:
			m.doc.Errorf(item.line, item.column, "this entry of %q should be text, found %s", name, kindOf(item.node))
		case s == "":
			m.doc.Errorf(item.line, item.column, "this entry of %q is empty; expected text", name)
		default:
			out = append(out, Located{Text: s, Line: item.line, Column: item.column})
		}
	}
	return out
}

// Located is a text and its place.
type Located struct {
	Text         string
	Line, Column int
}

// Table reads a nested table; nil where absent or wrong.
func (m *Map) Table(name string, need Need) *Map {
	e := m.find(name, need)
	if e == nil {
		return nil
	}
	return m.doc.table(e.value, e.offset, fmt.Sprintf("%q", name))
}

// Tables reads a list of tables.
func (m *Map) Tables(name string, need Need) []*Map {
	var out []*Map
	for _, item := range m.items(name, need, "a list of tables, each beginning with a dash") {
		if t := m.doc.table(item.node, item.offset, fmt.Sprintf("this entry of %q", name)); t != nil {
			out = append(out, t)
		}
	}
	return out
}

func (d *Document) table(n ast.Node, offset int, what string) *Map {
	line, column := place(n, offset)
	pairs, ok := d.pairs(n)
	if !ok {
		d.Errorf(line, column, "%s should be a table of fields, found %s", what, kindOf(n))
		return nil
	}
	t := d.newMap(line, column)
	t.add(pairs, offset)
	return t
}

type item struct {
	node                 ast.Node
	offset, line, column int
}

func (m *Map) items(name string, need Need, expected string) []item {
	e := m.find(name, need)
	if e == nil {
		return nil
	}
	seq, ok := e.value.(*ast.SequenceNode)
	if !ok {
		m.doc.Errorf(e.line, e.column, "%q should be %s, found %s", name, expected, kindOf(e.value))
		return nil
	}
	var out []item
	for i, v := range seq.Values {
		it := item{node: v, offset: e.offset}
		it.line, it.column = place(v, e.offset)
		if _, null := v.(*ast.NullNode); (null || v == nil) && i < len(seq.Entries) && seq.Entries[i] != nil {
			if t := seq.Entries[i].Start; t != nil && t.Position != nil { // an empty entry stands at its dash
				it.line, it.column = e.offset+max(1, t.Position.Line), max(1, t.Position.Column)
			}
		}
		out = append(out, it)
	}
	return out
}

// given reports whether a field has a value that a reader took.
func (m *Map) given(name string) bool {
	for _, e := range m.entries {
		if e.name == name {
			_, null := e.value.(*ast.NullNode)
			return !null && e.value != nil
		}
	}
	return false
}

// failed reports whether an error already stands at the field's value.
func (m *Map) failed(name string) bool {
	line, column := m.At(name)
	return slices.ContainsFunc(m.doc.errs, func(e Error) bool { return e.Line == line && e.Column == column })
}

// OK reports whether the field has a value and no error stands at it yet.
func (m *Map) OK(name string) bool { return m.given(name) && !m.failed(name) }

func read[T any](m *Map, name string, need Need, expected string, parse func(string) (T, error)) T {
	var zero T
	s, ok := m.scalar(name, need, expected)
	if !ok {
		return zero
	}
	v, err := parse(s)
	if err != nil {
		m.Errorf(name, "%s", err)
		return zero
	}
	return v
}

// finish reports unknown and missing fields. A missing field that an unknown
// one is a misspelling of is reported once.
func (m *Map) finish() {
	var meant []string
	for _, e := range m.entries {
		if slices.Contains(m.known, e.name) {
			continue
		}
		line, column := place(e.key, e.offset)
		m.doc.Errorf(line, column, "field %s is not known here; %s", quote(e.name), Suggest(e.name, m.known))
		if k, ok := Nearest(e.name, m.known); ok {
			meant = append(meant, k)
		}
	}
	if m.broken {
		return
	}
	for _, name := range m.missing {
		if !slices.Contains(meant, name) {
			m.doc.Errorf(m.line, m.column, "%q is missing; add a line that begins with %s:", name, name)
		}
	}
}
