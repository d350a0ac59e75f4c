package cli

import (
	"archive/zip"
	"bytes"
	"fmt"
	"html"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
	"cardback/internal/meshtest"
)

// A third process, as a designer would write it. Its figures are invented: none was
// measured.
const powderRow = `processes:
  - id: powder
    supports: none
    layer: 0.1
    layer_most: 0.2
    layer_bound: one pass of the roller
    pace: layer
    pace_from: 0.7
    pace_to: 1.5
    pace_why: how long a bed warms and cools is not counted
    waste: powder that is too old to use again
    left: loose powder
    left_harm: adds to its weight
    outlet: a hole to shake it out
    dust: sintered powder
    warning: "Powder that is still hot burns: let the cake cool before you break it. Fine powder harms lungs: wear a dust mask."
    cautions:
      - id: powder-dust
        about: Fine powder
        brief: "Powder: dust mask, eye protection, no draught."
        text: "Fine powder harms lungs and eyes, and a cloud of it can catch fire. Wear a dust mask and eye protection, and keep flames away. The maker's safety data sheet decides."
        steps: [powder, brush brushed blast blasted break unpack]
      - id: powder-heat
        about: Hot cake
        text: "The cake stays hot inside for hours. Let it cool before you break it."
`

const powderBench = `plates:
  - {id: powder-bed, name: Powder bed, process: powder, width: 160, depth: 160, height: 300, margin: 5, standard: true, layer_seconds: 30}
  - {id: small-bed, name: Small powder bed, process: powder, width: 50, depth: 50, height: 50}
`

const powderMaterials = `currency: EUR
materials:
  - {id: sintered-powder, name: Sintered powder, process: powder, stiffness: rigid, density: 0.95, wall_min: 0.7, pin_min: 0.8, hole_allowance: 0.2, waste: 50, price: 60, source: "invented for a test"}
  - {id: soft-powder, name: Soft powder, process: powder, stiffness: flexible, density: 1.0, wall_min: 1, pin_min: 1, hole_allowance: 0.3, softens: 75, source: "invented for a test"}
`

// powderNotes are of a release that powder alone prints.
const powderNotes = `---
number: 4
title: Dust Barge
height: 40
released: 2026-02-01
summary: A barge that is sintered.
licence: CC0-1.0
print:
  powder: {layer: 0.1, remark: Lay it level in the middle of the bed.}
hardware:
  - {item: brass-rod-1.5, count: 1, cut: 24, where: the mast's foot}
---

A barge.

## Assembly

1. Break the cake and brush the powder off.
2. Sand the deck.
`

// powderRelease writes the release into a content folder.
func powderRelease(t *testing.T, root string) {
	t.Helper()
	dir := filepath.Join(root, "releases", "04-dust-barge")
	put := func(name, text string) {
		file := filepath.Join(dir, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o755))
		require.NoError(t, os.WriteFile(file, []byte(text), 0o644))
	}
	putMesh := func(name string, m *mesh.Mesh) {
		var b bytes.Buffer
		require.NoError(t, mesh.WriteSTL(&b, m, ""))
		put("parts/"+name, b.String())
	}
	put("release.md", powderNotes)
	hollow := meshtest.Together(meshtest.Box(60, 30, 30), meshtest.InsideOut(meshtest.Moved(meshtest.Box(50, 20, 20), meshtest.Shift(5, 5, 5))))
	putMesh("hull/powder.stl", hollow)
	putMesh("deck/any.stl", meshtest.HoledBox(70, 40, 3, 5))
	put("parts/deck/part.yaml", "only: powder\n")
	putMesh("mast/powder.stl", meshtest.Box(2, 2, 38))
	put("parts/mast/part.yaml", "snaps: [powder]\nquantity: 2\n")
	putMesh("flag/powder.stl", meshtest.Box(20, 12, 0.5))
	putMesh("sail/flexible.stl", meshtest.Box(30, 20, 2))
	put("parts/sail/part.yaml", "only: powder\nflexible: true\n")
}

// cardback runs a command and returns all that it says.
func cardback(t *testing.T, args ...string) string {
	t.Helper()
	var out bytes.Buffer
	code := Run(t.Context(), args, &out, &out)
	return fmt.Sprintf("$ cardback %s\n%s(%d)\n", strings.Join(args, " "), out.String(), code)
}

