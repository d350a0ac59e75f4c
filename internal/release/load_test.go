package release

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fields"
)

const content = "../../testdata/content"

func TestAWholeSiteIsRead(t *testing.T) {
	s, err := Load(content)
	require.NoError(t, err)
	require.Equal(t, "The Test Bench", s.Title)
	require.Equal(t, "https://figures.example/range/", s.Address, "a slash is added")
	require.Equal(t, "en-GB", s.Language)
	require.Equal(t, "mm+in", s.UnitsShown)
	require.Equal(t, []Link{{"Write to us", "mailto:post@figures.example"}}, s.Links)
	require.Len(t, s.Pages, 1)
	require.Equal(t, []string{"about", "About", "A folder for tests."}, []string{s.Pages[0].Slug, s.Pages[0].Title, s.Pages[0].Text.Lead()})
	require.Len(t, s.Releases, 1)
	r := s.Releases[0]
	require.Equal(t, 1, r.Number)
	require.Equal(t, "harbour-gull", r.Slug)
	require.Equal(t, 63.5, r.Height)
	require.Equal(t, "1:18", r.Scale)
	require.Equal(t, time.Date(2026, 3, 14, 0, 0, 0, 0, time.UTC), r.Released)
	require.Equal(t, "CC-BY-SA-4.0", r.Licence)
	require.Equal(t, []Credit{{Work: "A wing study", By: "The Test Bench workshop", Licence: "CC-BY-3.0", URL: "https://figures.example/wing"}}, r.Credits)
	rod := s.Bench.Hardware[0]
	require.Equal(t, []HardwareUse{{rod, 2, 18, "shoulders"}, {s.Bench.Hardware[2], 1, 0, "beak"}}, r.Hardware)
	require.Equal(t, []PrintSettings{
		{Process: bench.Filament, Layer: 0.2, Supports: "none", Infill: "15 %"},
		{Process: bench.Resin, Layer: 0.05, Tilt: 35, Supports: "generated", Blend: "nine parts rigid to one part flexible"},
	}, r.Print)
	require.Equal(t, []string{"The beak is sharp."}, r.Cautions)
	require.Equal(t, []string{"bird", "harbour"}, r.Tags)
	require.Equal(t, []Photo{{"photos/side.png", "The gull seen from its left side, on its stand"}}, r.Photos)
	require.Equal(t, "releases/01-harbour-gull/release.md", r.SourceFile)
	require.True(t, filepath.IsAbs(r.Dir))

	var parts []string
	for _, p := range r.Parts {
		line := fmt.Sprintf("%s|%s|%d|%v|%s|", p.Slug, p.Name, p.Printed(), p.MirroredTwin, p.Choice)
		for _, c := range p.Cuts {
			require.FileExists(t, c.File)
			require.Equal(t, filepath.Join(s.Root, filepath.FromSlash(c.Rel)), c.File)
			line += " " + string(c.Kind)
		}
		parts = append(parts, line)
	}
	require.Equal(t, []string{
		"body|Body|1|false|| filament resin",
		"wing|Wing|2|true|| any",
		"beak-open|Open beak|1|false|beak| any",
		"beak-shut|Shut beak|1|false|beak| any",
		"stand|Stand|1|false|| any flexible",
	}, parts)
	wing := r.Parts[1]
	require.Equal(t, []HardwareUse{{rod, 1, 18, "shoulder"}}, wing.Takes)
	require.Equal(t, 45.0, wing.Tilt)
	require.Equal(t, "y", wing.TiltAbout)
}

// tree writes a small good content folder, changed by files: an empty text
// removes a file, a name ending in "/" makes a folder.
func tree(t testing.TB, files map[string]string) string {
	t.Helper()
	root := filepath.Join(t.TempDir(), "content")
	all := map[string]string{
		"site.yaml":            "title: T\ndesigner: D\naddress: https://figures.example/\nlicence: CC0-1.0\n",
		"bench/plates.yaml":    "plates: [{id: p, name: P, process: resin, width: 68, depth: 120, height: 155}]\n",
		"bench/materials.yaml": "materials: [{id: m, name: M, process: resin, stiffness: rigid, density: 1.17, wall_min: 0.8, pin_min: 1, hole_allowance: 0, source: x}]\n",
		"bench/hardware.yaml":  "hardware: [{id: rod-1.5, name: Rod, kind: rod, diameter: 1.5, stock_length: 250}, {id: glue, name: Glue, kind: adhesive}]\n",
		notesFile:              front(""),
		arm + "any.stl":        "mesh",
	}
	for name, text := range files {
		all[name] = text
	}
	for name, text := range all {
		path := filepath.Join(root, filepath.FromSlash(name))
		switch {
		case strings.HasSuffix(name, "/"):
			require.NoError(t, os.MkdirAll(path, 0o755))
		case text != "":
			require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
			require.NoError(t, os.WriteFile(path, []byte(text), 0o644))
		}
	}
	return root
}

