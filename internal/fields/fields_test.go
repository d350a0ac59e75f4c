package fields

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// readAll asks for one field of each kind.
func readAll(m *Map) map[string]any {
	got := map[string]any{}
	got["title"] = m.Text("title", Required)
	got["height"] = m.Length("height", Optional)
	got["margin"] = m.LengthOrZero("margin", Optional)
	got["tilt"] = m.Angle("tilt", Optional, 0, 90)
	got["density"] = m.Number("density", Optional, 0.3, 8)
	got["count"] = m.Count("count", Optional, 1)
	got["released"] = m.Date("released", Optional)
	got["standard"] = m.Bool("standard", Optional)
	got["process"] = m.Enum("process", Optional, "filament", "resin")
	got["tags"] = m.Texts("tags", Optional)
	if t := m.Table("print", Optional); t != nil {
		got["layer"] = t.Length("layer", Required)
	}
	for i, t := range m.Tables("links", Optional) {
		got[fmt.Sprint("link", i)] = t.Text("url", Required)
	}
	return got
}

func TestEveryKindOfFieldIsRead(t *testing.T) {
	d := Parse("a.yaml", []byte(strings.ReplaceAll(`# comment
title: "Gull: a bird"
height: 2.5 in
margin: 0
tilt: 35°
density: 1.17
count: 07
released: 2026-03-14
standard: true
process: resin
tags: [a, "b c"]
print: {layer: .05mm}
links:
  - url: x
  - url: 1984
`, "\n", "\r\n")))
	got := readAll(d.Map())
	require.Empty(t, d.Finish())
	require.Equal(t, map[string]any{
		"title": "Gull: a bird", "height": 63.5, "margin": 0.0, "tilt": 35.0, "density": 1.17, "count": 7,
		"released": time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC), "standard": true, "process": "resin",
		"tags":  []Located{{"a", 11, 8}, {"b c", 11, 11}},
		"layer": 0.05, "link0": "x", "link1": "1984",
	}, got)
}

