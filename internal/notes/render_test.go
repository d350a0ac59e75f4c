package notes

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"
	nethtml "golang.org/x/net/html"
	"golang.org/x/net/html/atom"
	"pgregory.net/rapid"
)

func rendered(t testing.TB, body string, page Page) string {
	t.Helper()
	d, _ := Parse(body)
	html, err := d.Render(page)
	require.NoError(t, err, body)
	return string(html)
}

func TestAnAddressIsWhatABrowserMakesOfIt(t *testing.T) {
	for source, want := range map[string]Target{
		"https://figures.example/a": Elsewhere, "HTTP://figures.example": Elsewhere, "//figures.example": Elsewhere, "mailto:a@figures.example": Elsewhere,
		"&#47;&#47;figures.example/x.png": Elsewhere, `\/\/figures.example`: Elsewhere, "&sol;/figures.example": Elsewhere,
		`https:\\figures.example`: Refused, `\\figures.example`: Beside, `/\\figures.example`: Within, // a backslash becomes %5C, which is one letter of a path
		"javascript:alert(1)": Refused, "java&#115;cript:alert(1)": Refused, "data:image/png;base64,AA": Refused, "file:///etc": Refused, "ftp://figures.example": Refused,
		"https:figures.example": Refused, "https://": Refused, "vbscript:a": Refused, "blob:x": Refused,
		"/plates/": Within, "/": Within, "#parts": Beside, "a.html": Beside, "../x": Beside, "?a:b": Beside, "a/b:c": Beside, "": Beside,
	} {
		require.Equal(t, want, targetOf(final([]byte(source))), source)
	}
}

// An address that is defined anywhere in the text serves each section of it.
func TestAnAddressDefinedUnderAnotherHeadingResolves(t *testing.T) {
	d := parsed(t, "See [a].\n\n## A\n\nThe [plates][p] and [A].\n\n[a]: /materials/\n\n## B\n\n> [p]: /plates/#range \"All\"\n")
	intro, err := d.Sections()[0].Render(Page{Top: 3, Root: "../"})
	require.NoError(t, err)
	require.Equal(t, "<p>See <a href=\"../materials/index.html\">a</a>.</p>\n", string(intro))
	first, err := d.Sections()[1].Render(Page{Top: 3})
	require.NoError(t, err)
	require.Equal(t, "<p>The <a href=\"plates/index.html#range\" title=\"All\">plates</a> and <a href=\"materials/index.html\">A</a>.</p>\n", string(first))
}

func TestHeadingsKeepToThePage(t *testing.T) {
	body := "# A\n\n### B\n\n## C\n\n> ##### D\n\n# E\n"
	require.Equal(t, "<h2>A</h2>\n<h3>B</h3>\n<h3>C</h3>\n<blockquote>\n<h4>D</h4>\n</blockquote>\n<h2>E</h2>\n", rendered(t, body, Page{Top: 2}))
	d := parsed(t, body)
	html, err := d.Sections()[1].Render(Page{Top: 3})
	require.NoError(t, err)
	require.Equal(t, "<blockquote>\n<h3>D</h3>\n</blockquote>\n<h3>E</h3>\n", string(html), "the section's own heading is the page's")
	require.Contains(t, rendered(t, "# A\n## B\n### C\n#### D\n##### E\n###### F\n", Page{Top: 4}), "<h6>F</h6>", "there is no seventh level")
}

func TestTablesAndCodeScrollByTheKeyboard(t *testing.T) {
	require.Equal(t, `<div class="scroll" role="region" aria-label="Table" tabindex="0"><table>`+"\n<thead>\n<tr>\n<th>a</th>\n</tr>\n</thead>\n</table></div>\n", rendered(t, "| a |\n|---|\n", Page{}))
	require.Equal(t, `<pre tabindex="0"><code class="language-x&quot;">&lt;pre&gt;`+"\n</code></pre>\n", rendered(t, "```x\"\n<pre>\n```\n", Page{}))
	require.Equal(t, `<pre tabindex="0"><code>a`+"\n</code></pre>\n", rendered(t, "    a\n", Page{}))
	require.Equal(t, "<p><code>&lt;table&gt;&lt;pre&gt;&lt;!-- raw HTML omitted --&gt;</code></p>\n", rendered(t, "`<table><pre><!-- raw HTML omitted -->`", Page{}))
}

func TestHTMLIsLeftOut(t *testing.T) {
	require.Equal(t, "<p>a b c</p>\n", rendered(t, "a <i>b</i> c<!-- d -->\n\n<div>\n\n<!-- e\n-->\n", Page{}))
}

