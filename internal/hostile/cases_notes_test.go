package hostile

import (
	"fmt"
	"os"
	"strings"
)

// Pipe puts a named pipe in place of whatever is there.
func (d Dir) Pipe(name string) {
	d.t.Helper()
	d.Remove(name)
	if err := pipe(d.At(name)); err != nil {
		d.Skip("no named pipes here: " + err.Error())
	}
}

// Link puts a link in place of whatever is there.
func (d Dir) Link(name, to string) {
	d.t.Helper()
	d.Remove(name)
	if err := os.Symlink(to, d.At(name)); err != nil {
		d.Skip("no links here: " + err.Error())
	}
}

// stopped is a case of a site that is spoilt and not built: nothing is written, and
// what is wrong is said.
func stopped(name string, spoil func(d Dir), says ...string) Case {
	return Case{
		Name: name,
		Make: func(d Dir) { d.Content(); spoil(d) },
		Args: []string{"build"},
		Exit: 1, Says: append(says, "nothing was written"), Never: []string{`[2-9]\d problems`},
	}
}

// told is a case of a site with a finding: proof says it.
func told(name string, exit int, spoil func(d Dir), says ...string) Case {
	return Case{
		Name: name,
		Make: func(d Dir) { d.Content(); spoil(d) },
		Args: []string{"proof"},
		Exit: exit, Says: says,
	}
}

// inNotes is a case of notes whose text stops a build.
func inNotes(name, text string, says ...string) Case {
	return stopped(name, func(d Dir) { d.Notes("", "\n"+text+"\n") }, says...)
}

// inFront is a case of front matter that stops a build.
func inFront(name, more string, says ...string) Case {
	return stopped(name, func(d Dir) { d.Notes(more, body) }, says...)
}

// inPart is a case of a part's table that stops a build.
func inPart(name, yaml string, says ...string) Case {
	return stopped(name, func(d Dir) { d.Text(peg+"/part.yaml", "%s", yaml) }, says...)
}

// many is f of 0, 1, 2 and so on, joined.
func many(n int, f func(i int) string) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(f(i))
	}
	return b.String()
}

var rep = strings.Repeat

// second puts another part beside the peg.
func (d Dir) second(yaml string, mesh []byte) {
	d.t.Helper()
	d.Write("content/releases/01-peg/parts/pin/any.stl", mesh)
	if yaml != "" {
		d.Text("content/releases/01-peg/parts/pin/part.yaml", "%s", yaml)
	}
}

const escapes = "a\x1b]0;x\x07\x1b[2Jb"