// textOf is what a file says to people: a page without its marks, and the texts of an
// archive.
func textOf(t *testing.T, name string, data []byte) string {
	t.Helper()
	switch filepath.Ext(name) {
	case ".html", ".xml":
		s := string(data)
		for _, gone := range []string{`(?s)<svg.*?</svg>`, `(?s)<script[^>]*>.*?</script>`} {
			s = regexp.MustCompile(gone).ReplaceAllString(s, "")
		}
		s = regexp.MustCompile(`</(tr|p|li|h\d|div|dt|dd|summary|caption|option)>`).ReplaceAllString(s, "\n")
		s = html.UnescapeString(regexp.MustCompile(`<[^>]+>`).ReplaceAllString(s, " "))
		return regexp.MustCompile(`\n\s*\n+`).ReplaceAllString(s, "\n")
	case ".zip":
		z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
		require.NoError(t, err)
		all := ""
		for _, f := range z.File {
			all += f.Name + "\n"
			switch filepath.Ext(f.Name) {
			case ".txt", ".csv", ".html":
				r, err := f.Open()
				require.NoError(t, err)
				var b bytes.Buffer
				_, err = b.ReadFrom(r)
				require.NoError(t, err)
				all += textOf(t, f.Name, b.Bytes())
			}
		}
		return all
	case ".json", ".txt", ".csv":
		return string(data)
	}
	return ""
}

// siteTexts are the texts of all files of a site, by their paths.
func siteTexts(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	require.NoError(t, filepath.WalkDir(dir, func(file string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := os.ReadFile(file)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(dir, file)
		if text := textOf(t, file, data); text != "" {
			out[filepath.ToSlash(rel)] = text
		}
		return err
	}))
	return out
}

// foreign are words that are wrong of powder: of liquids and strands, of films and vats, of
// two processes where there are three.
var foreign = regexp.MustCompile(`(?i)\b(resins?|filaments?|(un)?cure[sd]?|curing|liquids?|millilit\w*|vats?|film|peel\w*|nozzle|spool|brims?|bridged|infill|blends?|rins\w*|wash\w*|both processes|either process|support(s|ed)?|metres|drain)\b`)

// ours is a line that may have such a word.
var ours = regexp.MustCompile(`wash your hands`)

func noForeignWord(t *testing.T, name, text string) {
	t.Helper()
	for line := range strings.Lines(text) {
		if line = strings.TrimRight(line, "\n"); !ours.MatchString(line) {
			require.False(t, foreign.MatchString(line), "%s: %q of powder: %s", name, foreign.FindString(line), line)
		}
	}
}

// powderContent is a content folder whose bench has the third process: of an own bench
// alone, or beside the tables that come with the program.
func powderContent(t *testing.T, from string, beside bool) string {
	t.Helper()
	root := filepath.Join(t.TempDir(), "content")
	site, err := os.ReadFile(filepath.Join("..", "..", "testdata", "content", "site.yaml"))
	require.NoError(t, err)
	if from != "" {
		require.NoError(t, os.CopyFS(root, os.DirFS(from)))
		hardware := filepath.Join(root, "bench", "hardware.yaml")
		own, err := os.ReadFile(hardware)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(hardware, append([]byte("defaults: true\n"), own...), 0o644))
	}
	require.NoError(t, os.MkdirAll(filepath.Join(root, "bench"), 0o755))
	head := ""
	if beside {
		head = "defaults: true\n"
	}
	for name, text := range map[string]string{
		"site.yaml": string(site), "bench/processes.yaml": powderRow, "bench/plates.yaml": head + powderBench, "bench/materials.yaml": head + powderMaterials,
	} {
		require.NoError(t, os.WriteFile(filepath.Join(root, filepath.FromSlash(name)), []byte(text), 0o644))
	}
	powderRelease(t, root)
	return root
}

func dumped(t *testing.T, name, said string, pages map[string]string) {
	t.Helper()
	if dump := os.Getenv("DUMP"); dump != "" { // to be read by a person
		for _, page := range slices.Sorted(maps.Keys(pages)) {
			said += "=== " + page + "\n" + pages[page]
		}
		require.NoError(t, os.WriteFile(filepath.Join(dump, name), []byte(said), 0o644))
	}
}