func TestProblemsAreLocatedAndAllReported(t *testing.T) {
	for _, c := range []struct {
		name, in string
		want     []string
	}{
		{"unknown field, near", "title: x\nheigth: 3\n", []string{`2:1: field "heigth" is not known here; did you mean "height"?`}},
		{"unknown field, far", "title: x\nzebra: 3\n", []string{`2:1: field "zebra" is not known here; expected title, height, margin, tilt, density, count, released, standard, process, tags, print or links`}},
		{"missing", "height: 3\n", []string{`1:1: "title" is missing; add a line that begins with title:`}},
		{"misspelt and so missing is one problem", "titel: x\n", []string{`1:1: field "titel" is not known here; did you mean "title"?`}},
		{"empty file", "", []string{`1:1: "title" is missing; add a line that begins with title:`}},
		{"only a comment", "# nothing\n", []string{`1:1: "title" is missing; add a line that begins with title:`}},
		{"empty value", "title:\n", []string{`1:1: "title" is empty; expected a value after the colon`}},
		{"empty text", "title: \"\"\n", []string{`1:8: "title" is empty; expected text`}},
		{"duplicate", "title: a\nheight: 1\ntitle: b\n", []string{`3:1: "title" is given twice; the first is on line 1, remove one`}},
		{"several, none hides another", "title: [a]\nheight: tall\nmargin: -1 mm\ncount: 2.5\nwhat: 1\n", []string{
			`1:8: "title" should be text, found a list`,
			`2:9: length "tall" has no number; expected a number and a unit, such as 1.5 mm`,
			`3:9: length "-1 mm" is negative; expected a length above zero`,
			`4:8: "2.5" is not a count; expected a whole number, such as 2`,
			`5:1: field "what" is not known here; expected title, height, margin, tilt, density, count, released, standard, process, tags, print or links`,
		}},
		{"decimal comma", "title: x\nheight: 1,5 mm\n", []string{`2:9: length "1,5 mm" has a comma; expected a decimal point, such as 1.5`}},
		{"unknown unit", "title: x\nheight: 3 pt\n", []string{`2:9: length "3 pt" has the unit "pt", which is not known; expected mm, cm, m, µm, in or ft`}},
		{"not a number", "title: x\nheight: .nan\nmargin: .inf\n", []string{
			`2:9: length ".nan" is not a finite number; expected a number and a unit, such as 1.5 mm`,
			`3:9: length ".inf" is not a finite number; expected a number and a unit, such as 1.5 mm`,
		}},
		{"no number", "title: x\nheight: mm\n", []string{`2:9: length "mm" has no number; expected a number and a unit, such as 1.5 mm`}},
		{"zero", "title: x\nheight: 0 mm\n", []string{`2:9: length "height" is zero; expected a length above zero`}},
		{"too long", "title: x\nheight: 1000000\n", []string{`2:9: length "1000000" is longer than 100 m; expected a length in mm, cm, m, µm, in or ft`}},
		{"exponent", "title: x\nheight: 1e3\n", []string{`2:9: length "1e3" is not one decimal number; expected a number and a unit, such as 1.5 mm`}},
		{"length as a table", "title: x\nheight: {a: 1}\n", []string{`2:9: "height" should be a length, such as 1.5 mm, found a table of fields`}},
		{"angle", "title: x\ntilt: 95\n", []string{`2:7: "tilt" is 95; expected 0 to 90 degrees`}},
		{"angle unit", "title: x\ntilt: 1 rad\n", []string{`2:7: angle "1 rad" has the unit "rad", which is not known; expected degrees, such as 35`}},
		{"number range", "title: x\ndensity: 1170\n", []string{`2:10: "density" is 1170; expected a number from 0.3 to 8`}},
		{"number with unit", "title: x\ndensity: 1.1 g\n", []string{`2:10: number "1.1 g" ends in "g"; expected a plain number, such as 1.17`}},
		{"count zero", "title: x\ncount: 0\n", []string{`2:8: "count" is 0; expected a whole number of at least 1`}},
		{"count huge", "title: x\ncount: 99999999999999999999\n", []string{`2:8: "99999999999999999999" is not a count; expected a whole number, such as 2`}},
		{"date", "title: x\nreleased: 2026-02-30\n", []string{`2:11: date "2026-02-30" is not a calendar date; expected year-month-day, such as 2026-03-14`}},
		{"bool", "title: x\nstandard: yes\n", []string{`2:11: "standard" should be true or false, found "yes"`}},
		{"bool as text", "title: true\n", []string{`1:8: "title" should be text, found true (put it in quotes if it is text)`}},
		{"enum, near", "title: x\nprocess: ressin\n", []string{`2:10: process "ressin" is not known; did you mean "resin"?`}},
		{"enum, far", "title: x\nprocess: laser\n", []string{`2:10: process "laser" is not known; expected filament or resin`}},
		{"not a list", "title: x\ntags: bird\n", []string{`2:7: "tags" should be a list of texts, found "bird"`}},
		{"empty and wrong entries", "title: x\ntags:\n  - a\n  -\n  - {b: 1}\n", []string{
			`4:3: this entry of "tags" should be text, found nothing`,
			`5:5: this entry of "tags" should be text, found a table of fields`,
		}},
		{"list entry that is no table", "title: x\nlinks:\n  - x\n  - url: y\n", []string{`3:5: this entry of "links" should be a table of fields, found "x"`}},
		{"missing in an entry", "title: x\nlinks:\n  - {}\n  - lable: y\n", []string{
			`3:5: "url" is missing; add a line that begins with url:`,
			`4:5: "url" is missing; add a line that begins with url:`,
			`4:5: field "lable" is not known here; expected url`,
		}},
		{"anchor and alias", "title: &a x\nheight: *a\n", []string{
			`1:8: "title" should be text, found an anchor; write the value without it`,
			`2:9: "height" should be a length, such as 1.5 mm, found an alias; write the value out`,
		}},
		{"tag", "title: !!str 5\n", []string{`1:8: "title" should be text, found a tag; write the value without it`}},
		{"merge key", "title: x\n<<: {height: 1}\n", []string{`2:1: merge keys are not read; write the fields out`}},
		{"number as a field's name", "title: x\n1: y\n", []string{`2:1: a field's name is not plain text; expected lines such as name: value`}},
		{"a list at the top", "- a\n- b\n", []string{`1:1: expected lines such as name: value, found a list`}},
		{"text at the top", "just words\n", []string{`1:1: expected lines such as name: value, found "just words"`}},
		{"two documents", "title: x\n---\ntitle: y\n", []string{`3:1: a second document begins here; expected one table in a file`}},
		{"syntax error hides nothing else", "title: [a\nheight: tall\ncount: x\n", []string{
			`1:8: cannot be read as YAML: sequence end token ']' not found; expected lines such as name: value`,
			`2:9: length "tall" has no number; expected a number and a unit, such as 1.5 mm`,
			`3:8: "x" is not a count; expected a whole number, such as 2`,
		}},
		{"tab", "title: x\n\theight: 1\n", []string{`2:1: cannot be read as YAML: a tab cannot set a line in, use spaces; expected lines such as name: value`}},
		{"columns count characters", "links: [{url: é, é: ü}]\ntitle: x\n", []string{`1:18: field "é" is not known here; expected url`}},
		{"control character", "title: a\x00b\n", []string{`1:9: there is a control character here; expected plain text`}},
		{"not UTF-8", "title: é\xff\n", []string{`1:9: this is not UTF-8 text; save the file as UTF-8`}},
		{"deep brackets", "title: " + strings.Repeat("[", 2000), []string{`1:40: brackets nest deeper than 32 levels here; expected a simple table`}},
		{"deep dashes", strings.Repeat("- ", 2000), []string{`1:1: this line nests deeper than 32 levels; expected a simple table`}},
		{"too large", strings.Repeat("# padding"+strings.Repeat(" ", 90)+"\n", 2000), []string{`1311:1: the text is longer than 128 KiB; expected a short table`}},
		{"too many lines", strings.Repeat("#\n", 5000), []string{`4001:1: the text has more than 4000 lines; expected a short table`}},
		{"line too long", "title: x\ntags: [" + strings.Repeat("a, ", 2000) + "]\n", []string{`2:1: this line is longer than 4096 bytes; break it into several`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := Parse("f.yaml", []byte(c.in))
			readAll(d.Map())
			var want []string
			for _, w := range c.want {
				want = append(want, "f.yaml:"+w)
			}
			require.Equal(t, strings.Join(want, "\n"), d.Finish().Error())
		})
	}
}