// notesAndFolders are notes, tables, names and folders.
var notesAndFolders = []Case{
	// Text that costs a parser more than its length.
	inNotes("notes-quote-marks", rep(">", 15_000), `release\.md:\d+:\d+: quotations and lists nest deeper than 32 levels`),
	inNotes("notes-quote-marks-100000", rep(">", 100_000), `release\.md:\d+:1: this line is longer than 20000 bytes`),
	inNotes("notes-list-markers", rep("- ", 9_000)+"a", `nest deeper than 32 levels`),
	inNotes("notes-list-markers-100000", rep("- ", 100_000)+"a", `longer than 20000 bytes`),
	inNotes("notes-mixed-markers", rep("> - 1. ", 2_000), `nest deeper than 32 levels`),
	inNotes("notes-lists-set-in", many(700, func(i int) string { return rep(" ", 2*i) + "- a\n" }), `set in by more than 200 columns`),
	inNotes("notes-open-links", rep("[a](", 50_000), `longer than 20000 bytes`),
	inNotes("notes-open-links-on-lines", rep("[a](\n", 50_000), `more square brackets`),
	inNotes("notes-open-links-in-paragraphs", rep(rep("[a](", 400)+"\n\n", 300), `more square brackets`),
	inNotes("notes-brackets", rep("[", 9_000)+rep("]", 9_000), `more square brackets`),
	inNotes("notes-images-in-images", rep("![", 3_000)+"a"+rep("](b)", 3_000), `more square brackets`),
	inNotes("notes-definitions-200000", many(200_000, func(i int) string { return "[a]:b\n" })[:1_000_000], `square brackets`),
	inNotes("notes-definitions-apart", many(5_000, func(i int) string { return fmt.Sprintf("[a%d]: /b\n\n", i) }), `more than 1000 definitions`),
	inNotes("notes-long-reference", "[a]: /"+rep("x", 15_000)+"\n\n"+rep("[a] [a] [a] [a]\n\n", 2_000), `addresses of all links would take more than 1024 KiB`),
	inNotes("notes-wide-table-50000", rep("|a", 50_000)+"|\n"+rep("|-", 50_000)+"|\n"+rep("|\n", 10_000), `longer than 20000 bytes`),
	inNotes("notes-wide-table", rep("|a", 3_000)+"|\n"+rep("|-", 3_000)+"|\n"+rep("|\n", 10_000), `more than 100 vertical bars`),
	inNotes("notes-long-table", rep("|a", 90)+"|\n"+rep("|-", 90)+"|\n"+rep("|\n", 100_000), `the table grows too large`),
	inNotes("notes-many-tables", rep(rep("|a", 90)+"|\n"+rep("|-", 90)+"|\n"+rep("|\n", 150)+"\n", 100), `the table grows too large`),
	inNotes("notes-emphasis", rep("*a **b\n", 5_000)+rep("x** x*\n", 5_000), `nests deeper than 100 levels`),
	inNotes("notes-sections", rep("## a\n\n", 5_000), `more than 300 sections`),
	inNotes("notes-no-empty-line", rep(rep("a", 100)+"\n", 5_000), `more than 128 KiB without an empty line`),
	inNotes("notes-too-large", rep("word ", 300_000), `larger than 1024 KiB`),
	inNotes("notes-control", "a\x00b", `control character`),
	inNotes("notes-not-utf8", "a\xffb", `not UTF-8`),

	// Requests elsewhere, and links that lead nowhere.
	inNotes("image-in-definition", "Term\n: ![a](c.png)", `image "c\.png" is not published`),
	inNotes("image-in-table", "| a | b |\n|---|---|\n| `|` ![a](c.png) | x |", `image "c\.png" is not published`),
	inNotes("link-javascript", "[a](java&#115;cript:alert(1))", `cannot stand on a page`),
	inNotes("link-backslashes", `[a](\\\\figures.example)`, `is relative`),
	inNotes("link-nowhere", "[a](/plates/none/)", `leads to no page of the site`),
	inNotes("link-relative", "[a](about.md)", `did you mean "/about/"\?`),
	inNotes("link-to-no-place", "[a](#prats)", `there is no place "#prats" on the page of "Peg"; did you mean "parts"\?`),
	inNotes("link-without-address", "[a]()", `the link has no address`),
	inNotes("link-of-another-section", "[a][b]\n\n## C\n\n[b]: about.md", `did you mean "/about/"\?`),
	inNotes("link-defined-twice", "[a]: /about/\n\n## C\n\n[a]: /plates/", `defined a second time`),
	inNotes("notes-html", "<script>a()</script>", `HTML is not shown on a page`),
	{
		Name: "link-elsewhere-hidden",
		Make: func(d Dir) {
			d.Content()
			d.Notes("", "\nTerm\n: ![a](//figures.example/x.png) [b](\\/\\/figures.example)\n")
		},
		Args: []string{"build", "--out", "out", "--cache", "cache"}, Exit: 0, Says: []string{`1 release`},
	},

	// Tables of fields.
	inFront("front-decimal-comma", "print: {filament: {layer: 0,2}}\n", `"layer" is 0,2: a comma ends a value inside braces; expected a decimal point, 0\.2`),
	inFront("front-layer-of-2-mm", "print: {filament: {layer: 2 mm}}\n", `layer 2 mm is thicker than any nozzle lays`),
	inFront("front-length-too-long", "height: 101 m\n", `longer than 100 m`),
	inFront("front-unit", "height: 3 parsecs\n", `unit "parsecs", which is not known; expected mm, cm, m, µm, in or ft`),
	inFront("front-deep", "tags: "+rep("[", 2_000)+"\n", `nest deeper than 32 levels`),
	inFront("front-long-line", "summary2: "+rep("a", 100_000)+"\n", `longer than 4096 bytes`),
	inFront("front-alias", "tags: &a [x]\ncautions: *a\n", `anchor`, `alias`),
	inFront("front-escapes", "\""+`\e[2J`+"\": 1\n", `is not known here`),
	stopped("notes-utf16", func(d Dir) { d.Write(notes, asUTF16(head+body)()) }, `release\.md: the file is UTF-16; save it as UTF-8`, `1 problem;`),
	stopped("part-utf16", func(d Dir) { d.Write(peg+"/part.yaml", asUTF16("quantity: 2\nname: Peg\n")()) }, `part\.yaml: the file is UTF-16; save it as UTF-8`, `1 problem;`),
	stopped("site-utf16", func(d Dir) { d.Write("content/site.yaml", asUTF16(site)()) }, `site\.yaml: the file is UTF-16; save it as UTF-8`, `1 problem;`),
	stopped("log-utf16", func(d Dir) {
		d.Write("content/releases/01-peg/prints.yaml", asUTF16("prints:\n  - date: 2026-01-02\n")())
	}, `prints\.yaml: the file is UTF-16; save it as UTF-8`, `1 problem;`),
	inPart("part-quantity-100000", "quantity: 100000\n", `part\.yaml:1:11: quantity 100000 is more than a figure has of one part; expected at most 1000`),
	inPart("part-quantity-with-twins", "quantity: 1000\nmirrored_twin: true\nname: A\ntakes: []\nonly: resin\nreplaces: peg\n", `replaces itself`),
	stopped("parts-too-many-pieces", func(d Dir) {
		d.Text(peg+"/part.yaml", "quantity: 1000\nmirrored_twin: true\n")
		d.second("quantity: 3\n", STL(Cube(5)))
	}, `part\.yaml:1:11: the release prints 2003 pieces, of which 2000 are of "peg"; expected at most 2000 in all`),
	stopped("parts-of-one-name", func(d Dir) { d.second("name: PEG\n", STL(Cube(5))) }, `name "PEG" is already that of the part in "peg"`),
	stopped("part-choice-of-a-piece", func(d Dir) { d.second("choice: a\nreplaces: peg\n", STL(Cube(5))) }, `is chosen with the whole`),
	stopped("part-only-beside-a-mesh", func(d Dir) {
		d.Text(peg+"/part.yaml", "only: resin\n")
		d.Write(peg+"/filament.stl", STL(Cube(5)))
	}, `nothing would print its mesh "filament\.stl"`),
	stopped("log-unknown-part", func(d Dir) {
		d.Text("content/releases/01-peg/prints.yaml", "prints:\n  - {date: 2026-01-02, parts: [pge], material: rigid-resin, outcome: good}\n")
	}, `part "pge" is neither a folder of this release nor among this entry's meshes`),
	stopped("bench-screw-without-length", func(d Dir) {
		d.Text("content/bench/hardware.yaml", "hardware:\n  - {id: s, name: S, kind: screw, diameter: 3}\n")
	}, `screw "s" has no length`),

	// What is stated and what was measured.
	told("stated-height", 1, func(d Dir) {
		d.Notes("height: 300\n", body)
		d.Write("content/releases/01-peg/pose.stl", STL(Cube(20)))
	}, `a height of 300 mm, and the\s+figure\s+in\s+pose\.stl\s+is\s+20\s+mm\s+tall`),
	told("same-mesh-twice", 0, func(d Dir) { d.second("", STL(Cube(20))) }, `is the very one of P`),
	told("log-part-that-nobody-knows", 0, func(d Dir) {
		d.Text("content/releases/01-peg/prints.yaml", "prints:\n  - {date: 2026-01-02, parts: [pge], material: rigid-resin, outcome: good, meshes: {pge/any: %s}}\n", rep("0", 64))
	}, `names the part "pge"`),

	// Files that are no files, folders that are none, and links.
	{Name: "content-is-a-pipe", Make: func(d Dir) { d.Pipe("content") }, Args: []string{"build"}, Exit: 1, Says: []string{`content: the content folder cannot be opened \(it is not a folder\)`}},
	{Name: "bench-of-a-pipe", Make: func(d Dir) { d.Pipe("content"); d.Write("a.stl", STL(Cube(5))) }, Args: []string{"measure", "a.stl", "--material", "rigid-resin"}, Exit: 2, Says: []string{`cannot be read as a folder: not a folder`}},
	{Name: "mesh-is-a-pipe", Make: func(d Dir) { d.Pipe("a.stl") }, Args: []string{"measure", "a.stl"}, Exit: 1, Says: []string{`a\.stl: not a regular file`}},
	{Name: "mesh-is-a-device", Make: func(d Dir) { d.Link("a.stl", "/dev/zero") }, Args: []string{"fit", "a.stl", "--plate", "10x10x10"}, Exit: 1, Says: []string{`a\.stl: not a regular file`}},
	{Name: "compare-pipes", Make: func(d Dir) { d.Pipe("a.stl"); d.Pipe("b.stl") }, Args: []string{"compare", "a.stl", "b.stl"}, Exit: 1, Says: []string{`a\.stl: not a regular file`, `b\.stl: not a regular file`}},
	stopped("pages-is-a-pipe", func(d Dir) { d.Pipe("content/pages") }, `pages: the folder of pages cannot be read \(it is not a folder\)`),
	stopped("releases-is-a-pipe", func(d Dir) { d.Pipe("content/releases") }, `releases: the folder of releases cannot be read \(it is not a folder\)`),
	stopped("parts-is-a-pipe", func(d Dir) { d.Pipe("content/releases/01-peg/parts") }, `parts: the folder of parts cannot be read \(it is not a folder\)`),
	stopped("notes-are-a-pipe", func(d Dir) { d.Pipe(notes) }, `release\.md: cannot be read \(it is not a regular file\)`),
	stopped("site-is-a-pipe", func(d Dir) { d.Pipe("content/site.yaml") }, `site\.yaml: cannot be read \(it is not a regular file\)`),
	stopped("page-is-a-pipe", func(d Dir) { d.Pipe("content/pages/about.md") }, `about\.md: cannot be read \(it is not a regular file\)`),
	stopped("part-table-is-a-pipe", func(d Dir) { d.Pipe(peg + "/part.yaml") }, `part\.yaml: cannot be read \(it is not a regular file\)`),
	stopped("cut-is-a-pipe", func(d Dir) { d.Pipe(peg + "/any.stl") }, `any\.stl: the mesh cannot be read \(it is not a regular file\)`),
	stopped("log-is-a-pipe", func(d Dir) { d.Pipe("content/releases/01-peg/prints.yaml") }, `prints\.yaml: cannot be read \(it is not a regular file\)`),
	stopped("history-is-a-pipe", func(d Dir) { d.Pipe("content/releases/01-peg/revisions.yaml") }, `revisions\.yaml: cannot be read \(it is not a regular file\)`),
	stopped("bench-table-is-a-pipe", func(d Dir) { d.Write("content/bench/x", nil); d.Pipe("content/bench/plates.yaml") }, `plates\.yaml: cannot be read \(not a regular file\)`),
	stopped("pose-is-a-pipe", func(d Dir) { d.Pipe("content/releases/01-peg/pose.stl") }, `pose\.stl: the mesh of the standing pose cannot be read`),
	stopped("pages-lead-out", func(d Dir) { d.Write("elsewhere/a.md", []byte(page)); d.Link("content/pages", "../elsewhere") }, `pages: the folder of pages cannot be read \(it leads out of the content folder\)`),
	stopped("pages-lead-nowhere", func(d Dir) { d.Link("content/pages", "nowhere") }, `pages: the folder of pages cannot be read`),
	stopped("cut-leads-out", func(d Dir) { d.Write("a.stl", STL(Cube(5))); d.Link(peg+"/any.stl", "../../../../../a.stl") }, `leads out of the content folder`),
	stopped("notes-loop", func(d Dir) { d.Link(notes, "release.md") }, `release\.md: cannot be read`),
	stopped("page-of-a-name-of-the-sites", func(d Dir) { d.Text("content/pages/how-measured.md", "%s", page) }, `page name "how-measured" is that of a page or folder that every site has`),

	// What editors and file managers leave.
	{
		Name: "left-behind",
		Make: func(d Dir) {
			d.Content()
			for _, folder := range []string{"content", "content/pages", "content/releases", "content/releases/01-peg", "content/releases/01-peg/parts", peg} {
				for _, name := range []string{"part.yaml~", "any.stl~", "release.md.bak", "#about.md#", ".DS_Store", "Thumbs.db", "desktop.ini", ".part.yaml.swp"} {
					d.Write(folder+"/"+name, []byte("\x00"))
				}
				d.Write(folder+"/__MACOSX/any.stl", nil)
			}
		},
		Args: []string{"build", "--out", "out", "--cache", "cache"}, Exit: 0, Says: []string{`1 release, 1 mesh file`},
	},

	// The terminal.
	stopped("escapes-in-a-part", func(d Dir) { d.Write("content/releases/01-peg/parts/"+escapes+"/any.stl", STL(Cube(5))) }, `part folder "a\\x1b`),
	stopped("escapes-in-a-page", func(d Dir) { d.Text("content/pages/"+escapes+".md", "%s", page) }, `pages/a\\u001b`),
	stopped("escapes-in-a-release", func(d Dir) { d.Text("content/releases/"+escapes+"/release.md", "%s", head) }, `releases/a\\u001b`),
	stopped("escapes-in-notes", func(d Dir) { d.Text("content/pages/about.md", "---\ntitle: \"\u202egpj\"\nx: \u009b2J\n---\n") }, `field`),
	{Name: "escapes-in-a-mesh-name", Make: func(d Dir) { d.Write(escapes+".stl", STL(Cube(5))) }, Args: []string{"measure", escapes + ".stl"}, Exit: 0, Says: []string{`^a\\u001b\]0;x`}},
	{Name: "escapes-in-a-text-mesh", Make: func(d Dir) { d.Text("a.stl", "%s", "solid x\nfacet "+escapes+"\n") }, Args: []string{"measure", "a.stl"}, Exit: 1, Says: []string{`a\.stl: neither STL nor 3MF`}},
	{Name: "escapes-as-a-command", Make: func(d Dir) {}, Args: []string{escapes}, Exit: 2, Says: []string{`there is no command "a\\x1b`}},
	{Name: "line-ends-in-a-mesh-name", Make: func(d Dir) { d.Write("a\nb.stl", []byte("x")) }, Args: []string{"measure", "a\nb.stl"}, Exit: 1, Says: []string{`a\\u000ab\.stl: `}},
}