// All that the program says of a release that powder alone prints, on a bench of powder,
// has no word of another process, and what there is to say of powder is said.
func TestAThirdProcessIsARow(t *testing.T) {
	root, work := powderContent(t, "", false), t.TempDir()
	out := filepath.Join(work, "site")
	content := []string{"--content", root}
	folders := append(content, "--cache", filepath.Join(work, "cache"))
	said := ""
	run := func(want string, args ...string) {
		text := cardback(t, args...)
		require.Contains(t, strings.Join(strings.Fields(text), " "), want)
		said += text
	}
	with := func(more []string, args ...string) []string { return append(args, more...) }
	hull := filepath.Join(root, "releases", "04-dust-barge", "parts", "hull", "powder.stl")
	deck := filepath.Join(root, "releases", "04-dust-barge", "parts", "deck", "any.stl")
	run("in powder it stays full of loose powder", with(folders, "proof")...)
	run("revision A of Dust Barge", with(folders, "seal", "4", "--note", "First")...)
	run("recorded", with(content, "record", "4", "--material", "sintered-powder", "--parts", "hull,deck", "--plate", "powder-bed", "--layer", "0.1", "--outcome", "good", "--date", "2026-02-02")...)
	require.NoError(t, os.WriteFile(deck, stlOf(t, meshtest.HoledBox(70, 40, 4, 5)), 0o644))
	run("Dust Barge", with(folders, "compare", "4")...)
	run("5 mesh files", with(folders, "build", "--out", out, "--backlog")...)
	run("powder", with(folders, "plates", "4", "--plate", "powder-bed")...)
	run("powder", with(folders, "plates", "4", "--plate", "60x60x60", "--process", "powder")...)
	run("Open a hole to shake it out", with(folders, "backlog")...)
	run("32.3 g, solid throughout", with(content, "measure", hull, "--material", "sintered-powder")...)
	run(`"stock_g": 32.3`, with(content, "measure", hull, "--material", "sintered-powder", "--json")...)
	run("dust-skiff", with(content, "start", "dust-skiff", "--number", "5")...)
	run("as supplied", with(content, "fit", hull, "--plate", "powder-bed")...)
	noForeignWord(t, "commands", said)
	listed := cardback(t, with(content, "bench")...)
	require.Regexp(t, `(?m)^  powder +mass +0\.1 +0\.2$`, listed)

	pages := siteTexts(t, out)
	dumped(t, "powder.txt", said+listed, pages)
	for name, text := range pages {
		switch {
		case strings.HasPrefix(name, "hardware/"), name == "how-measured/index.html", name == "data/index.html", name == "about/index.html":
			continue // of no process, or of all
		case strings.HasPrefix(name, "downloads/"):
			text, _, _ = strings.Cut(text, "Legal Code") // the licence's own words
		}
		noForeignWord(t, name, text)
	}
	page := pages["releases/04-dust-barge/index.html"]
	for _, want := range []string{
		"Powder, g", "Parts are solid throughout.", "50 % more is used up: powder that is too old to use again.", "grams of powder",
		"Fine powder harms lungs and eyes", "The cake stays hot inside for hours.", "Powder: dust mask, eye protection, no draught.",
		"sintered powder above all", "loose powder stays in it, and adds to its weight. Open a hole to shake it out.", "1 trapped",
		"The time may be from 0.7 to 1.5 times as much: how long a bed warms and cools is not counted.",
		"Of some stocks for powder it is not stated from what heat they soften.", "Everything for powder",
	} {
		require.Contains(t, page, want)
	}
	require.Contains(t, pages["how-measured/index.html"], "Powder is reckoned as solid throughout")
	require.NotContains(t, page, "snap joints", "no snap breaks in powder")
	archives := ""
	for name, text := range pages {
		if strings.HasSuffix(name, "-powder.zip") {
			archives += text
		}
	}
	require.Contains(t, strings.Join(strings.Fields(archives), " "), "Powder that is still hot burns: let the cake cool before you break it.")
}

func stlOf(t *testing.T, m *mesh.Mesh) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, mesh.WriteSTL(&b, m, ""))
	return b.Bytes()
}