const (
	notesFile = "releases/07-lamp/release.md"
	arm       = "releases/07-lamp/parts/upper-arm/"
	parts     = "releases/07-lamp/parts/"
)

// front is good front matter with further lines from line 7 on.
func front(more string) string {
	return "---\nnumber: 7\ntitle: Lamp\nheight: 100\nreleased: 2026-01-02\nsummary: S\n" + more + "---\nBody.\n"
}

func load(t testing.TB, files map[string]string) (*Site, string) {
	t.Helper()
	root := tree(t, files)
	s, err := Load(root)
	if err == nil {
		return s, ""
	}
	require.IsType(t, fields.Errors{}, err)
	return s, strings.ReplaceAll(err.Error(), filepath.ToSlash(root)+"/", "")
}

func TestTheLeastFolderIsComplete(t *testing.T) {
	s, problems := load(t, nil)
	require.Empty(t, problems)
	r := s.Releases[0]
	require.Equal(t, "CC0-1.0", r.Licence, "the site's, where the release names none")
	require.Equal(t, "Upper arm", r.Parts[0].Name)
	require.Equal(t, 1, r.Parts[0].Quantity)
	require.Equal(t, "mm", s.UnitsShown)
	require.Equal(t, DefaultPrintTolerance, s.PrintTolerance)
	for text, want := range map[string]float64{"0": 0, "0.02": 0.02, "0.1 mm": 0.1} {
		s, problems = load(t, map[string]string{"site.yaml": "title: T\ndesigner: D\naddress: https://figures.example/\nlicence: CC0-1.0\nprint_tolerance: " + text + "\n"})
		require.Empty(t, problems)
		require.Equal(t, want, s.PrintTolerance)
	}
	require.Equal(t, "en", s.Language)
}