func TestABadFieldDoesNotLoseTheGoodOnes(t *testing.T) {
	d := Parse("f.yaml", []byte("title: [a\nheight: 12 cm\ncount: 3\n"))
	got := readAll(d.Map())
	require.Equal(t, 120.0, got["height"])
	require.Equal(t, 3, got["count"])
	require.Len(t, d.Finish(), 1)
}

func TestIndentedStaircaseIsRefused(t *testing.T) {
	var b strings.Builder
	for i := range 300 {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	d := Parse("f.yaml", []byte(b.String()))
	require.Equal(t, "f.yaml:65:65: this is indented deeper than 64 levels; expected a simple table", d.Finish().Error())
}

func TestNotesKeepLineNumbersAndBody(t *testing.T) {
	for _, c := range []struct {
		name, in, body string
		want           string
	}{
		{"plain", "---\ntitle: x\n---\n\n# Hello\n\n---\n\nrule above\n", "# Hello\n\n---\n\nrule above", ""},
		{"mark and CRLF", "\ufeff---\r\ntitle: x\r\nheight: 1,5\r\n---\r\nBody\r\n", "Body", `n.md:3:9: length "1,5" has a comma; expected a decimal point, such as 1.5`},
		{"old line ends", "---\rtitle: x\rcount: y\r---\rBody", "Body", `n.md:3:8: "y" is not a count; expected a whole number, such as 2`},
		{"empty front matter", "---\n---\nBody", "Body", `n.md:1:1: "title" is missing; add a line that begins with title:`},
		{"none", "# Hello\n", "# Hello", "n.md:1:1: the file has no front matter; expected a first line of ---, then fields, then another line of ---"},
		{"no end", "---\ntitle: x\nbody\n", "", "n.md:1:1: the front matter that begins here has no end; expected a second line of --- after the last field\nn.md:3:1: cannot be read as YAML: there is no colon and space after the field's name; expected lines such as name: value"},
		{"body with a control character", "---\ntitle: x\n---\nA\x1bB\n", "A\x1bB", "n.md:4:2: there is a control character here; expected plain text"},
		{"body that is not UTF-8", "---\ntitle: x\n---\nA\xff\n", "A\ufffd", "n.md:4:1: this line is not UTF-8 text; save the file as UTF-8"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, body := ParseNotes("n.md", []byte(c.in))
			readAll(d.Map())
			require.Equal(t, c.want, d.Finish().Error())
			require.Equal(t, c.body, body)
			if at := d.BodyLine(); body != "" {
				first, _, _ := strings.Cut(body, "\n")
				require.Equal(t, first, strings.ToValidUTF8(splitLines([]byte(c.in))[at-1], "\ufffd"))
			}
		})
	}
}

