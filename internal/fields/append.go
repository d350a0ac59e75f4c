package fields

import (
	"errors"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/goccy/go-yaml/ast"
)

// Names lists the table's fields in order, each with the place of its name, for
// tables whose names are the designer's own.
func (m *Map) Names() []Located {
	var out []Located
	for _, e := range m.entries {
		line, column := place(e.key, e.offset)
		out = append(out, Located{Text: e.name, Line: line, Column: column})
	}
	return out
}

// IsTable reports whether the field's value is a table of fields, for one that
// may also be text. It does not make the field known.
func (m *Map) IsTable(name string) bool {
	for _, e := range m.entries {
		if e.name == name {
			switch e.value.(type) {
			case *ast.MappingNode, *ast.MappingValueNode:
				return true
			}
		}
	}
	return false
}

// AppendEntry adds one entry to the list that is the only field of a YAML
// table, or its last one, and returns the new text of the file. entry holds the lines of a table of
// fields as they would stand at the left margin. Nothing that is there already
// changes: the new text begins with the old, whatever comments, order and line
// ends it has, and the entry is set in as those above it and ends its lines as
// they do. Two exceptions: a list written [] loses its brackets, and
// where the file's last line has no end it gets one. A file without the list
// gets it.
//
// The new text was read again: it has one entry more than the old. The error is
// an Errors where the old text has problems of its own, and else says in a
// sentence what stands in the way and what to do.
func AppendEntry(data []byte, list string, entry []string) ([]byte, error) {
	d, entries := ParseEntries("", data, list)
	if len(d.errs) > 0 || d.root.broken {
		return nil, d.errs.Sort()
	}
	head, prefix, before := data, "", len(entries)
	if starts := entryLines(d.lines, list); len(starts) > 0 {
		first := d.lines[starts[0]]
		prefix = first[:len(first)-len(strings.TrimLeft(first, " "))]
	} else {
		var err error
		if head, prefix, before, err = d.endOfList(data, list); err != nil {
			return nil, err
		}
	}
	eol := lineEnd(data)
	out := append([]byte(nil), head...)
	if n := len(out); n > 0 && out[n-1] != '\n' && out[n-1] != '\r' && string(out) != "\ufeff" {
		out = append(out, eol...)
	}
	if before < 0 {
		out = append(out, list+":"+eol...)
	}
	for i, line := range entry {
		lead := prefix + "  "
		if i == 0 {
			lead = prefix + "- "
		}
		out = append(out, lead+line+eol...)
	}
	again, now := ParseEntries("", out, list)
	if len(again.errs) > 0 {
		return nil, fmt.Errorf("the entry cannot be added after what is there (%s)", again.errs[0].Message)
	}
	if len(now) != max(before, 0)+1 || len(again.root.entries) != max(len(d.root.entries), 1) {
		return nil, fmt.Errorf("an entry at the end of the file would not be one of %q; end the file with the list's last entry", list)
	}
	return out, nil
}

// endOfList finds how an entry is added: head is the old text, without the
// brackets of an empty list, prefix what sets an entry's dash in, and before
// the number of entries there are, −1 where there is no such list.
func (d *Document) endOfList(data []byte, list string) (head []byte, prefix string, before int, err error) {
	if len(d.root.entries) == 0 {
		if text := strings.TrimSpace(strings.Join(d.lines, "\n")); strings.HasPrefix(text, "{") || strings.Contains(text, "\n{") {
			return nil, "", 0, fmt.Errorf("the file is written in brackets; write %s: on a line of its own", list)
		}
		return data, "  ", -1, nil
	}
	last := d.root.entries[len(d.root.entries)-1]
	has := false
	for _, e := range d.root.entries {
		has = has || e.name == list
	}
	line, column := place(last.key, last.offset)
	switch {
	case !has:
		return nil, "", 0, fmt.Errorf("the file has other fields and no %q; add %s: as its last line", list, list)
	case last.name != list:
		return nil, "", 0, fmt.Errorf("the field %q on line %d stands after %q; move it before, so that the list ends the file", last.name, line, list)
	case column != 1:
		return nil, "", 0, fmt.Errorf("%q on line %d is set in or in brackets; write %s: at the beginning of a line", list, line, list)
	}
	seq, ok := last.value.(*ast.SequenceNode)
	if !ok {
		if _, null := last.value.(*ast.NullNode); null || last.value == nil {
			if text := strings.TrimSpace(d.lines[line-1][strings.Index(d.lines[line-1], ":")+1:]); text != "" && text[0] != '#' {
				return nil, "", 0, fmt.Errorf("%q on line %d holds %s in place of a list; remove it", list, line, quote(text))
			}
			return data, "  ", 0, nil
		}
		return nil, "", 0, fmt.Errorf("%q on line %d is not a list; write each entry on lines of its own that begin with a dash", list, line)
	}
	if seq.IsFlowStyle {
		if len(seq.Values) > 0 {
			return nil, "", 0, fmt.Errorf("the list %q on line %d is written in brackets; write each entry on lines of its own that begin with a dash", list, line)
		}
		head, err = withoutBrackets(data, last.line, last.column)
		return head, "  ", 0, err
	}
	if n := len(seq.Entries); n > 0 && seq.Entries[n-1] != nil && seq.Entries[n-1].Start != nil && seq.Entries[n-1].Start.Position != nil {
		at := seq.Entries[n-1].Start.Position
		text := []rune(d.lines[last.offset+at.Line-1])
		if c := at.Column - 1; c >= 0 && c < len(text) && text[c] == '-' && strings.Trim(string(text[:c]), " ") == "" {
			return data, string(text[:c]), len(seq.Values), nil
		}
	}
	return nil, "", 0, fmt.Errorf("the last entry of %q cannot be made out; write each entry on lines of its own that begin with a dash", list)
}

