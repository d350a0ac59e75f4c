package site

import (
	"testing"

	"strings"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// Whatever notes say, the page asks no other site for anything, and every link that
// leaves says so. The notes' own check refuses most of these; the page does not rely
// on it.
func TestNoNotesMakeAPageAskElsewhere(t *testing.T) {
	for source, want := range map[string]string{
		"Term\n: ![a](//figures.example/x.png)":                             `<dd><a href="//figures.example/x.png" rel="noopener">a</a></dd>`,
		"| a | b |\n|---|---|\n| `|` ![a](https://figures.example/x.png) |": `<a href="https://figures.example/x.png" rel="noopener">a</a>`,
		"[a](\\/\\/figures.example)":                                        `<a href="//figures.example" rel="noopener">a</a>`,
		"[a](&#47;&#47;figures.example)":                                    `<a href="//figures.example" rel="noopener">a</a>`,
		"![a *b*](c.png)":                                                   `<p>a <em>b</em></p>`,
		"![a](data:image/png;base64,AA)":                                    `<p>a</p>`,
		"[a](javascript:alert(1))":                                          `<a href="">a</a>`,
		"[a](/plates/#range)":                                               `<a href="../plates/index.html#range">a</a>`,
		"<http://figures.example>":                                          `<a href="http://figures.example" rel="noopener">http://figures.example</a>`,
	} {
		got, err := render(source, 2, "../")
		require.NoError(t, err, source)
		require.Contains(t, string(got), want, source)
	}
	rapid.Check(t, func(t *rapid.T) {
		source := strings.Join(rapid.SliceOf(rapid.SampledFrom([]string{
			"![a](//b.example)", "[a](\\/\\/b.example)", "[a]", "[a]: //b.example\n", "|", "|---|---|\n", "\n: ", "\n", "\n\n", "`", "<", ">", "<img src=x>", "<http://b.example>", "**", "~~", "- ", "> ", "&#47;", "\\", "a", "'", "(", ")", "## ",
		})).Draw(t, "text"), "")
		_, err := render(source, 2, "../")
		require.NoError(t, err, "%q", source) // keepsToTheSite looked at it
	})
}

func TestWhatFetchesIsRefusedInTheRenderedPage(t *testing.T) {
	for piece, want := range map[string]string{
		`<p><img src="a.png"></p>`:                 `notes became <img src="a.png">`,
		`<p><a href="//figures.example">a</a></p>`: `a link to "//figures.example" that does not say so`,
		`<link href="a.css">`:                      `notes became <link href="a.css">`,
		`<p onclick="a()">b</p>`:                   `notes became <p onclick="a()">`,
	} {
		require.ErrorContains(t, keepsToTheSite([]byte(piece)), want)
	}
	require.NoError(t, keepsToTheSite([]byte(`<p><a href="a.html" title="b">c</a> <a href="//figures.example" rel="noopener">d</a></p><ol start="3"><li>e</li></ol>`)))
}
