package hostile

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// outHead begins the list of a folder that build wrote.
const outHead = "# Written by cardback build. What is not listed here is never removed.\n"

// Wrote makes the folder site as build leaves one: the files, and the list of them.
func (d Dir) Wrote(files map[string]string) {
	d.t.Helper()
	list := outHead
	for name, text := range files {
		d.Text("site/"+name, "%s", text)
		sum := sha256.Sum256([]byte(text))
		list += hex.EncodeToString(sum[:]) + " *" + name + "\n"
	}
	d.Text("site/SHA256SUMS", "%s", list)
}

// holds makes sure that a file still says what it did.
func holds(name, text string) func(t *testing.T, d Dir) {
	return func(t *testing.T, d Dir) { require.Equal(t, text, d.Read(name)) }
}

// absent makes sure that there is no such file.
func absent(name string) func(t *testing.T, d Dir) {
	return func(t *testing.T, d Dir) {
		_, err := os.Lstat(d.At(name))
		require.ErrorIs(t, err, os.ErrNotExist)
	}
}

// sited is a sound site to build, with more made by f.
func sited(f func(d Dir)) func(d Dir) {
	return func(d Dir) {
		d.Content()
		f(d)
	}
}

// Killed makes what a run leaves that was killed while it built the folder site.
func (d Dir) Killed(number int, inside string) {
	d.t.Helper()
	at := ".pending-site-" + strconv.Itoa(number)
	d.Text(at+"/written-by-cardback", "A run of cardback makes a folder here. When no run is at work, this may be removed.\n")
	d.Text(at+"/"+inside, "half")
}

var (
	intoSite = []string{"build", "--content", "content", "--cache", "cache", "--out", "site"}
	letter   = "Dear Ada,\n"
)

// more is a command line and more words.
func more(args []string, words ...string) []string {
	return append(append([]string{}, args...), words...)
}