func TestSyntaxSlipsAreToldInPlainWords(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"title: Mind this: it breaks\n", `f.yaml:1:8: cannot be read as YAML: there is a second colon in a value, which then needs quotes around it, or the next line is set in too far`},
		{"title: X\n  height: 2\n", `f.yaml:1:8: cannot be read as YAML: there is a second colon in a value, which then needs quotes around it, or the next line is set in too far`},
		{" title: X\nheight: 2\n", `f.yaml:2:1: cannot be read as YAML: this line does not begin in the same column as the fields above it`},
		{"title: \"X\n", `f.yaml:1:8: cannot be read as YAML: the quotation mark here is never closed`},
		{"title: X\nheight 2\n", `f.yaml:2:1: cannot be read as YAML: there is no colon and space after the field's name`},
	} {
		d := Parse("f.yaml", []byte(c.in))
		readAll(d.Map())
		require.Equal(t, c.want+"; expected lines such as name: value", d.Finish().Error())
		require.False(t, d.Map().Whole(), "what is absent may stand in the part that was not read")
	}
}

func TestExcerptsCarryNoControlCharacters(t *testing.T) {
	errs := Parse("f.yaml", []byte("title: \x1b[31mred\x00\n")).Finish()
	require.Equal(t, "f.yaml:1:8: there is a control character here; expected plain text\n    1 | title: \ufffd[31mred\ufffd\n      |        ^", errs[0].Excerpt())
}

func TestExcerptsOfLongLinesShowWhatSurroundsTheColumn(t *testing.T) {
	long := strings.Repeat("ä", 500) + "X" + strings.Repeat("b", 500)
	lines := strings.Split(Error{File: "f", Line: 1, Column: 501, Message: "m", Source: long}.Excerpt(), "\n")
	require.Equal(t, "    1 | …"+strings.Repeat("ä", 59)+"X"+strings.Repeat("b", 48)+"…", lines[1])
	require.Equal(t, "      | "+strings.Repeat(" ", 60)+"^", lines[2])
	for _, column := range []int{1, 2, 1001, 1002} {
		lines = strings.Split(Error{File: "f", Line: 1, Column: column, Message: "m", Source: long}.Excerpt(), "\n")
		require.Len(t, []rune(lines[1]), 8+110)
		require.LessOrEqual(t, len([]rune(lines[2])), 8+111)
	}
}

func TestExcerptPutsACaretUnderTheColumn(t *testing.T) {
	d := Parse("f.yaml", []byte("title: x\nheight: 3 pt\n"))
	readAll(d.Map())
	errs := d.Finish()
	require.Equal(t, `f.yaml:2:9: length "3 pt" has the unit "pt", which is not known; expected mm, cm, m, µm, in or ft
    2 | height: 3 pt
      |         ^`, errs[0].Excerpt())
	require.Equal(t, errs[0].Excerpt(), errs.Excerpts())
	require.Equal(t, "x: gone", Error{File: "x", Message: "gone"}.Excerpt())
	require.Equal(t, "x:1:2: m\n    1 | \ta\n      | \t^", Error{File: "x", Line: 1, Column: 2, Message: "m", Source: "\ta"}.Excerpt())
}

func TestErrorsSortAndDropRepeats(t *testing.T) {
	es := Errors{{File: "b", Line: 1, Column: 1, Message: "m"}, {File: "a", Line: 10, Column: 1, Message: "m"}, {File: "a", Line: 9, Column: 3, Message: "m"}, {File: "a", Line: 9, Column: 3, Message: "m"}, {File: "a", Message: "m"}}
	require.Equal(t, "a: m\na:9:3: m\na:10:1: m\nb:1:1: m", es.Err().Error())
	require.NoError(t, Errors(nil).Err())
	var as Errors
	require.True(t, errors.As(fmt.Errorf("load: %w", es.Err()), &as))
	require.Len(t, as, 4)
}