func TestACautionStandsAtTheEndOfItsStep(t *testing.T) {
	evil := &Caution{Words: `<img src=x onerror="y"> &amp; [a](javascript:z) \*`}
	text := `<p class="at-step"><strong>Caution.</strong> &lt;img src=x onerror=&quot;y&quot;&gt; &amp;amp; [a](javascript:z) \*</p>`
	for name, c := range map[string]struct{ body, want string }{
		"tight": {"1. a\n2. b\n", "<ol>\n<li>a\n" + text + "\n</li>\n<li>b</li>\n</ol>\n"},
		"loose": {"1. a\n\n   b\n\n2. c\n", "<ol>\n<li>\n<p>a</p>\n<p>b</p>\n" + text + "\n</li>\n<li>\n<p>c</p>\n</li>\n</ol>\n"},
		"list":  {"1. a\n   - b\n2. c\n", "<ol>\n<li>a\n<ul>\n<li>b</li>\n</ul>\n" + text + "\n</li>\n<li>c</li>\n</ol>\n"},
		"empty": {"1.\n2. b\n", "<ol>\n<li>\n" + text + "\n</li>\n<li>b</li>\n</ol>\n"},
	} {
		d := parsed(t, "## Assembly\n\n"+c.body)
		html, err := d.Sections()[0].Render(Page{Cautions: map[*Step]*Caution{d.Steps()[0]: evil}})
		require.NoError(t, err)
		require.Equal(t, c.want, string(html), name)
		bare, err := d.Sections()[0].Render(Page{})
		require.NoError(t, err)
		require.NotContains(t, string(bare), "at-step", "another page of the same document has none")
	}
}

// One document is rendered by many at a time; the race detector watches.
func TestADocumentIsSharedByPages(t *testing.T) {
	d := parsed(t, "# A\n\n[b](/plates/)\n\n## Assembly\n\n1. Cut 'it'.\n")
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			page := Page{Top: 2 + i%2, Root: strings.Repeat("../", i), Cautions: map[*Step]*Caution{d.Steps()[0]: {Words: fmt.Sprint(i)}}}
			html, err := d.Render(page)
			if err != nil || !strings.Contains(string(html), fmt.Sprintf("<h%d>A", page.Top)) || !strings.Contains(string(html), "\""+page.Root+"plates/index.html\"") || !strings.Contains(string(html), fmt.Sprintf("</strong> %d<", i)) {
				t.Errorf("%v: %s", err, html)
			}
		})
	}
	wg.Wait()
}

// Whatever notes say, the page asks no other site for anything, and every link that
// leaves says so. Parse reports most of these; the page does not rely on it.
func TestNoNotesMakeAPageAskElsewhere(t *testing.T) {
	for source, want := range map[string]string{
		"Term\n: ![a](//figures.example/x.png)":                             `<dd><a href="//figures.example/x.png" rel="noopener">a</a></dd>`,
		"| a | b |\n|---|---|\n| `|` ![a](https://figures.example/x.png) |": `<a href="https://figures.example/x.png" rel="noopener">a</a>`,
		"| `a | ![a](//figures.example/x.png) |\n|---|---|\n":               `<a href="//figures.example/x.png" rel="noopener">a</a>`,
		"~~![a](//figures.example/x.png)~~":                                 `<del><a href="//figures.example/x.png" rel="noopener">a</a></del>`,
		"> - ![a][b]\n\n[b]: &#47;&#47;figures.example/x.png\n":             `<a href="//figures.example/x.png" rel="noopener">a</a>`,
		"[a](\\/\\/figures.example)":                                        `<a href="//figures.example" rel="noopener">a</a>`,
		"[a](&#47;&#47;figures.example)":                                    `<a href="//figures.example" rel="noopener">a</a>`,
		"![a *b*](c.png)":                                                   `<p>a <em>b</em></p>`,
		"![a](data:image/png;base64,AA)":                                    `<p>a</p>`,
		"[a](javascript:alert(1))":                                          `<a href="">a</a>`,
		"<javascript:alert(1)>":                                             `<a href="">javascript:alert(1)</a>`,
		"[a](/plates/#range)":                                               `<a href="../plates/index.html#range">a</a>`,
		"[a](/plates/?b=c#range)":                                           `<a href="../plates/index.html?b=c#range">a</a>`,
		"[a](/)":                                                            `<a href="../index.html">a</a>`,
		"[a](/releases/01-a/release.json)":                                  `<a href="../releases/01-a/release.json">a</a>`,
		"<http://figures.example?a&b>":                                      `<a href="http://figures.example?a&amp;b" rel="noopener">http://figures.example?a&amp;b</a>`,
		"<A@figures.example>":                                               `<a href="mailto:A@figures.example" rel="noopener">A@figures.example</a>`,
		"[![a](//figures.example/x.png)](/plates/)":                         `<a href="../plates/index.html">a</a>`,
		"![[a](/plates/)](//figures.example/x.png)":                         `<a href="//figures.example/x.png" rel="noopener">a</a>`,
		"![[a](/plates/)](x.png)":                                           `<p><a href="../plates/index.html">a</a></p>`,
	} {
		got := rendered(t, source, Page{Top: 2, Root: "../"})
		require.Contains(t, got, want, source)
		require.NoError(t, keepsToTheSite([]byte(got)), source)
	}
	rapid.Check(t, func(t *rapid.T) {
		source := strings.Join(rapid.SliceOf(rapid.SampledFrom([]string{
			"![a](//b.example)", "[a](\\/\\/b.example)", "[a](\\\\\\\\b.example)", "[a]", "[a]: //b.example\n", "|", "|---|---|\n", "\n: ", "\n", "\n\n", "`", "<", ">", "<img src=x>", "<http://b.example>", "**", "~~", "- ", "> ", "1. ", "&#47;", "\\", "a", "'", "\"", "(", ")", "## ",
		})).Draw(t, "text"), "")
		d, _ := Parse(source)
		html, err := d.Render(Page{Top: 2, Root: "../"})
		require.NoError(t, err, source)
		require.NoError(t, keepsToTheSite([]byte(html)), "%q", source)
		links := 0
		for _, r := range d.References() {
			if r.leads() {
				links++
			}
		}
		require.Equal(t, links, strings.Count(string(html), "<a href="), "%q\n%s", source, html)
	})
}

