package notes

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	east "github.com/yuin/goldmark/extension/ast"
	nethtml "golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// parsed is a text that has no problems.
func parsed(t testing.TB, body string) *Document {
	t.Helper()
	d, problems := Parse(body)
	require.Empty(t, problems, body)
	return d
}

// The rules are CommonMark's (0.31: 4.2 ATX headings, 4.3 setext headings, 4.5
// fenced code blocks).
func TestSections(t *testing.T) {
	type section struct{ title, words string }
	for _, c := range []struct {
		name, in string
		want     []section
	}{
		{"none", "", nil},
		{"only text", "a\n\nb", []section{{"", "a b"}}},
		{"two", "## A\nx\n## B\n\ny\n", []section{{"A", "x"}, {"B", "y"}}},
		{"closing marks", "## A ##\nx", []section{{"A", "x"}}},
		{"set in", "   ## A\nx", []section{{"A", "x"}}},
		{"code", "## A\n```\n## B\n```\n    ## C\n~~~\n## D\n", []section{{"A", "## B ## C ## D"}}},
		{"quotation and list", "> ## Q\n\n- ## L\n", []section{{"", "Q L"}}},
		{"other levels", "# T\n### U\n#hash\n", []section{{"", "T U #hash"}}},
		{"underlined", "A\n---\nx\n", []section{{"A", "x"}}},
		{"underlined on two lines", "A\nB\n---\nx\n", []section{{"A B", "x"}}},
		{"underlined with equals signs", "A\n===\nx\n", []section{{"", "A x"}}},
		{"emphasis and links", "## *A* `b` [c](d)\nx", []section{{"A b c", "x"}}},
		{"as a reader sees it", "## Nuts &amp; \\*bolts\\* `&amp;` -- \"so\"\nx", []section{{`Nuts & *bolts* &amp; -- "so"`, "x"}}},
		{"empty section", "## A\n## B\n", []section{{"A", ""}, {"B", ""}}},
		{"empty heading", "x\n\n##\n\ny", []section{{"", "x y"}}},
		{"a heading of nothing to read", "## A\n\n## <!-- b -->\n\ny", []section{{"A", "y"}}},
		{"definitions", "[a]: /plates/\n\n## A\n\n[b]: /materials/\n", []section{{"", ""}, {"A", ""}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []section
			for _, s := range parsed(t, c.in).Sections() {
				got = append(got, section{s.Title, s.Words()})
			}
			require.Equal(t, c.want, got)
		})
	}
}

func TestAnchorsAreDistinct(t *testing.T) {
	var got []string
	for _, s := range parsed(t, "a\n\n## Fit & finish\n\n## Größe\n\n## fit, finish\n\n## ?\n").Sections() {
		got = append(got, s.Anchor)
	}
	require.Equal(t, []string{"", "notes-fit-finish", "notes-größe", "notes-fit-finish-2", "notes-section"}, got)
}

// The numbers are those that a browser shows: a list counts on from its first, and one
// that is interrupted is two.
func TestStepsAreTheNumberedItemsOfTheAssembly(t *testing.T) {
	type step struct {
		number int
		words  string
	}
	for name, c := range map[string]struct {
		in   string
		want []step
	}{
		"no section":          {"1. Cut.", nil},
		"no list":             {"## Assembly\n\nPress it together.\n", nil},
		"other sections":      {"## Story\n\n1. No.\n\n## Assembly\n\n1. **Cut** the *rod*\n   with care.\n\n## Painting\n\n1. No.\n", []step{{1, "Cut the rod with care."}}},
		"capitals":            {"## ASSEMBLY\n\n1. Cut.\n", []step{{1, "Cut."}}},
		"numbered as written": {"## Assembly\n\n3. Cut.\n3. Push.\n9. Glue.\n", []step{{3, "Cut."}, {4, "Push."}, {5, "Glue."}}},
		"from nought":         {"## Assembly\n\n0. Look.\n1. Cut.\n", []step{{0, "Look."}, {1, "Cut."}}},
		"interrupted":         {"## Assembly\n\n1. Cut.\n2. Push.\n\nWait.\n\n3. Glue.\n\n<!-- -->\n\n1. Paint.\n", []step{{1, "Cut."}, {2, "Push."}, {3, "Glue."}, {1, "Paint."}}},
		"another mark":        {"## Assembly\n\n1. Cut.\n2) Push.\n", []step{{1, "Cut."}, {2, "Push."}}},
		"nested":              {"## Assembly\n\n1. Arms.\n   1. Left.\n   2. Right.\n   - Dry.\n2. Legs.\n", []step{{1, "Arms. Left. Right. Dry."}, {2, "Legs."}}},
		"in a quotation":      {"## Assembly\n\n> 1. Cut.\n\n- 1. Push.\n", nil},
		"loose":               {"## Assembly\n\n1. Cut.\n\n   Slowly.\n\n2. Push.\n", []step{{1, "Cut. Slowly."}, {2, "Push."}}},
		"two sections":        {"## Assembly\n\n1. Cut.\n\n## assembly\n\n1. Push.\n", []step{{1, "Cut."}, {1, "Push."}}},
		"quotation marks":     {"## Assembly\n\n1. Don't -- \"ever\" -- cut &amp; run.\n", []step{{1, `Don't -- "ever" -- cut & run.`}}},
	} {
		t.Run(name, func(t *testing.T) {
			d := parsed(t, c.in)
			var got []step
			for _, s := range d.Steps() {
				got = append(got, step{s.Number, s.Words})
			}
			require.Equal(t, c.want, got)
			require.Equal(t, numbersShown(t, d), numbersOf(d))
		})
	}
}