func TestSlipsInTheContent(t *testing.T) {
	piece := func(text string) map[string]string {
		return map[string]string{arm + "part.yaml": text, parts + "hull/any.stl": "mesh"}
	}
	notesWith := func(more string) map[string]string { return map[string]string{notesFile: front(more)} }
	at := notesFile + ":"
	for _, c := range []struct {
		name  string
		files map[string]string
		want  []string
	}{
		{"hardware not on the bench", notesWith("hardware:\n  - item: rod-1.6\n"), []string{at + `8:11: hardware "rod-1.6" is not on the bench; did you mean "rod-1.5"?`}},
		{"hardware of a bench that could not be read", map[string]string{"bench/hardware.yaml": "hardware:\n  - id rod-1.5\n", notesFile: front("hardware: [{item: rod-1.5, length: 3}]\n")}, []string{
			`bench/hardware.yaml:2:5: this entry of "hardware" should be a table of fields, found "id rod-1.5"`,
			at + `7:28: field "length" is not known here; expected item, count, cut or where`}},
		{"hardware far from any", notesWith("hardware: [{item: zebra}]\n"), []string{at + `7:19: hardware "zebra" is not on the bench; expected rod-1.5 or glue`}},
		{"cut of what is not cut", notesWith("hardware: [{item: glue, cut: 3}]\n"), []string{at + `7:30: adhesive "glue" has a cut length, which only rod, wire and cord have; remove it`}},
		{"cut longer than the stock", notesWith("hardware: [{item: rod-1.5, cut: 10 in}]\n"), []string{at + `7:33: cut length 254 mm is longer than "rod-1.5" is sold (250 mm); expected at most 250 mm`}},
		{"number differs", map[string]string{notesFile: strings.Replace(front(""), "number: 7", "number: 8", 1)}, []string{at + `2:9: number 8 differs from the folder's, which is 7; change one of them`}},
		{"no size need be stated", map[string]string{notesFile: strings.Replace(front(""), "height: 100\n", "", 1)}, nil},
		{"tilt without an axis", piece("orientation: {tilt: 0}\n"), nil},
		{"a tilt that needs one", piece("orientation: {tilt: 30}\n"), []string{arm + `part.yaml:1:14: "about" is missing; add a line that begins with about:`}},
		{"too many of one", piece("quantity: 100000\n"), []string{arm + `part.yaml:1:11: quantity 100000 is more than a figure has of one part; expected at most 1000`}},
		{"too many in all", map[string]string{arm + "part.yaml": "quantity: 1000\nmirrored_twin: true\n", parts + "leg/any.stl": "m"}, []string{arm + `part.yaml:1:11: the release prints 2001 pieces, of which 2000 are of "upper-arm"; expected at most 2000 in all`}},
		{"a decimal comma", map[string]string{notesFile: front("print: {filament: {layer: 0,2}}\n")}, []string{at + `7:27: "layer" is 0,2: a comma ends a value inside braces; expected a decimal point, 0.2`}},
		{"notes in UTF-16", map[string]string{notesFile: "\xff\xfe-\x00-\x00-\x00\n\x00"}, []string{notesFile + `: the file is UTF-16; save it as UTF-8`}},
		{"two parts of one name", map[string]string{arm + "part.yaml": "name: Long  leg\n", parts + "leg/any.stl": "m", parts + "leg/part.yaml": "name: long leg\n", parts + "long-leg/any.stl": "m"}, []string{
			parts + `leg/part.yaml:1:7: name "long leg" is already that of the part in "long-leg"; give one of them another`,
			arm + `part.yaml:1:7: name "Long  leg" is already that of the part in "long-leg"; give one of them another`}},
		{"a choice of a piece", map[string]string{arm + "part.yaml": "choice: hat\nreplaces: leg\n", parts + "leg/any.stl": "m", parts + "leg/part.yaml": "choice: hat\n", parts + "cap/any.stl": "m", parts + "cap/part.yaml": "choice: hat\n"}, []string{
			arm + `part.yaml:1:9: part "upper-arm" is a piece of "leg", and is chosen with the whole; write the choice in the whole's part.yaml and remove it here`}},
		{"a mesh that nothing prints", map[string]string{arm + "part.yaml": "only: resin\n", arm + "filament.stl": "m"}, []string{
			arm + `part.yaml:1:7: part "upper-arm" is only for resin, and nothing would print its mesh "filament.stl"; remove the line or the mesh`}},
		{"layers that no printer makes", map[string]string{notesFile: front("print: {filament: {layer: 2}, resin: {layer: 0.5}}\n")}, []string{
			at + `7:27: layer 2 mm is thicker than any nozzle lays; expected one such as 0.2 mm`,
			at + `7:46: layer 0.5 mm is thicker than resin cures in one exposure; expected one such as 0.05 mm`}},
		{"layers too thin", map[string]string{notesFile: front("print: {filament: {layer: 1 µm}}\n")}, []string{at + `7:27: layer 0.001 mm is thinner than any printer lays; expected one such as 0.05 mm`}},
		{"a size that may stand where reading failed", map[string]string{notesFile: strings.Replace(front(""), "height: 100\n", "height 100\n", 1)}, []string{at + `4:1: cannot be read as YAML: there is no colon and space after the field's name; expected lines such as name: value`}},
		{"scale", notesWith("scale: 1/18\n"), []string{at + `7:8: scale "1/18" is not a ratio of one to a number; expected one such as "1:18"`}},
		{"licence, near", notesWith("licence: CC-BY-SA-4\n"), []string{at + `7:10: licence "CC-BY-SA-4" is not an SPDX id known here; did you mean "CC-BY-SA-4.0"?`}},
		{"licence for credits only", notesWith("licence: MIT\n"), []string{at + `7:10: licence "MIT" may stand in a credit but not on a release; expected CC0-1.0, CC-BY-4.0, CC-BY-SA-4.0, CC-BY-NC-4.0, CC-BY-NC-SA-4.0, CC-BY-ND-4.0 or CC-BY-NC-ND-4.0`}},
		{"credit", notesWith("credits:\n  - work: W\n    licence: CC-BY-5.0\n    url: javascript:alert(1)\n"), []string{
			at + `8:5: "by" is missing; add a line that begins with by:`,
			at + `9:14: licence "CC-BY-5.0" is not an SPDX id known here; did you mean "CC-BY-4.0"?`,
			at + `10:10: url "javascript:alert(1)" is not an address; expected one that begins with https://, http:// or mailto:`}},
		{"settings of the other process", notesWith("print:\n  resin: {infill: 15 %, layer: 50}\n"), []string{
			at + `8:11: field "infill" is not known here; expected layer, tilt, supports, remark or blend`,
			at + `8:32: layer 50 mm is thicker than resin cures in one exposure; expected one such as 0.05 mm`}},
		{"unknown process", notesWith("print: {resn: {}}\n"), []string{at + `7:9: field "resn" is not known here; did you mean "resin"?`}},
		{"tags", notesWith("tags: [a, b, a]\n"), []string{at + `7:14: tag "a" is given twice; remove one`}},
		{"order of parts", notesWith("parts:\n  - uper-arm\n  - upper-arm\n  - upper-arm\n"), []string{
			at + `8:5: part "uper-arm" is not a folder of this release; did you mean "upper-arm"?`,
			at + `10:5: part "upper-arm" is listed twice; the first is on line 9, remove one`}},
		{"photos", map[string]string{"secret.png": "x", "releases/07-lamp/photos/a.gif": "x", notesFile: front("photos:\n  - {file: ../../secret.png, alt: a}\n  - {file: /etc/passwd, alt: a}\n  - {file: photos/a.gif, alt: a}\n  - {file: photos/b.jpg, alt: a}\n  - {file: photos/b.jpg}\n")}, []string{
			at + `8:12: photo "../../secret.png" is not a path inside the release's folder; expected one such as photos/front.jpg`,
			at + `9:12: photo "/etc/passwd" is not a path inside the release's folder; expected one such as photos/front.jpg`,
			at + `10:12: photo "photos/a.gif" is neither JPEG nor PNG by its name; expected one such as photos/front.jpg`,
			at + `11:12: photo "photos/b.jpg" cannot be read (no such file); expected a file inside the release's folder`,
			at + `12:5: "alt" is missing; add a line that begins with alt:`,
			at + `12:12: photo "photos/b.jpg" cannot be read (no such file); expected a file inside the release's folder`}},
		{"mesh names", map[string]string{arm + "any.stl": "", arm + "arm.stl": "mesh"}, []string{arm + `arm.stl: mesh name "arm.stl" is not one of a part's; expected any, filament, resin or flexible, ending in .stl or .3mf`}},
		{"two meshes of a kind", map[string]string{arm + "any.3MF": "mesh"}, []string{arm + `any.stl: this is a second any mesh of the part beside "any.3MF"; keep one of them`}},
		{"no mesh", map[string]string{parts + "leg/part.yaml": "quantity: 2\n"}, []string{parts + `leg: part "leg" has no mesh; expected a file named any, filament, resin or flexible, ending in .stl or .3mf`}},
		{"loose mesh", map[string]string{parts + "Leg.STL": "mesh"}, []string{parts + `Leg.STL: this mesh stands outside a part folder; move it to parts/leg/any.stl`}},
		{"part.yml", map[string]string{arm + "part.yml": "quantity: 2\n"}, []string{arm + `part.yml: file "part.yml" is not read; did you mean "part.yaml"?`}},
		{"part folder name", map[string]string{parts + "Upper_Leg/any.stl": "mesh"}, []string{parts + `Upper_Leg: part folder "Upper_Leg" has other characters than a to z, 0 to 9 and hyphen; rename it, for example upper-arm`}},
		{"no parts", map[string]string{arm + "any.stl": "", parts: ""}, []string{"releases/07-lamp/parts: there are no parts; expected at least one folder with a mesh, such as parts/upper-arm/any.stl"}},
		{"no folder of parts", map[string]string{arm + "any.stl": ""}, []string{"releases/07-lamp/parts: the folder of parts cannot be read (no such file); expected parts/SLUG/any.stl"}},
		{"replaces a stranger", piece("replaces: hul\n"), []string{arm + `part.yaml:1:11: part "hul" to replace is not a folder of this release; did you mean "hull"?`}},
		{"replaces itself", piece("replaces: upper-arm\n"), []string{arm + `part.yaml:1:11: part "upper-arm" replaces itself; expected the slug of the whole part`}},
		{"replaces a piece", map[string]string{arm + "part.yaml": "replaces: fore\n", parts + "hull/any.stl": "mesh", parts + "fore/any.stl": "mesh", parts + "fore/part.yaml": "replaces: hull\n"}, []string{
			arm + `part.yaml:1:11: part "fore" is itself a piece of "hull"; expected the slug of a whole part`}},
		{"accept of nothing known", piece("accept:\n  - {finding: thin-wal, mesh: 0123456789abcdef, why: A fin.}\n"), []string{arm + `part.yaml:2:15: finding "thin-wal" is not one about a mesh; did you mean "thin-wall"?`}},
		{"accept of a release's finding", piece("accept:\n  - {finding: rod-too-long, mesh: 0123456789abcdef, why: It is cut.}\n"), []string{arm + "part.yaml:2:15: finding \"rod-too-long\" is not one about a mesh; `cardback proof --accept` shows what can be accepted"}},
		{"accept of a fault", piece("accept:\n  - {finding: open-edges, mesh: 0123456789abcdef, why: It prints.}\n"), []string{arm + `part.yaml:2:15: finding "open-edges" is a fault, which stands in the way of sealing and cannot be accepted; mend the mesh`}},
		{"accept of resin that stays", piece("accept:\n  - {finding: trapped, mesh: 0123456789abcdef, why: It is small.}\n"), []string{arm + `part.yaml:2:15: finding "trapped" warns of what stays in the part and harms whoever opens it, and cannot be accepted; open a drain hole`}},
		{"accept without its mesh or reason", piece("accept:\n  - {finding: thin-wall}\n  - {finding: thin-pin, mesh: 0123456789abcdef, why: \"\"}\n"), []string{
			arm + `part.yaml:2:5: "mesh" is missing; add a line that begins with mesh:`,
			arm + `part.yaml:2:5: "why" is missing; add a line that begins with why:`,
			arm + `part.yaml:3:54: "why" is empty; expected text`}},
		{"accept of no mesh", piece("accept:\n  - {finding: thin-wall, mesh: any.stl, why: A fin.}\n  - {finding: thin-pin, mesh: 0123456, why: A fin.}\n"), []string{
			arm + "part.yaml:2:32: \"any.stl\" is not a mesh's fingerprint; expected its first 8 digits and more, 0 to 9 and a to f, as `cardback proof --accept` shows them",
			arm + "part.yaml:3:31: \"0123456\" is not a mesh's fingerprint; expected its first 8 digits and more, 0 to 9 and a to f, as `cardback proof --accept` shows them"}},
		{"accepted twice", piece("accept:\n  - {finding: thin-wall, mesh: 0123456789abcdef, why: A fin.}\n  - {finding: thin-wall, mesh: 01234567, why: A rib.}\n"), []string{arm + `part.yaml:3:15: finding "thin-wall" of this mesh is accepted twice; the first is on line 2, remove one`}},
		{"accept with another field", piece("accept:\n  - {finding: thin-wall, mesh: 0123456789abcdef, reason: A fin.}\n"), []string{
			arm + `part.yaml:2:5: "why" is missing; add a line that begins with why:`,
			arm + `part.yaml:2:50: field "reason" is not known here; expected finding, mesh or why`}},
		{"choice of one", piece("choice: hat\n"), []string{arm + `part.yaml:1:9: choice "hat" has only this part; give another part the same choice, or remove this line`}},
		{"only, without its mesh", map[string]string{arm + "any.stl": "", arm + "filament.stl": "mesh", arm + "part.yaml": "only: resin\n"}, []string{arm + `part.yaml:1:7: part "upper-arm" is only for resin but has no mesh for it; expected resin or any`}},
		{"snaps of a cut that is not there", piece("snaps: [resin]\n"), []string{arm + `part.yaml:1:9: cut "resin" is not a mesh of this part; expected any`}},
		{"snaps, near and twice", map[string]string{arm + "any.stl": "", arm + "filament.stl": "mesh", arm + "part.yaml": "snaps:\n  - filamnt\n  - filament\n  - filament\n"}, []string{
			arm + `part.yaml:2:5: cut "filamnt" is not a mesh of this part; did you mean "filament"?`,
			arm + `part.yaml:4:5: cut "filament" is named twice; remove one`}},
		{"snaps and flexible of another kind", piece("snaps: filament\nflexible: soft\n"), []string{
			arm + `part.yaml:1:8: "snaps" should be a list of texts, found "filament"`,
			arm + `part.yaml:2:11: "flexible" should be true or false, found "soft"`}},
		{"part fields", piece("quantity: two\nmirrored: true\norientation: {tilt: 200}\ntakes: [{item: rod}]\n"), []string{
			arm + `part.yaml:1:11: "two" is not a count; expected a whole number, such as 2`,
			arm + `part.yaml:2:1: field "mirrored" is not known here; expected name, quantity, mirrored_twin, choice, only, replaces, takes, orientation, flexible, notes, accept or snaps`,
			arm + `part.yaml:3:14: "about" is missing; add a line that begins with about:`,
			arm + `part.yaml:3:21: "tilt" is 200; expected -180 to 180 degrees`,
			arm + `part.yaml:4:16: hardware "rod" is not on the bench; expected rod-1.5 or glue`}},
		{"folder names", map[string]string{"releases/lamp/x": "x", "releases/7-lamp/x": "x", "releases/00-nil/x": "x", "releases/stray.stl": "x", "releases/README.txt": "x"}, []string{
			`releases/00-nil: folder name "00-nil" is not a number, a hyphen and a slug of a to z, 0 to 9 and hyphens; expected one such as 07-lamplighter`,
			`releases/7-lamp: folder name "7-lamp" is not a number, a hyphen and a slug of a to z, 0 to 9 and hyphens; expected one such as 07-lamplighter`,
			`releases/lamp: folder name "lamp" is not a number, a hyphen and a slug of a to z, 0 to 9 and hyphens; expected one such as 07-lamplighter`,
			`releases/stray.stl: this file stands outside a release; expected it in a folder such as releases/07-lamplighter`}},
		{"duplicate number and slug", map[string]string{"releases/07-other/release.md": front(""), "releases/07-other/parts/a/any.stl": "m", "releases/08-lamp/release.md": strings.Replace(front(""), "number: 7", "number: 8", 1), "releases/08-lamp/parts/a/any.stl": "m"}, []string{
			`releases/07-other: number 7 is already that of "07-lamp"; give one of them another number`,
			`releases/08-lamp: slug "lamp" is already that of "07-lamp"; give one of them another slug`}},
		{"photos that are none", map[string]string{"releases/07-lamp/a.jpg": "GIF89a", "releases/07-lamp/b.png": "\x89PNG\r\n\x1a\n", notesFile: front("photos:\n  - {file: a.jpg, alt: a}\n  - {file: b.png, alt: b}\n")}, []string{
			at + `8:12: photo "a.jpg" cannot be shown: it is a GIF; save it anew as JPEG or PNG`,
			at + `9:12: photo "b.png" cannot be shown: it is cut short; copy it again`}},
		{"a model beside its mesh", map[string]string{arm + "any.blend": "x", arm + "readme.txt": "x"}, nil},
		{"no mesh by its name", map[string]string{arm + "resin.obj": "x", arm + "Filament": "x", parts + "leg/any.stl.txt": "x"}, []string{
			parts + `leg/any.stl.txt: file "any.stl.txt" is not read as a mesh; expected any.stl or any.3mf`,
			arm + `Filament: file "Filament" is not read as a mesh; expected filament.stl or filament.3mf`,
			arm + `resin.obj: file "resin.obj" is not read as a mesh; expected resin.stl or resin.3mf`}},
		{"two standing poses", map[string]string{"releases/07-lamp/pose.stl": "x", "releases/07-lamp/Pose.3mf": "x"}, []string{`releases/07-lamp/pose.stl: this is a second mesh of the standing pose beside "Pose.3mf"; keep one of them`}},
		{"a pose that is a folder", map[string]string{"releases/07-lamp/pose.stl/a": "x"}, []string{`releases/07-lamp/pose.stl: the mesh of the standing pose cannot be read (it is not a regular file); expected a file inside the content folder`}},
		{"a mesh beside the notes", map[string]string{"releases/07-lamp/any.STL": "x"}, []string{`releases/07-lamp/any.STL: this mesh stands outside a part folder; move it to one, such as parts/upper-arm/any.stl`}},
		{"pages that none would see", map[string]string{"pages/About.MD": "x", "pages/more/a.md": "x", "pages/plates.md": "---\ntitle: P\n---\n"}, []string{
			`pages/About.MD: this page is not read; expected a name that ends in .md, such as about.md`,
			`pages/more: this folder is not read; expected pages in pages itself, such as pages/about.md`,
			`pages/plates.md: page name "plates" is that of a page or folder that every site has; rename it, for example more-plates.md`}},
		{"said in vain", map[string]string{notesFile: front("") + "\n<!-- mind -->\n\nÄ <b>x</b> <!-- y --> [a *b*](javascript:alert(1)) ![c](c.jpg) ![d](https://d.example/d.png) <data:x>\n\n  <p>\nlost\n</p>\n\n`<i>` [e](/plates/) [f](mailto:f@g.example)\n"}, []string{
			at + `12:3: HTML is not shown on a page; write it in Markdown, or put it between backticks to show it as it is`,
			at + `12:23: the address "javascript:alert(1)" cannot stand on a page; expected one that begins with https://, http://, mailto: or /`,
			at + `12:52: image "c.jpg" is not published; a release's own pictures go in the field photos`,
			at + `12:94: the address "data:x" cannot stand on a page; expected one that begins with https://, http://, mailto: or /`,
			at + `14:3: HTML is not shown on a page; write it in Markdown, or put it between backticks to show it as it is`}},
		{"other names for the files", map[string]string{notesFile: "", "releases/07-lamp/Release.md": "x", "site.yaml": "", "site.yml": "x", "bench/plates.yaml": "", "bench/plates.yml": "x"}, []string{
			`bench/plates.yaml: cannot be read (no such file, but there is "plates.yml"); expected a file with a list of plates`,
			notesFile + `: cannot be read (no such file, but there is "Release.md"); expected the release's notes, beginning with front matter`,
			`site.yaml: cannot be read (no such file, but there is "site.yml"); expected a file with title, designer, address and licence`}},
		{"no notes", map[string]string{notesFile: ""}, []string{notesFile + `: cannot be read (no such file); expected the release's notes, beginning with front matter`}},
		{"no site, no releases", map[string]string{"site.yaml": "", notesFile: "", arm + "any.stl": ""}, []string{
			`releases: the folder of releases cannot be read (no such file); expected releases/NN-slug/release.md`,
			`site.yaml: cannot be read (no such file); expected a file with title, designer, address and licence`}},
		{"an empty folder of releases", map[string]string{notesFile: "", arm + "any.stl": "", "releases/": ""}, []string{`releases: there are no releases; expected at least one folder such as releases/01-lamplighter`}},
		{"site's earlier field", map[string]string{"site.yaml": "title: T\ndesigner: D\nbase_url: https://figures.example/\nlicence: CC0-1.0\n"}, []string{
			`site.yaml:3:11: the field "base_url" is called address; write address: in its place`,
		}},
		{"site", map[string]string{"site.yaml": "title: T\ndesigner: D\naddress: figures.example\nlicence: none\nlanguage: klingonish-x\nunits_shown: inches\nlinks: [{label: L, url: //x}]\nprint_tolerance: 0.5 mm\n"}, []string{
			`site.yaml:3:10: address "figures.example" is not a site's address; expected one such as https://figures.example/`,
			`site.yaml:4:10: licence "none" is not an SPDX id known here; expected CC0-1.0, CC-BY-4.0, CC-BY-SA-4.0, CC-BY-NC-4.0, CC-BY-NC-SA-4.0, CC-BY-ND-4.0 or CC-BY-NC-ND-4.0`,
			`site.yaml:5:11: language "klingonish-x" is not a language tag; expected one such as en or pt-BR`,
			`site.yaml:6:14: units_shown "inches" is not known; expected mm or mm+in`,
			`site.yaml:7:25: url "//x" is not an address; expected one that begins with https://, http:// or mailto:`,
			`site.yaml:8:18: print_tolerance 0.5 mm is more than the 0.1 mm that a print shows; expected a length from 0 to 0.1 mm`}},
		{"pages", map[string]string{"pages/About us.md": "x", "pages/help.md": "x", "pages/picture.png": "x"}, []string{
			`pages/About us.md: page name "About us" has other characters than a to z, 0 to 9 and hyphen; rename it, for example about.md`,
			`pages/help.md:1:1: the file has no front matter; expected a first line of ---, then fields, then another line of ---`}},
		{"notes too large", map[string]string{notesFile: front("") + strings.Repeat("word ", 300_000)}, []string{notesFile + `: cannot be read (it is larger than 1024 KiB); expected the release's notes, beginning with front matter`}},
		{"a folder in place of a file", map[string]string{notesFile: "", notesFile + "/": ""}, []string{notesFile + `: cannot be read (it is not a regular file); expected the release's notes, beginning with front matter`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, problems := load(t, c.files)
			require.Equal(t, strings.Join(c.want, "\n"), problems)
		})
	}
}