// publishing are output folders, caches and releases at the moment of publishing.
var publishing = []Case{
	// The output folder.
	{
		Name: "out-with-a-catalogue-of-anothers", Args: intoSite, Exit: 1,
		Make:  sited(func(d Dir) { d.Text("site/catalogue.json", "{}"); d.Text("site/letter.txt", "%s", letter) }),
		Says:  []string{`--out "site" holds what build did not write: "catalogue\.json", "letter\.txt"; nothing was written`},
		After: holds("site/letter.txt", letter),
	},
	{
		Name: "out-with-a-domain-file", Args: intoSite, Exit: 1,
		Make:  sited(func(d Dir) { d.Wrote(map[string]string{"index.html": "old"}); d.Text("site/CNAME", "range.example") }),
		Says:  []string{`holds what build did not write: "CNAME"`, `under keep: in site\.yaml`},
		After: holds("site/CNAME", "range.example"),
	},
	{
		Name: "out-with-a-repository", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) {
			d.Wrote(map[string]string{"index.html": "old"})
			d.Text("site/.git/HEAD", "ref: refs/heads/pages")
		}),
		Says:  []string{`holds what build did not write: "\.git/"`},
		After: holds("site/.git/HEAD", "ref: refs/heads/pages"),
	},
	{
		Name: "out-with-deploy-files-kept", Args: intoSite, Exit: 0,
		Make: sited(func(d Dir) {
			d.Text("content/site.yaml", "%s", site+"keep: [CNAME, .git]\n")
			d.Wrote(map[string]string{"index.html": "old"})
			d.Text("site/CNAME", "range.example")
			d.Text("site/.git/HEAD", "ref: refs/heads/pages")
		}),
		Says: []string{`^site: 1 release`},
		After: func(t *testing.T, d Dir) {
			holds("site/CNAME", "range.example")(t, d)
			holds("site/.git/HEAD", "ref: refs/heads/pages")(t, d)
			require.NotEqual(t, "old", d.Read("site/index.html"))
		},
	},
	{
		Name: "out-with-an-edited-page", Args: intoSite, Exit: 1,
		Make:  sited(func(d Dir) { d.Wrote(map[string]string{"index.html": "old"}); d.Text("site/index.html", "mine") }),
		Says:  []string{`has files that were changed since build wrote them: "index\.html"`},
		After: holds("site/index.html", "mine"),
	},
	{
		Name: "out-with-a-forged-list", Args: intoSite, Exit: 0,
		Make: sited(func(d Dir) {
			sum := sha256.Sum256([]byte(letter))
			d.Text("letter.txt", "%s", letter)
			d.Text("site/SHA256SUMS", "%s", outHead+hex.EncodeToString(sum[:])+" *../letter.txt\n"+hex.EncodeToString(sum[:])+" */letter.txt\n")
		}),
		Says:  []string{`^site: 1 release`},
		After: holds("letter.txt", letter),
	},
	{
		Name: "out-with-anothers-checksums", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) {
			sum := sha256.Sum256([]byte(letter))
			d.Text("site/letter.txt", "%s", letter)
			d.Text("site/SHA256SUMS", "%s", hex.EncodeToString(sum[:])+" *letter.txt\n")
		}),
		Says:  []string{`holds what build did not write: "SHA256SUMS", "letter\.txt"`},
		After: holds("site/letter.txt", letter),
	},
	{
		Name: "out-with-a-list-that-is-a-pipe", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) { d.Pipe("site/SHA256SUMS") }),
		Says: []string{`holds what build did not write: "SHA256SUMS"`},
	},
	{
		Name: "out-with-a-list-of-a-gigabyte", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) {
			d.Text("site/SHA256SUMS", "%s", outHead)
			d.Must(os.Truncate(d.At("site/SHA256SUMS"), 1<<30)) // sparse
		}),
		Says: []string{`holds what build did not write: "SHA256SUMS"`},
	},
	{
		Name: "out-with-a-pipe-in-it", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) { d.Wrote(map[string]string{"index.html": "old"}); d.Pipe("site/wait") }),
		Says: []string{`holds what build did not write: "wait"`},
	},
	{
		Name: "out-with-a-page-that-is-a-link-out", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) {
			d.Wrote(map[string]string{"index.html": letter})
			d.Text("letter.txt", "%s", letter)
			d.Remove("site/index.html")
			d.Link("site/index.html", "../letter.txt")
		}),
		Says:  []string{`changed since build wrote them: "index\.html"`},
		After: holds("letter.txt", letter),
	},
	{
		Name: "out-that-is-a-file", Args: intoSite, Exit: 1,
		Make:  sited(func(d Dir) { d.Text("site", "%s", letter) }),
		Says:  []string{`site is not a folder`},
		After: holds("site", letter),
	},
	{
		Name: "out-that-is-a-pipe", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) { d.Pipe("site") }),
		Says: []string{`site is not a folder`},
	},
	{
		Name: "out-that-is-a-link-to-the-content", Args: intoSite, Exit: 2,
		Make: sited(func(d Dir) { d.Link("site", "content") }),
		Says: []string{`--out "site" would replace`},
	},
	{
		Name: "out-of-names-that-paint", Args: intoSite, Exit: 1,
		Make:  sited(func(d Dir) { d.Text("site/\x1b]0;owned\x07.txt", "x") }),
		Says:  []string{`holds what build did not write`},
		Never: []string{"\x1b"},
	},
	{
		Name: "out-with-a-thousand-strange-files", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) {
			for i := range 1000 {
				d.Text(fmt.Sprintf("site/n%04d.txt", i), "x")
			}
		}),
		Says: []string{`"n0000\.txt", .* and 995 more; nothing was written`},
	},

	// What killed runs leave.
	{
		Name: "pending-of-killed-runs", Args: intoSite, Exit: 0,
		Make: sited(func(d Dir) {
			for i := range 20 {
				d.Killed(100+i, "new/index.html")
			}
		}),
		Says: []string{`^site: 1 release`},
		After: func(t *testing.T, d Dir) {
			entries, err := os.ReadDir(d.Path)
			require.NoError(t, err)
			for _, e := range entries {
				require.False(t, strings.HasPrefix(e.Name(), ".pending-"), e.Name())
			}
		},
	},
	{
		Name: "pending-of-somebody-else", Args: intoSite, Exit: 0,
		Make:  sited(func(d Dir) { d.Text(".pending-site-7/letter.txt", "%s", letter) }),
		Says:  []string{`^site: 1 release`},
		After: holds(".pending-site-7/letter.txt", letter),
	},
	{
		Name: "pending-with-somebodys-letter", Args: intoSite, Exit: 0,
		Make:  sited(func(d Dir) { d.Killed(8, "whole/letter.txt") }),
		Says:  []string{`\.pending-site-8/whole holds files that are not of the site`},
		After: holds(".pending-site-8/whole/letter.txt", "half"),
	},
	{
		Name: "pending-that-is-a-link", Args: intoSite, Exit: 0,
		Make: sited(func(d Dir) {
			d.Text("elsewhere/written-by-cardback", "")
			d.Text("elsewhere/new/letter.txt", "%s", letter)
			d.Link(".pending-site-9", "elsewhere")
		}),
		Says:  []string{`^site: 1 release`},
		After: holds("elsewhere/new/letter.txt", letter),
	},

	// Names to keep.
	{
		Name: "keep-that-leads-out", Args: intoSite, Exit: 1,
		Make:  sited(func(d Dir) { d.Text("content/site.yaml", "%s", site+"keep: [../letter.txt, .., /etc]\n") }),
		Says:  []string{`content/site\.yaml:5:\d+: keep names "\.\./letter\.txt"; expected the name of a file or folder directly in the site`, `keep names "\.\."`, `keep names "/etc"`},
		After: absent("site"),
	},
	{
		Name: "keep-of-what-build-writes", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) { d.Text("content/site.yaml", "%s", site+"keep: [index.html, Releases, SHA256SUMS]\n") }),
		Says: []string{`keep names "index\.html", which build writes itself`, `keep names "Releases"`, `keep names "SHA256SUMS"`},
	},
	{
		Name: "keep-of-a-thousand-names", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) {
			text := site + "keep:\n"
			for i := range 1000 {
				text += fmt.Sprintf("  - n%d\n", i)
			}
			d.Text("content/site.yaml", "%s", text)
		}),
		Says: []string{`keep has more than 20 names`},
	},
	{
		Name: "keep-of-a-pipe", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) {
			d.Text("content/site.yaml", "%s", site+"keep: [wait]\n")
			d.Wrote(map[string]string{"index.html": "old"})
			d.Pipe("site/wait")
		}),
		Says:  []string{`keep wait: .*is no regular file, folder or link`},
		After: holds("site/index.html", "old"),
	},

	// The cache.
	{
		Name: "cache-that-is-a-file", Args: intoSite, Exit: 0,
		Make:  sited(func(d Dir) { d.Text("cache", "%s", letter) }),
		Says:  []string{`--cache cache cannot be written: not a directory; what is measured now is not kept, and nothing else changes`},
		After: holds("cache", letter),
	},
	{
		Name: "cache-that-is-a-pipe", Args: intoSite, Exit: 0,
		Make: sited(func(d Dir) { d.Pipe("cache") }),
		Says: []string{`--cache cache cannot be written`, `^site: 1 release|\nsite: 1 release`},
	},
	{
		Name: "cache-with-files-for-folders", Args: intoSite, Exit: 0,
		Make: sited(func(d Dir) {
			for i := range 256 {
				d.Text(fmt.Sprintf("cache/%02x", i), "x")
			}
		}),
		Says: []string{`--cache cache cannot be written`, `site: 1 release`},
	},

	// Files that commands write.
	{
		Name: "compare-draws-over-a-mesh", Args: []string{"compare", "a.stl", "b.stl", "--svg", "b.stl"}, Exit: 2,
		Make:  func(d Dir) { d.Write("a.stl", STL(Cube(20))); d.Write("b.stl", STL(Cube(21))) },
		Says:  []string{`--svg "b\.stl" does not end in \.svg`},
		After: func(t *testing.T, d Dir) { require.Equal(t, string(STL(Cube(21))), d.Read("b.stl")) },
	},
	{
		Name: "compare-draws-over-its-input-by-a-link", Args: []string{"compare", "a.stl", "b.stl", "--svg", "new.svg"}, Exit: 2,
		Make: func(d Dir) {
			d.Write("a.stl", STL(Cube(20)))
			d.Write("b.stl", STL(Cube(21)))
			d.Link("new.svg", "b.stl")
		},
		Says:  []string{`--svg "new\.svg" would overwrite b\.stl, which is read`},
		After: func(t *testing.T, d Dir) { require.Equal(t, string(STL(Cube(21))), d.Read("b.stl")) },
	},
	{
		Name: "tilt-draws-over-anothers-drawing", Args: []string{"tilt", "a.stl", "--svg", "logo.svg"}, Exit: 2,
		Make:  func(d Dir) { d.Write("a.stl", STL(Cube(20))); d.Text("logo.svg", "<svg/>") },
		Says:  []string{`--svg "logo\.svg" is there and is no drawing that cardback wrote`},
		After: holds("logo.svg", "<svg/>"),
	},
	{
		Name: "tilt-draws-into-a-device", Args: []string{"tilt", "a.stl", "--svg", "null.svg"}, Exit: 2,
		Make: func(d Dir) { d.Write("a.stl", STL(Cube(20))); d.Link("null.svg", "/dev/null") },
		Says: []string{`--svg "null\.svg" is there and is no regular file`},
	},
	{
		Name: "tilt-draws-into-a-pipe", Args: []string{"tilt", "a.stl", "--svg", "wait.svg"}, Exit: 2,
		Make: func(d Dir) { d.Write("a.stl", STL(Cube(20))); d.Pipe("wait.svg") },
		Says: []string{`--svg "wait\.svg" is there and is no regular file`},
	},
	{
		Name: "plates-into-the-content", Args: []string{"plates", "1", "--plate", "small-resin", "--cache", "cache", "--out", peg}, Exit: 2,
		Make:  sited(func(Dir) {}),
		Says:  []string{`is inside the content folder`},
		After: absent(peg + "/plate-1.3mf"),
	},
	{
		Name: "plates-over-anothers-mesh", Args: []string{"plates", "1", "--plate", "small-resin", "--cache", "cache", "--out", "laid"}, Exit: 1,
		Make:  sited(func(d Dir) { d.Text("laid/plate-1.3mf", "%s", letter) }),
		Says:  []string{`plate-1\.3mf" is there and is no plate that cardback wrote`},
		After: holds("laid/plate-1.3mf", letter),
	},
	{
		Name: "start-through-a-link-out", Args: []string{"start", "moth", "--content", "content"}, Exit: 2,
		Make: func(d Dir) {
			d.Text("content/site.yaml", "%s", site)
			d.Must(os.Mkdir(d.At("elsewhere"), 0o755))
			d.Link("content/releases", "../elsewhere")
		},
		Says:  []string{`content/releases is a link that leads out of the content folder`},
		After: absent("elsewhere/01-moth"),
	},

	// What is published.
	{
		Name: "release-not-yet", Args: intoSite, Exit: 1,
		Make:  sited(func(d Dir) { d.Text(notes, "%s", strings.Replace(head+body, "2026-01-02", "  NOT  yet", 1)) }),
		Says:  []string{`there is nothing to publish: 1 Peg \(not yet\); --drafts builds drafts too`},
		After: absent("site"),
	},
	{
		Name: "release-of-a-far-day", Args: intoSite, Exit: 1,
		Make:  sited(func(d Dir) { d.Text(notes, "%s", strings.Replace(head+body, "2026-01-02", "9999-12-31", 1)) }),
		Says:  []string{`there is nothing to publish: 1 Peg \(9999-12-31\)`},
		After: absent("site"),
	},
	{
		Name: "release-under-a-licence-that-forbids-it", Args: more(intoSite, "--with-faults", "--drafts"), Exit: 1,
		Make: sited(func(d Dir) {
			d.Notes("credits:\n  - {work: The drawing, by: Somebody, licence: CC-BY-ND-4.0}\n", body)
		}),
		Says:  []string{`fault: The release is under CC-BY-SA-4\.0 and adapts`, `what a licence does not allow is never published; nothing was written`},
		After: absent("site"),
	},
	{
		Name: "release-of-a-cube-for-no-plate", Args: intoSite, Exit: 1,
		Make:  sited(func(d Dir) { d.Write(peg+"/any.stl", STL(Cube(700))) }),
		Says:  []string{`fault: It fits on no filament and resin plate of the bench, in any orientation`, `nothing was written\. Mend what is wrong`},
		After: absent("site"),
	},
	{
		Name: "release-with-an-unreadable-mesh", Args: intoSite, Exit: 1,
		Make:  sited(func(d Dir) { d.Text(peg+"/any.stl", "%s", letter) }),
		Says:  []string{`any\.stl: fault: `, `1 fault in 1 release; nothing was written`},
		After: absent("site"),
	},
	{
		Name: "site-of-placeholders", Args: intoSite, Exit: 1,
		Make: sited(func(d Dir) {
			d.Text("content/site.yaml", "title: My figures\ndesigner: The designer\naddress: https://figures.example/\nlicence: CC-BY-4.0\n")
			d.Text("content/pages/about.md", "---\ntitle: About\n---\nA placeholder. Write here who you are and what this range is.\n")
		}),
		Says:  []string{`address https://figures\.example/`, `title My figures`, `designer The designer`, `content/pages/about\.md: fault`, `4 faults in the site's own files; nothing was written`},
		After: absent("site"),
	},
}
