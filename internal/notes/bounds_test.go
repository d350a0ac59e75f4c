package notes

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// exploding are texts that cost a parser far more than their length, or grow.
func exploding(n int) map[string]string {
	rep := func(s string) string { return strings.Repeat(s, max(1, n/len(s))) }
	grow := func(f func(i int) string) string {
		var b strings.Builder
		for i := 0; b.Len() < n; i++ {
			b.WriteString(f(i))
		}
		return b.String()
	}
	half := strings.Repeat
	return map[string]string{
		"quote marks on a line":            rep(">"),
		"quote marks apart":                rep("> "),
		"list markers on a line":           rep("- "),
		"list markers of all kinds":        rep("- + * 1. "),
		"definition markers":               rep(": "),
		"lists in lists":                   grow(func(i int) string { return half(" ", 2*i) + "- a\n" }),
		"lists in lists by tabs":           grow(func(i int) string { return half("\t", i) + "- a\n" }),
		"quotes in lists":                  rep("- > - > "),
		"links that do not end":            rep("[a]("),
		"the same over lines":              rep("[a](\n"),
		"in many paragraphs":               rep(rep2("[a](", 900) + "\n\n"),
		"open brackets":                    rep("["),
		"brackets, then closed":            half("[", n/2) + half("]", n/2),
		"images in images":                 half("![", n/6) + "a" + half("](b)", n/6),
		"references":                       grow(func(i int) string { return fmt.Sprintf("[a%d]: x\n", i) }),
		"references set in":                grow(func(i int) string { return fmt.Sprintf("- [a%d]: x\n\n", i) }),
		"references over lines":            grow(func(i int) string { return fmt.Sprintf("[\na%d]: x\n\n", i) }),
		"references with half titles":      rep("[a]: x '\n"),
		"a long reference":                 "[a]: /" + half("x", min(n/2, maxLine-10)) + "\n\n" + strings.Repeat(half("[a] ", 1000)+"\n\n", max(1, n/8000)),
		"a wide table":                     half("|a", n/4) + "|\n" + half("|-", n/4) + "|\n",
		"a wide table, many rows":          half("|a", 90) + "|\n" + half("|-", 90) + "|\n" + rep("|\n"),
		"many wide tables":                 rep(half("|a", 90) + "|\n" + half("|-", 90) + "|\n" + half("|\n", 100) + "\n"),
		"a table without bars at the ends": half("a|", n/4) + "a\n" + half("-|", n/4) + "-\n",
		"a table of code":                  "|a|\n|-|\n" + rep("|`a`|\n"),
		"emphasis":                         rep("*a "),
		"emphasis of both kinds":           rep("*a **b "),
		"emphasis, then closed":            half("*a **b ", n/14) + half("** *", n/14),
		"marks in words":                   rep("a_ _"),
		"stars":                            half("*", n/2) + "a" + half("*", n/2),
		"ticks":                            grow(func(i int) string { return half("`", i) + " " }),
		"ticks and words":                  rep("`a "),
		"tags":                             rep("<a "),
		"tags with half a value":           rep("<a href='"),
		"comments":                         rep("<!-- "),
		"declarations":                     rep("<![CDATA["),
		"instructions":                     rep("<?"),
		"addresses":                        rep("<http:"),
		"struck out":                       rep("~~a "),
		"quotation marks":                  rep("\"a '"),
		"entities":                         rep("&"),
		"backslashes":                      rep("\\"),
		"definitions":                      rep("a\n: b\n"),
		"definitions apart":                rep("a\n: b\n\n"),
		"terms of one definition":          rep("a\n") + ": b",
		"headings":                         rep("# a\n"),
		"sections":                         rep("## a\n"),
		"underlined headings":              rep("a\n---\n"),
		"rules":                            rep("---\n"),
		"list items":                       rep("- a\n"),
		"lazy quotations":                  "> " + rep("a\n"),
		"fences":                           rep("~~~\n\n"),
		"blanks":                           rep(" ") + "a",
		"one word":                         rep("a"),
		"lines":                            rep("a\n"),
		"hard breaks":                      rep("a  \n"),
		"paragraphs":                       rep("a\n\n"),
	}
}