func TestAllProblemsOfARunComeTogetherSortedWithTheGoodContent(t *testing.T) {
	s, problems := load(t, map[string]string{
		"bench/plates.yaml":            "plates: [{id: p}]\n",
		"site.yaml":                    "title: T\n",
		notesFile:                      front("hardware: [{item: rod-1.6}, {item: rod-1.5}]\n"),
		arm + "part.yaml":              "quantity: 0\n",
		"releases/08-moth/release.md":  strings.Replace(front(""), "number: 7", "number: eight", 1),
		"releases/08-moth/parts/w/x":   "",
		"releases/08-moth/parts/w/a.y": "x",
	})
	require.Equal(t, []string{
		"bench/plates.yaml", "bench/plates.yaml", "bench/plates.yaml", "bench/plates.yaml",
		arm + "part.yaml", notesFile, "releases/08-moth/parts/w", "releases/08-moth/release.md",
		"site.yaml", "site.yaml", "site.yaml",
	}, filesOf(problems))
	require.Len(t, s.Releases, 2)
	require.Equal(t, "T", s.Title)
	require.Len(t, s.Releases[0].Hardware, 1, "the good entry is kept")
	require.Len(t, s.Releases[0].Parts, 1)
	require.Equal(t, "Lamp", s.Releases[1].Title)
}