func TestNearest(t *testing.T) {
	known := []string{"rod-1.5", "rod-2.0", "wire-0.8", "height", "width"}
	for _, c := range [][2]string{
		{"rod-1.6", "rod-1.5"}, {"heigth", "height"}, {"HEIGHT", "height"}, {"wdth", "width"}, {"wire", ""}, {"zebra", ""}, {"", ""}, {strings.Repeat("x", 100000), ""},
	} {
		got, _ := Nearest(c[0], known)
		require.Equal(t, c[1], got, c[0])
	}
}

// Published value: Wikipedia and many texts give kitten/sitting 3 for the edit
// distance (from memory); "ca"/"abc" is 3 in the optimal string alignment
// variant, where the unrestricted one gives 2 (from memory).
func TestSuggestOffersNoWordWithoutACommonLetter(t *testing.T) {
	require.Equal(t, "expected x or y", Suggest("z", []string{"x", "y"}))
	require.Equal(t, `did you mean "x"?`, Suggest("X", []string{"x", "y"}))
}

func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		d    int
	}{{"kitten", "sitting", 3}, {"ca", "abc", 3}, {"", "abc", 3}, {"heigth", "height", 1}, {"same", "same", 0}} {
		require.Equal(t, c.d, distance(c.a, c.b), "%s %s", c.a, c.b)
		require.Equal(t, c.d, distance(c.b, c.a), "%s %s", c.b, c.a)
	}
}

// 25.4 mm to the inch is exact (international yard and pound agreement, 1959).
func TestLengths(t *testing.T) {
	for s, want := range map[string]float64{
		"1": 1, "1.5mm": 1.5, "2.5 in": 63.5, "12 cm": 120, ".5": .5, "3.": 3, "+2 MM": 2, "1 in": 25.4, "0": 0, "7\u00a0mm": 7, "0.1 in": 2.54, "3.3 cm": 33, "1/16 in": 1.5875, "1 1/2 in": 38.1, "3/4in": 19.05,
	} {
		got, err := ParseLength(s)
		require.NoError(t, err, s)
		require.Equal(t, want, got, s)
	}
	for _, s := range []string{"", " ", "mm", "1,5", "1.000,5", "-1", "NaN", "inf", "0x10", "1 2", "1.5.2", "1e9", "1 mm x", "1/2 mm", "1/0 in", "1/2", "-1/2 in", "١", strings.Repeat("9", 400)} {
		_, err := ParseLength(s)
		require.Error(t, err, s)
	}
}

func TestAWrittenLengthReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		micrometres := rapid.IntRange(0, 100_000_000).Draw(t, "µm")
		mm := float64(micrometres) / 1000
		for _, unit := range []string{"", " mm", "mm"} {
			got, err := ParseLength(fmt.Sprintf("%d.%03d%s", micrometres/1000, micrometres%1000, unit))
			require.NoError(t, err)
			require.InDelta(t, mm, got, 1e-9) // the stated rounding
		}
	})
}

func FuzzFields(f *testing.F) {
	for _, s := range []string{"title: x\nheight: 1.5 mm\n", "a: &x [*x]\n", "title: |\n  x\n y\n", "? a\n: b\n", "{a: [1, {b: c}]}", "%YAML 1.2\n---\na: 1\n...\n", "- - - x", "a: !!binary x", "'", "\"\\x\"", "a: >-\n\n\n x", "<<: *a", "\t", ":", "a:\n- b\n-\n", "links: [{url: {}}]"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d := Parse("f.yaml", data)
		readAll(d.Map())
		checkPlaces(t, d)
	})
}

func FuzzFrontMatter(f *testing.F) {
	for _, s := range []string{"---\ntitle: x\n---\nbody", "---", "---\n---", "\ufeff---\r\na: 1\r\n---\r\n", "---\n\ta\n---\n---\n", "---\na: |\n---\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		d, body := ParseNotes("n.md", data)
		readAll(d.Map())
		if strings.ContainsRune(body, '\r') {
			t.Fatalf("body keeps a carriage return: %q", body)
		}
		checkPlaces(t, d)
	})
}

