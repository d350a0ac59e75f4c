package fields

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// readEntries is what a caller does: every entry's a and b.
func readEntries(text string) ([]string, string) {
	d, list := ParseEntries("f", []byte(text), "list")
	var out []string
	for _, m := range list {
		out = append(out, m.Text("a", Required)+"|"+m.Text("b", Optional))
	}
	return out, d.Finish().Error()
}

func TestEntriesAreReadOneByOne(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string
		problems   string
	}{
		{"nothing", "", nil, ""},
		{"no entries", "list:\n", nil, ""},
		{"indented", "# head\nlist: # of things\n  # first\n  - a: 1\n    b: x\n\n  # second\n  - a: 2\n# tail", []string{"1|x", "2|"}, ""},
		{"at the left", "list:\n- a: 1\n  b: x\n- a: 2\n", []string{"1|x", "2|"}, ""},
		{"dash alone", "list:\n  -\n    a: 1\n", []string{"1|"}, ""},
		{"a block of text with dashes", "list:\n  - a: 1\n    b: |\n      x\n      - y\n  - a: 2\n", []string{"1|x\n- y", "2|"}, ""},
		{"in brackets, as a whole", "list: [{a: 1}, {a: 2}]\n", []string{"1|", "2|"}, ""},
		{"Windows line ends", "list:\r\n  - a: 1\r\n  - a: 2\r\n", []string{"1|", "2|"}, ""},
		{"another field above", "other: 1\nlist:\n  - a: 1\n", []string{"1|"}, `f:1:1: field "other" is not known here; expected list`},
		{"another field below", "list:\n  - a: 1\nother: 1\n", []string{"1|"}, `f:3:1: field "other" is not known here; expected list`},
		{"another name", "lst:\n  - a: 1\n", nil, `f:1:1: field "lst" is not known here; did you mean "list"?`},
		{"one slip", "list:\n  - a: \"1\n  - a: 2\n  - c: 3\n", []string{"2|", "|"}, "f:2:8: cannot be read as YAML: the quotation mark here is never closed; expected lines such as name: value\n" +
			`f:4:5: "a" is missing; add a line that begins with a:` + "\n" + `f:4:5: field "c" is not known here; expected a or b`},
		{"words", "list:\n  - a: 1\n  - two\n", []string{"1|"}, `f:3:5: this entry of "list" should be a table of fields, found "two"`},
		{"nothing after a dash", "list:\n  - a: 1\n  -\n", []string{"1|"}, `f:3:3: this entry of "list" should be a table of fields, found nothing`},
		{"a control code", "list:\n  - a: 1\n  - a: \x01\n", []string{"1|"}, "f:3:8: there is a control character here; expected plain text"},
		{"set in further", "list:\n  - a: 1\n    - b: 2\n", nil, "f:3:5: cannot be read as YAML: there is no colon and space after the field's name; expected lines such as name: value"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, problems := readEntries(c.text)
			require.Equal(t, c.problems, problems)
			require.Equal(t, c.want, got)
		})
	}
}

// One by one or as a whole: the same values.
func TestEntriesAgreeWithTheWhole(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var b strings.Builder
		b.WriteString("list:\n")
		for i := range rapid.IntRange(0, 6).Draw(rt, "entries") {
			if rapid.Bool().Draw(rt, "comment") {
				b.WriteString(rapid.SampledFrom([]string{"\n", "# x\n", "    # - y\n", "  # z: 1\n"}).Draw(rt, "remark"))
			}
			fmt.Fprintf(&b, "  - a: %d\n", i)
			if rapid.Bool().Draw(rt, "b") {
				b.WriteString("    b: " + rapid.SampledFrom([]string{"x", "\"- y\"", "|\n      - z\n      w", ">-\n      u\n\n      v", "'it''s'"}).Draw(rt, "value") + "\n")
			}
		}
		d := Parse("f", []byte(b.String()))
		var want []string
		for _, m := range d.Map().Tables("list", Optional) {
			want = append(want, m.Text("a", Required)+"|"+m.Text("b", Optional))
		}
		require.Empty(rt, d.Finish())
		got, problems := readEntries(b.String())
		require.Empty(rt, problems)
		require.Equal(rt, want, got)
	})
}

func TestAnEntryIsAddedWhateverGathered(t *testing.T) {
	entry := []string{"a: new", "b: entry"}
	for _, c := range []struct{ name, text, want string }{
		{"indented", "list:\n  - a: 1\n# tail\n", "list:\n  - a: 1\n# tail\n  - a: new\n    b: entry\n"},
		{"at the left, no end", "list:\n- a: 1", "list:\n- a: 1\n- a: new\n  b: entry\n"},
		{"Windows", "list:\r\n  - a: 1\r\n", "list:\r\n  - a: 1\r\n  - a: new\r\n    b: entry\r\n"},
		{"no entries", "list:\n", "list:\n  - a: new\n    b: entry\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := AppendEntry([]byte(c.text), "list", entry)
			require.NoError(t, err)
			require.Equal(t, c.want, string(got))
		})
	}
	long := "list:\n" + strings.Repeat("  - a: "+strings.Repeat("x", 1000)+"\n", 400)
	require.Greater(t, len(long), MaxYAML)
	got, err := AppendEntry([]byte(long), "list", entry)
	require.NoError(t, err)
	values, problems := readEntries(string(got))
	require.Empty(t, problems)
	require.Len(t, values, 401)
	require.Equal(t, "new|entry", values[400])
	_, err = AppendEntry([]byte("list:\n  - a: 1\nother: 2\n"), "list", entry)
	require.ErrorContains(t, err, `the field "other" on line 3 stands after "list"`)
}