func filesOf(problems string) []string {
	var out []string
	for line := range strings.SplitSeq(problems, "\n") {
		file, _, _ := strings.Cut(line, ":")
		out = append(out, file)
	}
	return out
}

func TestAPanicCostsOneFile(t *testing.T) {
	l := &loader{shown: "content"}
	l.guarded("pages/a.md", func() { panic("index out of range") })
	require.EqualError(t, l.errs.Err(), "content/pages/a.md: cannot be read because the reader failed (index out of range); please report it with this file")
}

func TestNoContentFolder(t *testing.T) {
	s, err := Load(filepath.Join(t.TempDir(), "absent"))
	require.Nil(t, s)
	require.ErrorContains(t, err, "absent: the content folder cannot be opened (no such file); expected a folder with site.yaml, bench and releases")
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o644))
	_, err = Load(file)
	require.ErrorContains(t, err, "the content folder cannot be opened (it is not a folder)")
}

func TestLinksOutOfTheFolderAreRefused(t *testing.T) {
	outside := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(outside, "any.stl"), []byte("mesh"), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(outside, "secret.yaml"), []byte("title: secret\n"), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(outside, "p.png"), []byte("x"), 0o644))
	root := tree(t, map[string]string{
		parts + "leg/part.yaml": "quantity: 1\n", parts + "in/part.yaml": "quantity: 1\n",
		notesFile:   front("photos: [{file: p.png, alt: a}]\n"),
		"site.yaml": "",
	})
	link := func(target, name string) {
		t.Helper()
		if err := os.Symlink(target, filepath.Join(root, filepath.FromSlash(name))); err != nil {
			t.Skipf("no symbolic links here: %v", err)
		}
	}
	link(filepath.Join(outside, "any.stl"), parts+"leg/any.stl")
	link(outside, parts+"other")
	link("../../../../../../../"+filepath.Base(outside)+"/secret.yaml", "site.yaml")
	link(filepath.Join(outside, "p.png"), "releases/07-lamp/p.png")
	link("../upper-arm/any.stl", parts+"in/any.stl")
	link("nowhere", parts+"lost")
	s, err := Load(root)
	require.Error(t, err)
	require.Equal(t, strings.Join([]string{
		parts + "leg/any.stl: the mesh cannot be read (it is a link that leads out of the content folder); expected a file inside the content folder",
		parts + "lost: the link cannot be followed (it leads nowhere); expected files and folders inside the content folder",
		parts + "other: the link cannot be followed (it leads out of the content folder); expected files and folders inside the content folder",
		notesFile + `:7:17: photo "p.png" cannot be read (it is a link that leads out of the content folder); expected a file inside the release's folder`,
		"site.yaml: cannot be read (it is a link that leads out of the content folder); expected a file with title, designer, address and licence",
	}, "\n"), strings.ReplaceAll(err.Error(), filepath.ToSlash(root)+"/", ""))
	require.Empty(t, s.Title)
	var slugs []string
	for _, p := range s.Releases[0].Parts {
		slugs = append(slugs, p.Slug)
	}
	require.Equal(t, []string{"in", "upper-arm"}, slugs, "a link inside the folder is followed")
}