// withoutBrackets cuts the [] that begin at a place, and one blank before them.
func withoutBrackets(data []byte, line, column int) ([]byte, error) {
	at := offsetOf(data, line, column)
	rest := string(data[at:])
	end := strings.IndexByte(rest, ']')
	if !strings.HasPrefix(rest, "[") || end < 0 || strings.Trim(rest[1:end], " ") != "" {
		return nil, fmt.Errorf("the empty list on line %d goes over several lines; write it as []", line)
	}
	from := at
	if from > 0 && data[from-1] == ' ' {
		from--
	}
	return append(append([]byte(nil), data[:from]...), data[at+end+1:]...), nil
}

// offsetOf is where a line and column (in characters) of the file are in its
// bytes.
func offsetOf(data []byte, line, column int) int {
	at := 0
	if strings.HasPrefix(string(data), "\ufeff") {
		at = len("\ufeff")
	}
	for ; line > 1 && at < len(data); at++ {
		if data[at] == '\n' || data[at] == '\r' && (at+1 == len(data) || data[at+1] != '\n') {
			line--
		}
	}
	for ; column > 1 && at < len(data); column-- {
		_, n := utf8.DecodeRune(data[at:])
		at += n
	}
	return at
}

// lineEnd is how the last whole line ends: LF, CRLF or CR; LF where there is
// none.
func lineEnd(data []byte) string {
	for i := len(data) - 1; i >= 0; i-- {
		switch {
		case data[i] == '\n' && i > 0 && data[i-1] == '\r':
			return "\r\n"
		case data[i] == '\n':
			return "\n"
		case data[i] == '\r':
			return "\r"
		}
	}
	return "\n"
}

// plainText is what certainly needs no quotes as a value or a name, in brackets
// or out of them: it begins with a letter and has none of YAML's marks.
var plainText = regexp.MustCompile(`^\pL(?:[\pL0-9 ./+()'-]*[\pL0-9./+()'-])?$`)

// ErrText is told by Scalar.
var ErrText = errors.New("it has a control character or is not UTF-8")

// Scalar writes text as a YAML value or name that is read back as that text,
// with double quotes where they are needed. Rows of blanks and line breaks
// become one blank each.
func Scalar(text string) (string, error) {
	text = strings.Join(strings.Fields(text), " ")
	if !utf8.ValidString(text) || strings.ContainsFunc(text, func(r rune) bool { return control(r) || r >= 0x7f && r < 0xa0 }) {
		return "", ErrText
	}
	switch strings.ToLower(text) {
	case "true", "false", "null", "yes", "no", "on", "off", "y", "n":
		return `"` + text + `"`, nil
	}
	// A word that could be a number begins with a letter only as .inf and .nan
	// do not; hexadecimal digits begin with a letter or are quoted.
	if plainText.MatchString(text) {
		return text, nil
	}
	return `"` + strings.NewReplacer(`\`, `\\`, `"`, `\"`).Replace(text) + `"`, nil
}