// checkPlaces makes sure that problems are sorted and stand inside the file. A file in
// another encoding has one problem, which is the whole file's.
func checkPlaces(t *testing.T, d *Document) {
	last := Error{}
	problems := d.Finish()
	if len(problems) == 1 && problems[0].Line == 0 && strings.HasSuffix(problems[0].Message, "; save it as UTF-8") {
		return
	}
	for _, e := range problems {
		if e.Line < 1 || e.Line > len(d.lines) || e.Column < 1 || e.Message == "" || strings.ContainsAny(e.Message, "\n\r") {
			t.Fatalf("%#v of %d lines", e, len(d.lines))
		}
		if e.Line < last.Line || e.Line == last.Line && e.Column < last.Column {
			t.Fatalf("%v after %v", e, last)
		}
		last = e
		_ = e.Excerpt()
	}
}

func BenchmarkParse(b *testing.B) {
	var t strings.Builder
	for i := range 1000 {
		fmt.Fprintf(&t, "  - url: https://figures.example/%d\n", i)
	}
	text := []byte("title: x\nlinks:\n" + t.String())
	b.ReportAllocs()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		d := Parse("f.yaml", text)
		readAll(d.Map())
		if len(d.Finish()) > 0 {
			b.Fatal("problems")
		}
	}
}

// BenchmarkHostile reads the worst shapes the limits let through.
func BenchmarkHostile(b *testing.B) {
	for _, c := range []struct{ name, text string }{
		{"duplicates", strings.Repeat("a: 1\n", MaxLines-1)},
		{"unclosed", strings.Repeat("a: [\n", MaxLines-1)},
		{"flow", "a: [\n" + strings.Repeat(strings.Repeat("1,", 2000)+"\n", 30)},
	} {
		b.Run("shape="+c.name, func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(int64(len(c.text)))
			for b.Loop() {
				d := Parse("f.yaml", []byte(c.text))
				readAll(d.Map())
				if len(d.Finish()) == 0 {
					b.Fatal("no problem found")
				}
			}
		})
	}
}

func Example() {
	d := Parse("plates.yaml", []byte("name: Palm-sized\nwidth: 2.5 in\nheigth: 155\n"))
	m := d.Map()
	fmt.Println(m.Text("name", Required), m.Length("width", Required), m.Length("height", Required))
	fmt.Println(d.Finish())
	// Output:
	// Palm-sized 63.5 0
	// plates.yaml:3:1: field "heigth" is not known here; did you mean "height"?
}

// Any text is read back as it was given, its blanks made one, wherever a value or
// a name may stand.
func TestScalarsAreReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.OneOf(rapid.String(), rapid.StringMatching(`[a-zA-Z0-9 .:#,&*!|>'"%@\x60{}\[\]?~=<\\-]{1,12}`),
			rapid.SampledFrom([]string{"null", "~", "True", "YES", "n", "1.5", "07", "0x1f", "1e3", ".inf", "2026-03-14", "a: b", "a #b", "- a", "? a", "<<", "…", "a\\nb"})).Draw(t, "text")
		written, err := Scalar(word)
		if err != nil {
			if !strings.ContainsFunc(word, func(r rune) bool { return control(r) || r >= 0x7f && r < 0xa0 }) {
				t.Fatalf("%q: %v", word, err)
			}
			return
		}
		want := strings.Join(strings.Fields(word), " ")
		if want == "" || len(word) > 1000 {
			return
		}
		for _, text := range []string{"a: " + written + "\n", "a: [" + written + "]\n"} {
			d := Parse("a.yaml", []byte(text))
			var got string
			if text[3] == '[' {
				for _, at := range d.Map().Texts("a", Optional) {
					got = at.Text
				}
			} else {
				got = d.Map().Text("a", Optional)
			}
			if errs := d.Finish(); len(errs) > 0 || got != want {
				t.Fatalf("%q is written %s and read as %q (%v)", word, text, got, errs)
			}
		}
		d := Parse("a.yaml", []byte("a: {"+written+": 1}\n"))
		if names := d.Map().Table("a", Required).Names(); len(names) != 1 || names[0].Text != want || len(d.errs) > 0 {
			t.Fatalf("%q is written %s as a name and read as %v (%v)", word, written, names, d.errs)
		}
	})
}