func TestUnreadableFileIsNamed(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("the superuser reads everything")
	}
	root := tree(t, nil)
	require.NoError(t, os.Chmod(filepath.Join(root, "site.yaml"), 0))
	_, err := Load(root)
	require.ErrorContains(t, err, "site.yaml: cannot be read (permission denied); expected")
}

func TestChartOrder(t *testing.T) {
	s, problems := load(t, map[string]string{
		notesFile:               front("parts: [wing, upper-arm]\n"),
		parts + "wing/any.stl":  "m",
		parts + "tail/any.stl":  "m",
		parts + "body/any.stl":  "m",
		parts + "body/.DS_X":    "m",
		parts + "body/notes.md": "m",
	})
	require.Empty(t, problems)
	var slugs []string
	for _, p := range s.Releases[0].Parts {
		slugs = append(slugs, p.Slug)
	}
	require.Equal(t, []string{"wing", "upper-arm", "body", "tail"}, slugs)
}

func TestReleasesComeByNumber(t *testing.T) {
	s, problems := load(t, map[string]string{
		"releases/100-moth/release.md":      strings.Replace(front(""), "number: 7", "number: 100", 1),
		"releases/100-moth/parts/a/any.3mf": "m",
		"releases/11-eel/release.md":        strings.Replace(front(""), "number: 7", "number: 11", 1),
		"releases/11-eel/parts/a/any.3mf":   "m",
	})
	require.Empty(t, problems)
	var got []int
	for _, r := range s.Releases {
		got = append(got, r.Number)
	}
	require.Equal(t, []int{7, 11, 100}, got)
}