// Beside the other processes, what speaks of powder has no word of theirs.
func TestAThirdProcessBesideTheOthers(t *testing.T) {
	root, work := powderContent(t, filepath.Join("..", "..", "testdata", "content"), true), t.TempDir()
	out := filepath.Join(work, "site")
	folders := []string{"--content", root, "--cache", filepath.Join(work, "cache")}
	said := cardback(t, append([]string{"proof"}, folders...)...) + cardback(t, append([]string{"build", "--out", out, "--with-faults"}, folders...)...) + cardback(t, append([]string{"backlog"}, folders...)...)
	require.DirExists(t, out, said)
	pages := siteTexts(t, out)
	dumped(t, "beside.txt", said, pages)
	heard := 0
	for name, text := range pages {
		for _, sentence := range regexp.MustCompile(`[.;:!?]\s|\n|","`).Split(text, -1) {
			if !strings.Contains(strings.ToLower(sentence), "powder") || strings.Contains(sentence, "cured resin and sintered powder above all") {
				continue
			}
			heard++
			also := regexp.MustCompile(`(?i)\b(filament|resin)s?\b`).ReplaceAllString(sentence, "") // it may name them all
			require.False(t, foreign.MatchString(also), "%s: %q of powder: %s", name, foreign.FindString(also), sentence)
		}
	}
	require.Greater(t, heard, 50)
}

// A bench adds rows and changes none; a slip has its place.
func TestAProcessOfTheBenchIsChecked(t *testing.T) {
	for text, want := range map[string]string{
		"processes:\n  - {id: resin, cures: true}\n":                   `2:10: process "resin" comes with the program and stays as it is; give yours an id of its own`,
		"processes:\n  - {id: flexible}\n":                             `process "flexible" has the name of a kind of mesh; give it another id`,
		"processes:\n  - {id: powder, cures: true}\n":                  `powder is measured by mass, and only a liquid cures; expected measured: volume`,
		"processes:\n  - {id: powder, pace: layer}\n":                  `powder has a pace and not how far it may be off; expected pace_from, pace_to and pace_why too`,
		"processes:\n  - {id: powder, suports: none}\n":                `did you mean "supports"?`,
		"processes:\n  - {id: powder, left_harms: true}\n":             `nothing is said to stay in a hollow; expected left too`,
		"processes:\n  - {id: powder, layer: 0.1, layer_most: 0.05}\n": `the thickest layer, 0.05 mm, is thinner than the usual one, 0.1 mm`,
	} {
		root := powderContent(t, "", false)
		require.NoError(t, os.WriteFile(filepath.Join(root, "bench", "processes.yaml"), []byte(text), 0o644))
		require.Contains(t, strings.Join(strings.Fields(cardback(t, "bench", "--content", root)), " "), want)
	}
	root := powderContent(t, "", false)
	for file, text := range map[string]string{
		"bench/materials.yaml": "materials:\n  - {id: m, name: M, process: powdr, stiffness: rigid, density: 1, wall_min: 1, pin_min: 1, hole_allowance: 0, source: s}\n  - {id: n, name: N, process: powder, stiffness: rigid, density: 1, wall_min: 1, pin_min: 1, hole_allowance: 0, source: s, shrinkage: 7, blends: [{with: m, from: 1, to: 2, becomes: rigid}]}\n",
		"bench/plates.yaml":    "plates:\n  - {id: p, name: P, process: powder, width: 9, depth: 9, height: 9, vat_least: 40, flow: 4}\n",
	} {
		require.NoError(t, os.WriteFile(filepath.Join(root, filepath.FromSlash(file)), []byte(text), 0o644))
	}
	said := cardback(t, "bench", "--content", root)
	for _, want := range []string{
		`did you mean "powder"?`, `powder "n" has a shrinkage, which is for liquid resin; remove it`, `powder "n" has blends, which are for liquid resin; remove them`,
		`powder plate "p" has vat_least, which is for resin; remove it`, `powder plate "p" has a flow, which is for filament; remove it`,
	} {
		require.Contains(t, said, want)
	}
	require.NoError(t, os.WriteFile(filepath.Join(root, "bench", "plates.yaml"), []byte(powderBench), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(root, "bench", "materials.yaml"), []byte(powderMaterials), 0o644))
	require.Contains(t, cardback(t, "record", "4", "--content", root, "--blend", "sintered-powder=50,soft-powder=50", "--parts", "deck", "--outcome", "good"),
		`material "sintered-powder" is powder, which is not stirred into another; expected one material`)
	require.NoError(t, os.WriteFile(filepath.Join(root, "releases", "04-dust-barge", "parts", "deck", "poder.stl"), []byte("x"), 0o644))
	require.Contains(t, cardback(t, "proof", "--content", root, "--cache", filepath.Join(t.TempDir(), "cache")), "expected any, filament, powder, resin or flexible, ending in .stl or .3mf")
}