// keepsToTheSite makes sure by the tokens of a piece of HTML that a page with it asks
// nobody else for anything: it has no element that fetches, no link in a link, and no link
// that leaves without saying so. It knows nothing of how the piece was made.
func keepsToTheSite(piece []byte) error {
	z := nethtml.NewTokenizer(bytes.NewReader(piece))
	links := 0
	for {
		switch z.Next() {
		case nethtml.ErrorToken:
			if z.Err() == io.EOF {
				return nil
			}
			return z.Err()
		case nethtml.EndTagToken:
			if name, _ := z.TagName(); string(name) == "a" {
				links--
			}
			continue
		case nethtml.CommentToken, nethtml.DoctypeToken:
			return fmt.Errorf("notes became %s, which is not theirs", z.Raw())
		case nethtml.StartTagToken, nethtml.SelfClosingTagToken:
		default:
			continue
		}
		token := z.Token()
		href, rel := "", ""
		for _, at := range token.Attr {
			switch at.Key {
			case "href":
				href = at.Val
			case "rel":
				rel = at.Val
			case "id", "class", "title", "start", "style", "role", "aria-label", "tabindex", "align":
			default:
				return fmt.Errorf("notes became <%s %s=%q>, which may ask another site", token.Data, at.Key, at.Val)
			}
		}
		if token.DataAtom == atom.A {
			if links++; links > 1 {
				return fmt.Errorf("notes became a link to %q in a link", href)
			}
		}
		if token.DataAtom != atom.A && href != "" || token.DataAtom == atom.Link || token.DataAtom == atom.Base || token.DataAtom == atom.Script || token.DataAtom == atom.Style {
			return fmt.Errorf("notes became <%s href=%q>, which may ask another site", token.Data, href)
		}
		if targetOf(href) == Elsewhere && rel != "noopener" {
			return fmt.Errorf("notes became a link to %q that does not say so", href)
		}
	}
}

func TestTheLookAtTheTokensFindsWhatAsksElsewhere(t *testing.T) {
	for piece, want := range map[string]string{
		`<p><img src="a.png"></p>`:                      `notes became <img src="a.png">`,
		`<p><a href="//figures.example">a</a></p>`:      `a link to "//figures.example" that does not say so`,
		`<link href="a.css">`:                           `notes became <link href="a.css">`,
		`<p onclick="a()">b</p>`:                        `notes became <p onclick="a()">`,
		`<script>a()</script>`:                          `notes became <script`,
		`<a href="a.html">b <a href="c.html">d</a></a>`: `a link to "c.html" in a link`,
		`<!-- a -->`:                                    `which is not theirs`,
	} {
		require.ErrorContains(t, keepsToTheSite([]byte(piece)), want)
	}
	require.NoError(t, keepsToTheSite([]byte(`<p><a href="a.html" title="b">c</a> <a href="//figures.example" rel="noopener">d</a></p><ol start="3"><li>e</li></ol>`)))
}