func rep2(s string, n int) string { return strings.Repeat(s, n) }

// What the guard and the tree's bounds let pass is parsed and rendered in bounded
// time and does not grow without measure, whatever it is. A mebibyte is the largest
// file of notes that is read. The time is generous, for a machine with much else to
// do; without the guard some of these take hours and all memory.
func TestWhatPassesTheGuardIsQuick(t *testing.T) {
	for _, n := range []int{3_000, 60_000, 1 << 20} {
		for name, s := range exploding(n) {
			if len(s) > 1<<20 {
				s = s[:1<<20]
			}
			start := time.Now()
			what := "refused at once"
			if guard(s) == nil {
				what = "refused as a tree"
				if d, problems := Parse(s); d.tree != nil {
					what = fmt.Sprintf("rendered, with %d problems", len(problems))
					out, err := d.Render(Page{Top: 2})
					require.NoError(t, err)
					// The longest that a byte becomes is an item's "<li>a</li>\n" or a cell's
					// `<td style="text-align:center"></td>`; addresses add what maxExpansion
					// lets them, each byte six at most (&quot;), and cells what maxAllCells does.
					require.LessOrEqual(t, len(out), 12*len(s)+6*maxExpansion+40*maxAllCells, name)
				}
			}
			took := time.Since(start)
			require.Less(t, took, 20*time.Second, "%s, %d bytes", name, len(s))
			if took > time.Second {
				t.Logf("%d bytes of %s: %s after %.1f s", len(s), name, what, took.Seconds())
			}
		}
	}
}

func TestTheGuardTellsTheStateAndThePlace(t *testing.T) {
	for name, c := range map[string]struct {
		text         string
		line, column int
		want         string
	}{
		"a long line":      {"a\n" + strings.Repeat("b", maxLine+1), 2, 1, "longer than 20000 bytes"},
		"quotations":       {"a\n\n  " + strings.Repeat("> ", maxNesting+1), 3, 67, "nest deeper than 32 levels"},
		"lists":            {strings.Repeat("- ", maxNesting+1) + "a", 1, 65, "nest deeper than 32 levels"},
		"numbered lists":   {strings.Repeat("1. ", maxNesting+1) + "a", 1, 98, "nest deeper than 32 levels"},
		"set in":           {strings.Repeat(" ", maxIndent+1) + "a", 1, 201, "set in by more than 200 columns"},
		"brackets":         {"é" + strings.Repeat("[", maxBrackets+1), 1, 2002, "more square brackets"},
		"a wide table":     {"a\n" + strings.Repeat("|", maxColumns+1), 2, 1, "more than 100 vertical bars"},
		"a long table":     {"|a|b|c|\n" + strings.Repeat("|\n", maxCells/4), 4001, 1, "the table grows too large"},
		"definitions":      {strings.Repeat("[a]: b\n\n", maxDefinitions+1), 2001, 1, "more than 1000 definitions"},
		"no paragraph end": {strings.Repeat(strings.Repeat("a", 1023)+"\n", 129), 129, 1, "more than 128 KiB without an empty line"},
	} {
		p := guard(c.text)
		require.NotNil(t, p, name)
		require.Equal(t, []int{c.line, c.column}, []int{p.Line, p.Column}, name)
		require.Contains(t, p.Text, c.want, name)
	}
}

func TestWhatPeopleWritePassesTheGuard(t *testing.T) {
	for _, s := range []string{
		"", "\n\n", strings.Repeat("- ", 200), strings.Repeat("-", 300), strings.Repeat("* ", 100), strings.Repeat("=", 120), strings.Repeat("*", 80),
		"**Mind** the *thin* places.\n\n1. First\n   - then\n     - then\n\n| a | b |\n|---|:-:|\n| c | d |\n\nTerm\n: What it is.\n\n> A quotation\n> > in another.\n",
		strings.Repeat("See [the plates](/plates/) and [the stocks][m]. ", 200) + "\n\n[m]: /materials/\n",
		strings.Repeat("|a|b|c|d|e|\n", 500), "2026. A year that begins a line.\n10) A step.\n- - a list in a list\n",
	} {
		require.Nil(t, guard(s), "%.40q", s)
	}
}
