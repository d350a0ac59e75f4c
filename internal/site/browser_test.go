package site

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"cardback/internal/longrun"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
)

// needOrSkip stops a test that lacks an outside tool: with a message, or as a
// failure where CARDBACK_BROWSER=strict says that the tool must be there.
func needOrSkip(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("CARDBACK_BROWSER") == "strict" {
		t.Fatalf("%s is missing, and CARDBACK_BROWSER=strict asks for it", what)
	}
	t.Skipf("%s is missing", what)
}

func checker(t *testing.T, parts ...string) string {
	t.Helper()
	path := filepath.Join(append([]string{"..", "..", ".ci", "node_modules"}, parts...)...)
	if _, err := os.Stat(path); err != nil {
		needOrSkip(t, "the checker "+strings.Join(parts, "/")+" (cd .ci && npm ci)")
	}
	return path
}

// demo builds the demo site, measured afresh.
func demo(t *testing.T) string {
	t.Helper()
	s, err := release.Load(filepath.Join("..", "..", "content"))
	require.NoError(t, err)
	found, err := survey.Run(t.Context(), s, nil, nil)
	require.NoError(t, err)
	past, err := history.Of(t.Context(), s, found, store.Open(t.TempDir(), "test"), nil)
	require.NoError(t, err)
	dir := t.TempDir()
	require.NoError(t, Build(t.Context(), judged(t, s, found, past), dir))
	return dir
}

// pageTypes picks one page of each type, and every release.
func pageTypes(site map[string][]byte) []string {
	seen := map[string]bool{}
	var out []string
	for _, name := range sortedPages(site) {
		kind := name
		if dir, _, _ := strings.Cut(name, "/"); strings.Count(name, "/") > 1 && dir != "releases" {
			kind = dir
		}
		if !seen[kind] {
			seen[kind] = true
			out = append(out, name)
		}
	}
	return out
}

// chromium is the browser's program.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	needOrSkip(t, "a Chromium browser")
	return ""
}

func TestPagesInABrowser(t *testing.T) {
	chromium := chromium(t)
	axe, err := os.ReadFile(checker(t, "axe-core", "axe.min.js"))
	require.NoError(t, err)
	longrun.Only(t, "browser tests are not short")
	invented, measured := revised(t, true).build(), demo(t) // before the browser's time begins
	b := openBrowser(t, chromium, string(axe))
	t.Run("fixture", func(t *testing.T) { b.visit(t, invented) })
	t.Run("demo", func(t *testing.T) { b.visit(t, measured) })
}

// browser is one tab and what it noticed.
type browser struct {
	ctx context.Context
	axe string

	mu       sync.Mutex
	requests []string
	messages []string
}

func openBrowser(t *testing.T, path, axe string) *browser {
	t.Helper()
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
	)
	ctx, cancel := context.WithTimeout(context.Background(), 8*time.Minute)
	ctx, stop := chromedp.NewExecAllocator(ctx, opts...)
	ctx, closeTab := chromedp.NewContext(ctx)
	t.Cleanup(func() {
		_ = chromedp.Cancel(ctx)
		closeTab()
		stop()
		cancel()
	})
	b := &browser{ctx: ctx, axe: axe}
	require.NoError(t, chromedp.Listen(ctx, func(ev any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		switch ev := ev.(type) {
		case *network.EventRequestWillBeSent:
			b.requests = append(b.requests, ev.Request.URL)
		case *log.EventEntryAdded:
			b.messages = append(b.messages, ev.Entry.Text+" "+ev.Entry.URL)
		case *runtime.EventExceptionThrown:
			b.messages = append(b.messages, ev.ExceptionDetails.Text)
		case *runtime.EventConsoleAPICalled:
			b.messages = append(b.messages, "console: "+string(ev.Type))
		}
	}))
	_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	_, err = chromedp.Call(ctx, log.Enable, struct{}{})
	require.NoError(t, err)
	return b
}

// visit serves a site under a sub-path and looks at each page type in three
// widths and both colour schemes.
func (b *browser) visit(t *testing.T, dir string) {
	server := httptest.NewServer(http.StripPrefix("/range/", http.FileServer(http.Dir(dir))))
	defer server.Close()
	site := files(t, dir)
	for _, page := range pageTypes(site) {
		if page == "404.html" && !bytes.Contains(site[page], []byte(`href="/range/`)) {
			continue // its links are for another address than this server's
		}
		t.Run(page, func(t *testing.T) { b.look(t, server.URL, page) })
	}
	t.Run("from a folder", func(t *testing.T) { b.opened(t, dir) })
}