func numbersOf(d *Document) (out []int) {
	for _, s := range d.Steps() {
		out = append(out, s.Number)
	}
	return out
}

// numbersShown are those that a browser gives the items of the lists that stand by
// themselves in the assembly sections.
func numbersShown(t testing.TB, d *Document) (out []int) {
	t.Helper()
	for _, s := range d.Sections() {
		if !strings.EqualFold(s.Title, AssemblyTitle) {
			continue
		}
		html, err := s.Render(Page{Top: 3})
		require.NoError(t, err)
		tree, err := nethtml.ParseFragment(strings.NewReader(string(html)), &nethtml.Node{Type: nethtml.ElementNode, Data: "div", DataAtom: atom.Div})
		require.NoError(t, err)
		for _, list := range tree {
			if list.DataAtom != atom.Ol {
				continue
			}
			number := 1
			for _, a := range list.Attr {
				if a.Key == "start" {
					number, err = strconv.Atoi(a.Val)
					require.NoError(t, err)
				}
			}
			for item := range list.ChildNodes() {
				if item.DataAtom == atom.Li {
					out = append(out, number)
					number++
				}
			}
		}
	}
	return out
}

func TestReferencesHavePlaceAndAddress(t *testing.T) {
	body := "Ä [*b*](/plates/#range) <https://figures.example/ä> ![c][d]\n\n- <a@figures.example>\n\n| a |\n|---|\n| é [e](#parts) |\n\n[d]: //figures.example/x.png 'A title'\n"
	var got []string
	d := parsed(t, body)
	for _, r := range d.References() {
		line, column := d.Place(r.Pos())
		got = append(got, fmt.Sprintf("%d:%d %s %s %d", line, column, r.Written, r.Address, r.To))
	}
	require.Equal(t, []string{
		"1:3 /plates/#range /plates/#range 2", "1:25 https://figures.example/%C3%A4 https://figures.example/%C3%A4 1", "1:53 //figures.example/x.png //figures.example/x.png 1",
		"3:3 mailto:a@figures.example mailto:a@figures.example 1", "7:5 #parts #parts 3",
	}, got)
}

func TestWhatIsSaidInVain(t *testing.T) {
	for body, want := range map[string]string{
		"a\n\n  <p>\nb\n</p>\n":                             "3:3 HTML is not shown",
		"a <b>c</b>":                                        "1:3 HTML is not shown",
		"é [a](java&#115;cript:alert(1))":                   "1:3 the address \"java&#115;cript:alert(1)\" cannot stand",
		"a <data:x>":                                        "1:3 the address \"data:x\" cannot stand",
		"a ![b *c*](d.png)":                                 "1:3 image \"d.png\" is not published",
		"[a]: /plates/\n\n## B\n\n> [A]: /materials/":       "5:3 the address of [A] is defined a second time",
		"[a]: /plates/\n[a]: /plates/ 'b'":                  "2:1 the address of [a] is defined a second time",
		"```\n<p>\n```\n\n`<b>` <!-- c -->\n\n<!-- d -->\n": "",
		"[a]: /plates/\n[a]: /plates/\n":                    "",
	} {
		_, problems := Parse(body)
		var got []string
		for _, p := range problems {
			got = append(got, fmt.Sprintf("%d:%d %s", p.Line, p.Column, p.Text))
		}
		if want == "" {
			require.Empty(t, got, body)
			continue
		}
		require.Len(t, got, 1, body)
		require.True(t, strings.HasPrefix(got[0], want), "%q: %s", body, got[0])
	}
}

// There are no footnotes: their marks and their words stay as they were typed, in one
// section and in two. A single word would be an address, and vanish; that is told.
func TestFootnotesStayAsTheyWereTyped(t *testing.T) {
	d := parsed(t, "Cut[^1] it.\n\n[^1]: Slowly, and not to the end.\n\n## B\n\nGlue[^1] it.\n")
	require.Equal(t, "Cut[^1] it. [^1]: Slowly, and not to the end.", d.Sections()[0].Words())
	require.Equal(t, "Glue[^1] it.", d.Sections()[1].Words())
	_, problems := Parse("Cut it.\n\n## B\n\n[^1]: Slowly!\n")
	require.Len(t, problems, 1)
	require.Contains(t, problems[0].Text, "[^1] begins a footnote, which notes do not have")
	require.Equal(t, 5, problems[0].Line)
}