func TestLicencesAreDistinctAndAddressed(t *testing.T) {
	seen := map[string]bool{}
	for _, l := range Licences() {
		require.False(t, seen[l.ID], l.ID)
		seen[l.ID] = true
		require.NotEmpty(t, l.Name)
		require.True(t, strings.HasPrefix(l.URL, "https://"), l.URL)
	}
	l, ok := FindLicence("CC-BY-NC-SA-4.0")
	require.True(t, ok)
	require.Equal(t, Licence{"CC-BY-NC-SA-4.0", "Creative Commons Attribution-NonCommercial-ShareAlike 4.0 International", "https://creativecommons.org/licenses/by-nc-sa/4.0/", true}, l)
}

func FuzzRelease(f *testing.F) {
	f.Add([]byte(front("hardware: [{item: rod-1.5, cut: 3}]\nphotos: [{file: ../x, alt: a}]\n")), []byte("choice: hat\nreplaces: x\n"))
	f.Add([]byte("---\nprint: {resin: {layer: 1}}\nparts: [upper-arm, x]\n---\n## A\n## B\nC\n---\n"), []byte("takes: [{item: glue}]\norientation: {tilt: 1, about: x}\n"))
	f.Add([]byte("no front matter"), []byte(":"))
	root := tree(f, map[string]string{arm + "part.yaml": "quantity: 1\n"})
	f.Fuzz(func(t *testing.T, release, part []byte) {
		if err := os.WriteFile(filepath.Join(root, filepath.FromSlash(notesFile)), release, 0o644); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(root, filepath.FromSlash(arm+"part.yaml")), part, 0o644); err != nil {
			t.Fatal(err)
		}
		s, err := Load(root)
		if s == nil || len(s.Releases) != 1 || len(s.Releases[0].Parts) != 1 {
			t.Fatalf("the part is lost: %v", err)
		}
		p := s.Releases[0].Parts[0]
		if p.Quantity < 1 || p.Replaces != "" || p.Choice != "" {
			t.Fatalf("an impossible part: %+v", p)
		}
	})
}

func BenchmarkLoad(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Load(content); err != nil {
			b.Fatal(err)
		}
	}
}

func TestSnapsAndFlexibleAreRead(t *testing.T) {
	s, problems := load(t, map[string]string{
		arm + "any.stl": "", arm + "filament.stl": "mesh", arm + "resin.stl": "mesh",
		arm + "part.yaml":       "snaps: [resin, filament]\n",
		parts + "fin/any.stl":   "mesh",
		parts + "fin/part.yaml": "flexible: true\n",
	})
	require.Empty(t, problems)
	r := s.Releases[0]
	require.Equal(t, []CutKind{CutFor(bench.Resin), CutFor(bench.Filament)}, r.Parts[1].Snaps)
	require.False(t, r.Parts[1].Flexible)
	require.True(t, r.Parts[0].Flexible)
	require.Empty(t, r.Parts[0].Snaps)
}