// opened looks at a page as a file: its styles apply there too.
func (b *browser) opened(t *testing.T, dir string) {
	require.NoError(t, chromedp.Do(b.ctx, chromedp.Navigate("file://"+filepath.ToSlash(dir)+"/materials/index.html")))
	rule, err := chromedp.Run(b.ctx, chromedp.Evaluate[string]("getComputedStyle(document.querySelector('.masthead')).borderTopWidth"))
	require.NoError(t, err)
	require.Equal(t, "5px", rule)
}

// typePlate fills in the panel and reads its answer.
const typePlate = `(() => {
	const form = document.getElementById("my-plate");
	if (!form) return "no parts";
	if (form.hidden) return "";
	for (const [name, value] of [["width", "120"], ["depth", "68,5"], ["height", "155"]]) form.elements[name].value = value;
	form.dispatchEvent(new Event("change"));
	return form.querySelector("table").hidden ? "" : form.querySelector("[role=status]").textContent;
})()`

func (b *browser) look(t *testing.T, origin, page string) {
	b.mu.Lock()
	b.requests, b.messages = nil, nil
	b.mu.Unlock()
	// A page's address ends in index.html, which a file server redirects.
	require.NoError(t, chromedp.Do(b.ctx, chromedp.Navigate(origin+"/range/"+strings.TrimSuffix(page, "index.html"))))
	if strings.HasPrefix(page, "releases/") { // the panel is looked at with its answers
		typed, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](typePlate))
		require.NoError(t, err)
		require.NotEmpty(t, typed)
	}
	_, err := chromedp.Run(b.ctx, chromedp.Evaluate[int64](`(() => { const all = document.querySelectorAll("details"); for (const d of all) d.open = true; return all.length; })()`))
	require.NoError(t, err) // what is folded away keeps the rules too
	for _, width := range []int64{320, 390, 820, 1440} {
		require.NoError(t, chromedp.Do(b.ctx, chromedp.EmulateViewport(width, 900)))
		wide, err := chromedp.Run(b.ctx, chromedp.Evaluate[int64]("document.documentElement.scrollWidth"))
		require.NoError(t, err)
		require.LessOrEqual(t, wide, width, "the page scrolls sideways at %d px", width)
		if width == 820 {
			continue
		}
		for _, scheme := range []string{"light", "dark"} {
			_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
			require.NoError(t, err)
			b.accessible(t, width, scheme)
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	require.NotEmpty(t, b.requests)
	for _, r := range b.requests {
		require.True(t, strings.HasPrefix(r, origin+"/") || strings.HasPrefix(r, "data:"), "request to another origin: %s", r)
	}
	require.Empty(t, b.messages, "the console stays empty")
}

// accessible runs the rules of WCAG 2.2 A and AA and the good practices.
func (b *browser) accessible(t *testing.T, width int64, scheme string) {
	require.NoError(t, chromedp.Do(b.ctx, chromedp.Steps(ignore(chromedp.Evaluate[bool](b.axe+";true")))))
	found, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`axe.run(document, {resultTypes: ["violations"], runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then(r => JSON.stringify(r.violations.map(v => ({id: v.id, help: v.help, nodes: v.nodes.slice(0, 3).map(n => n.html.slice(0, 200) + " | " + n.failureSummary)}))))`, chromedp.EvalAwaitPromise))
	require.NoError(t, err)
	var violations []any
	require.NoError(t, json.Unmarshal([]byte(found), &violations))
	require.Empty(t, violations, "%d px, %s", width, scheme)
}

// ignore drops an action's value.
func ignore[T any](a chromedp.Action[T]) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := a(ctx, target)
		return err
	})
}

// The Nu HTML checker finds no error on any page.
func TestPagesAreValidHTML(t *testing.T) {
	jar := checker(t, "vnu-jar", "build", "dist", "vnu.jar")
	java, err := exec.LookPath("java")
	if err != nil {
		needOrSkip(t, "a Java runtime")
	}
	dir := revised(t, true).build()
	out, err := exec.CommandContext(t.Context(), java, "-jar", jar, "--errors-only", "--format", "text", "--skip-non-html", dir).CombinedOutput()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	require.NoError(t, err, string(out))
}