func TestSaysAndLead(t *testing.T) {
	d := parsed(t, "# Who\n\n[a]: /plates/\n\nText with [a\nlink][a] & more.\n\nNext.")
	require.Equal(t, "Text with a link & more.", d.Lead())
	require.True(t, d.Says("with a link & more. Next."))
	require.False(t, d.Says("plates"))
	var none *Document
	require.Empty(t, none.Lead())
	require.False(t, none.Says(""))
	require.Empty(t, none.Sections())
	require.Empty(t, none.Steps())
	require.Empty(t, none.References())
}

// read is the letters of a piece of a page, as a reader sees them, or of words; marks of
// quotation are as typed, and there are no spaces.
func read(s string) string {
	typed := strings.NewReplacer("‘", "'", "’", "'", "“", `"`, "”", `"`, "–", "--", "—", "---", "…", "...", "«", "<<", "»", ">>")
	return typed.Replace(strings.Join(strings.Fields(s), ""))
}

func textOf(piece string) string {
	var out strings.Builder
	z := nethtml.NewTokenizer(strings.NewReader(piece))
	for z.Next() != nethtml.ErrorToken {
		if token := z.Token(); token.Type == nethtml.TextToken {
			out.WriteString(token.Data)
		}
	}
	return out.String()
}

// asGoldmark renders a text by goldmark's own renderer; ok is false where it has what this
// package's renderer writes in its own way.
func asGoldmark(t testing.TB, d *Document) (html string, ok bool) {
	t.Helper()
	ok = true
	walk(d.tree, func(n ast.Node) {
		switch n.Kind() {
		case kindReference, ast.KindHeading, ast.KindCodeBlock, ast.KindFencedCodeBlock, ast.KindHTMLBlock, ast.KindRawHTML, east.KindTable:
			ok = false
		}
	})
	var out strings.Builder
	md := goldmark.New(goldmark.WithExtensions(extension.Table, extension.DefinitionList, extension.Strikethrough, extension.Typographer))
	require.NoError(t, md.Convert(d.source, &out))
	return out.String(), ok
}

// Whatever a text says: its words are those that a page shows, its sections have all of
// it, its steps bear the page's numbers, no page of it asks another site for anything, and
// what is not this package's own is written as goldmark writes it.
func FuzzParse(f *testing.F) {
	f.Add("## A\nx\n\nB\n---\n```\n## C\n```\n")
	f.Add("[a]: /b\n\n## Assembly\n\n1. 'Cut' -- \"it\" [a]\n2. ![b](//c)\n\n> ## D\n\n| a |\n|-|\n| <b> |\n")
	f.Add("a 'b'\n\n- c  \n  d\n- e\n\n  f\n\n1. g\n\nTerm\n: **h** ~~i~~\n")
	f.Add("Term\n: <<it's>> ... ~~a~~ <a@b.example> &amp; \\* [![a](//b)](c)\n")
	f.Fuzz(func(t *testing.T, body string) {
		if !utf8.ValidString(body) || strings.ContainsFunc(body, func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }) {
			return // package fields lets no such text through
		}
		d, _ := Parse(body)
		if d.tree == nil {
			return
		}
		whole, err := d.Render(Page{Top: 2})
		if err != nil {
			t.Fatal(err)
		}
		if got, want := read(plain(d.tree, d.source)), read(textOf(string(whole))); got != want {
			t.Fatalf("%q: words %q, on a page %q", body, got, want)
		}
		if want, ok := asGoldmark(t, d); ok && string(whole) != want {
			t.Fatalf("%q: %q, and by goldmark's renderer %q", body, whole, want)
		}
		if got, want := numbersOf(d), numbersShown(t, d); !slices.Equal(got, want) {
			t.Fatalf("%q: steps %v, on a page %v", body, got, want)
		}
		var parts []string
		for _, s := range d.Sections() {
			parts = append(parts, s.Title, s.Words())
			html, err := s.Render(Page{Top: 3, Root: "../"})
			if err != nil {
				t.Fatal(err)
			}
			if err := keepsToTheSite([]byte(html)); err != nil {
				t.Fatalf("%q: %v", body, err)
			}
		}
		if got, want := strings.Join(strings.Fields(strings.Join(parts, " ")), " "), plain(d.tree, d.source); got != want {
			t.Fatalf("%q: sections %q, whole %q", body, got, want)
		}
		for _, r := range d.References() {
			if r.Pos() < 0 || r.Pos() >= len(body) || !strings.Contains("[!<", body[r.Pos():r.Pos()+1]) {
				t.Fatalf("%q: a reference at %d", body, r.Pos())
			}
		}
	})
}

func ExampleParse() {
	d, _ := Parse("Words.\n\n## Assembly\n\n1. Push the *rods* in.\n")
	for _, s := range d.Sections() {
		fmt.Printf("%q: %s\n", s.Title, s.Words())
	}
	fmt.Println(d.Steps()[0].Number, d.Steps()[0].Words)
	// Output:
	// "": Words.
	// "Assembly": Push the rods in.
	// 1 Push the rods in.
}
