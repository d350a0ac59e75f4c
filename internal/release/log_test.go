package release

import (
	"bytes"
	"image"
	"image/png"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/bench"
	"cardback/internal/fields"
)

const (
	prints = "releases/07-lamp/prints.yaml"
	someFP = "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff"
)

// logTree is the least folder with a bench of two processes, a photo, and the
// given print log.
func logTree(log string) map[string]string {
	var picture bytes.Buffer
	if err := png.Encode(&picture, image.NewGray(image.Rect(0, 0, 32, 24))); err != nil {
		panic(err)
	}
	material := func(id, name, proc, more string) string {
		return "  - {id: " + id + ", name: " + name + ", process: " + proc + ", stiffness: rigid, density: 1.2, wall_min: 0.8, pin_min: 1, hole_allowance: 0, source: x" + more + "}\n"
	}
	return map[string]string{
		"bench/materials.yaml": "materials:\n" + material("rigid-resin", "Rigid resin", "resin", "") + material("tough-resin", "Tough resin", "resin", "") +
			material("soft-resin", "Soft resin", "resin", "") + material("rigid-filament", "Rigid filament", "filament", ""),
		"bench/plates.yaml":               "plates: [{id: small-resin, name: S, process: resin, width: 68, depth: 120, height: 155}, {id: bed, name: B, process: filament, width: 200, depth: 200, height: 200}]\n",
		"releases/07-lamp/photos/arm.png": picture.String(),
		parts + "torso/resin.stl":         "mesh",
		prints:                            log,
	}
}

func TestAPrintLogIsRead(t *testing.T) {
	s, problems := load(t, logTree(`# What came off the plates.
prints:
  - date: 2025-10-02
    parts: [torso, upper-arm]
    material: rigid-resin
    plate: small-resin
    layer: 0.05
    tilt: 30
    about: x
    supports: light, inner faces
    outcome: good
    remark: What happened.
    photo: photos/arm.png
    meshes:
      torso/resin: `+someFP+`
      upper-arm/any: `+someFP[2:]+`00
  - {date: 2025-10-03, whole: true, blend: {rigid-resin: 80, tough-resin: 20 %}, outcome: failed, tilt: 0}
  - date: 2025-10-04 # renamed since
    parts: [body]
    material: rigid-filament
    outcome: usable
    meshes: {body/filament: `+someFP+`}
`))
	require.Empty(t, problems)
	log := s.Releases[0].Log
	resin, tough, filament := s.Bench.Materials[0], s.Bench.Materials[1], s.Bench.Materials[3]
	day := func(d int) time.Time { return time.Date(2025, 10, d, 0, 0, 0, 0, time.UTC) }
	require.Equal(t, []Print{
		{
			Date: day(2), Parts: []string{"torso", "upper-arm"}, Stock: []Share{{resin, 1}}, Plate: "small-resin", Layer: 0.05, Tilt: 30, TiltAbout: "x",
			Supports: "light, inner faces", Outcome: Good, Remark: "What happened.", Photo: "photos/arm.png", Line: 3,
			Meshes: []MeshUsed{{"torso", CutFor(bench.Resin), someFP}, {"upper-arm", CutAny, someFP[2:] + "00"}},
		},
		{Date: day(3), Whole: true, Stock: []Share{{resin, 0.8}, {tough, 0.2}}, Outcome: Failed, TiltAbout: "x", Line: 17},
		{Date: day(4), Parts: []string{"body"}, Stock: []Share{{filament, 1}}, Outcome: Usable, Line: 18, Meshes: []MeshUsed{{"body", CutFor(bench.Filament), someFP}}},
	}, log)
	require.Equal(t, "80 % rigid resin, 20 % tough resin", BlendText(log[1].Stock))
}

func TestALogMayBeEmptyOrAbsent(t *testing.T) {
	for _, text := range []string{"", "# nothing yet\n", "prints:\n", "prints: []\n"} {
		s, problems := load(t, logTree(text))
		require.Empty(t, problems, text)
		require.Empty(t, s.Releases[0].Log)
	}
}

func TestSlipsInThePrintLog(t *testing.T) {
	at := prints + ":"
	entry := func(more string) string { return "prints:\n  - date: 2025-10-02\n    outcome: good\n" + more }
	for _, c := range []struct {
		name, log string
		want      []string
	}{
		{"unknown fields", "print: []\n", []string{at + `1:1: field "print" is not known here; did you mean "prints"?`}},
		{"an unknown field of an entry", entry("    whole: true\n    material: rigid-resin\n    outcom: x\n"), []string{at + `6:5: field "outcom" is not known here; did you mean "outcome"?`}},
		{"no list", "prints: 3\n", []string{at + `1:9: "prints" should be a list of tables, each beginning with a dash, found 3`}},
		{"nothing in it", "prints:\n  - {}\n", []string{
			at + `2:5: "date" is missing; add a line that begins with date:`,
			at + `2:5: "material" is missing; add a line that begins with material:`,
			at + `2:5: "outcome" is missing; add a line that begins with outcome:`,
			at + `2:5: neither parts nor whole is given; add a line such as parts: [torso] or whole: true`}},
		{"date and outcome", "prints:\n  - {date: yesterday, whole: true, material: rigid-resin, outcome: god}\n", []string{
			at + `2:12: date "yesterday" is not a calendar date; expected year-month-day, such as 2026-03-14`,
			at + `2:68: outcome "god" is not known; did you mean "good"?`}},
		{"parts and whole", entry("    whole: true\n    parts: [torso]\n    material: rigid-resin\n"), []string{at + `4:12: both whole and parts are given; whole is all parts of the release, so remove one of them`}},
		{"no parts", entry("    parts: []\n    material: rigid-resin\n"), []string{at + `4:12: the list of parts is empty; expected part folders, as in [torso], or whole: true`}},
		{"not whole", entry("    whole: false\n    material: rigid-resin\n"), []string{at + `4:12: neither parts nor whole is given; add a line such as parts: [torso] or whole: true`}},
		{"whole is a word", entry("    whole: maybe\n    material: rigid-resin\n"), []string{at + `4:12: "whole" should be true or false, found "maybe"`}},
		{"unknown parts", entry("    parts: [torsoe, torso, torso, zebra]\n    material: rigid-resin\n"), []string{
			at + `4:13: part "torsoe" is neither a folder of this release nor among this entry's meshes; did you mean "torso"?`,
			at + `4:28: part "torso" is listed twice; remove one`,
			at + `4:35: part "zebra" is neither a folder of this release nor among this entry's meshes; expected torso or upper-arm`}},
		{"material", entry("    whole: true\n    material: rigid-rasin\n"), []string{at + `5:15: material "rigid-rasin" is not on the bench; did you mean "rigid-resin"?`}},
		{"material and blend", entry("    whole: true\n    material: rigid-resin\n    blend: {rigid-resin: 50, tough-resin: 50}\n"), []string{at + `6:12: both material and blend are given; remove one of them`}},
		{"shares", entry("    whole: true\n    blend: {rigid-resin: most, tough-resin: 0, soft-resin: 1/3}\n"), []string{
			at + `5:26: share "most" of "rigid-resin" is not a per cent above zero with at most six decimals; expected one such as 20 or 33.3`,
			at + `5:45: share "0" of "tough-resin" is not a per cent above zero with at most six decimals; expected one such as 20 or 33.3`,
			at + `5:60: share "1/3" of "soft-resin" is not a per cent above zero with at most six decimals; expected one such as 20 or 33.3`}},
		{"a negative share, a long one, an empty one", entry("    whole: true\n    blend: {rigid-resin: -5, tough-resin: 0.1234567, soft-resin: }\n"), []string{
			at + `5:26: share "-5" of "rigid-resin" is not a per cent above zero with at most six decimals; expected one such as 20 or 33.3`,
			at + `5:43: share "0.1234567" of "tough-resin" is not a per cent above zero with at most six decimals; expected one such as 20 or 33.3`,
			at + `5:54: "soft-resin" is empty; expected a value after the colon`}},
		{"shares that miss by a millionth", entry("    whole: true\n    blend: {rigid-resin: 33.333333, tough-resin: 33.333333, soft-resin: 33.333333}\n"), []string{at + `5:12: the shares add up to 99.999999 %; expected exactly 100`}},
		{"a blend of one", entry("    whole: true\n    blend: {rigid-resin: 100}\n"), []string{at + `5:12: a blend of one material is that material; expected two or more, such as {rigid-resin: 80, tough-resin: 20}`}},
		{"a blend of none", entry("    whole: true\n    blend: {}\n"), []string{at + `5:12: a blend of one material is that material; expected two or more, such as {rigid-resin: 80, tough-resin: 20}`}},
		{"a blend in words", entry("    whole: true\n    blend: mostly rigid\n"), []string{at + `5:12: "blend" should be a table of fields, found "mostly rigid"`}},
		{"a blend of two processes", entry("    whole: true\n    blend: {rigid-resin: 80, rigid-filament: 20}\n"), []string{at + `5:46: material "rigid-filament" is for filament and this blend for resin; expected materials of one process`}},
		{"a blend of a stranger", entry("    whole: true\n    blend: {rigid-resin: 80, tuff-resin: 20}\n"), []string{at + `5:42: material "tuff-resin" is not on the bench; did you mean "tough-resin"?`}},
		{"plates", entry("    whole: true\n    material: rigid-resin\n    plate: bed\n") + "  - {date: 2025-10-02, outcome: good, whole: true, material: rigid-resin, plate: smal-resin}\n", []string{
			at + `6:12: plate "bed" is for filament and the material is for resin; expected a plate for resin`,
			at + `7:82: plate "smal-resin" is not on the bench; did you mean "small-resin"?`}},
		{"layer and tilt", entry("    whole: true\n    material: rigid-resin\n    layer: 5\n    tilt: 200\n    about: z\n"), []string{
			at + `6:12: layer 5 mm is thicker than resin cures in one exposure; expected one such as 0.05 mm`,
			at + `7:11: "tilt" is 200; expected -180 to 180 degrees`,
			at + `8:12: about "z" is not known; expected x or y`}},
		{"tilt without axis", entry("    whole: true\n    material: rigid-resin\n    tilt: 30\n"), []string{at + `6:11: tilt 30 has no axis; add a line that says about: x or about: y`}},
		{"axis without tilt", entry("    whole: true\n    material: rigid-resin\n    about: x\n"), []string{at + `6:12: an axis without a tilt says nothing; add a line such as tilt: 30, or remove this one`}},
		{"texts", entry("    whole: true\n    material: rigid-resin\n    supports: [a]\n    remark: {a: b}\n"), []string{
			at + `6:15: "supports" should be text, found a list`,
			at + `7:13: "remark" should be text, found a table of fields`}},
		{"photos", entry("    whole: true\n    material: rigid-resin\n    photo: ../arm.png\n") +
			"  - {date: 2025-10-02, outcome: good, whole: true, material: rigid-resin, photo: photos/arm.gif}\n" +
			"  - {date: 2025-10-02, outcome: good, whole: true, material: rigid-resin, photo: photos/leg.png}\n" +
			"  - {date: 2025-10-02, outcome: good, whole: true, material: rigid-resin, photo: release.md.png}\n", []string{
			at + `6:12: photo "../arm.png" is not a path inside the release's folder; expected one such as photos/front.jpg`,
			at + `7:82: photo "photos/arm.gif" is neither JPEG nor PNG by its name; expected one such as photos/front.jpg`,
			at + `8:82: photo "photos/leg.png" cannot be read (no such file); expected a file inside the release's folder`,
			at + `9:82: photo "release.md.png" cannot be read (no such file); expected a file inside the release's folder`}},
		{"meshes", entry("    parts: [torso]\n    material: rigid-resin\n    meshes:\n      torso: x\n      torso/any: abc\n      torso/filament: " + someFP + "\n      head/any: " + someFP + "\n      torso/resin:\n"), []string{
			at + `7:7: "torso" is not a part and its cut; expected one such as torso/resin, with the cut any, filament, resin or flexible`,
			at + `7:7: mesh "head/any" is of a part that this entry does not list; add "head" to parts, or remove the mesh`,
			at + `8:18: fingerprint "abc" of "torso/any" is not 64 digits of 0 to 9 and a to f; run cardback record, which measures it`,
			at + `9:7: mesh "torso/filament" is the filament cut and the material is for resin; expected the cut resin, flexible or any`,
			at + `11:7: "torso/resin" is empty; expected a value after the colon`}},
		{"too long", "prints:\n" + strings.Repeat("#\n", 1<<19), []string{prints + `: cannot be read (it is larger than 1024 KiB); expected a list of prints`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, problems := load(t, logTree(c.log))
			require.Equal(t, strings.Join(c.want, "\n"), problems)
		})
	}
	t.Run("another name", func(t *testing.T) {
		files := logTree("")
		files["releases/07-lamp/Prints.yml"] = "x"
		_, problems := load(t, files)
		require.Equal(t, `releases/07-lamp/Prints.yml: file "Prints.yml" is not read; did you mean "prints.yaml"?`, problems)
	})
	t.Run("a bench that cannot be read proves nothing", func(t *testing.T) {
		files := logTree(entry("    whole: true\n    material: gone\n    plate: gone\n"))
		files["bench/materials.yaml"], files["bench/plates.yaml"] = "materials: 1\n", "plates: 1\n"
		_, problems := load(t, files)
		require.Contains(t, problems, "bench/materials.yaml")
		require.NotContains(t, problems, prints)
	})
}

func TestABlendOfThePrintSettingsIsWordsOrShares(t *testing.T) {
	files := logTree("")
	files[notesFile] = front("print: {resin: {blend: {rigid-resin: 87.5, tough-resin: 12.5}}}\n")
	s, problems := load(t, files)
	require.Empty(t, problems)
	p := s.Releases[0].Print[0]
	require.Equal(t, "87.5 % rigid resin, 12.5 % tough resin", p.Blend)
	require.Equal(t, []Share{{s.Bench.Materials[0], 0.875}, {s.Bench.Materials[1], 0.125}}, p.Shares)
	require.Equal(t, bench.Resin, p.Process)

	files[notesFile] = front("print: {resin: {blend: mostly rigid}}\n")
	s, problems = load(t, files)
	require.Empty(t, problems)
	require.Equal(t, "mostly rigid", s.Releases[0].Print[0].Blend)
	require.Empty(t, s.Releases[0].Print[0].Shares)

	for text, want := range map[string]string{
		"{rigid-resin: 80, tough-resin: 21}":    `7:24: the shares add up to 101 %; expected exactly 100`,
		"{rigid-filament: 80, tough-resin: 20}": `7:41: material "rigid-filament" is for filament and this blend for resin; expected materials of one process`,
		"[rigid-resin]":                         `7:24: "blend" should be text, found a list`,
	} {
		files[notesFile] = front("print: {resin: {blend: " + text + "}}\n")
		_, problems = load(t, files)
		require.Equal(t, notesFile+":"+want, problems)
	}
}

// Any split of 100 % into decimals is exact: the sum of whole millionths is the
// oracle, and what is written again is what was read.
func TestSharesAddUpExactly(t *testing.T) {
	for _, c := range []string{"33.3", "33.30", "33.300000", "33.3 %", "33.3%"} {
		units, ok := shareUnits(c)
		require.True(t, ok)
		require.Equal(t, 33_300_000, units, c)
	}
	rapid.Check(t, func(t *rapid.T) {
		rest, sum := wholeShare, 0.0
		for rest > 0 {
			units := rapid.IntRange(1, rest).Draw(t, "share")
			rest -= units
			s := Share{Share: float64(units) / wholeShare}
			again, ok := shareUnits(s.Percent())
			if !ok || again != units {
				t.Fatalf("%d millionths are written %q", units, s.Percent())
			}
			sum += s.Share
		}
		if math.Abs(sum-1) > 1e-12 { // a few dozen shares at most, each within 2⁻⁵³
			t.Fatalf("the shares add up to %v", sum)
		}
	})
}

func TestStiffnessOfABlend(t *testing.T) {
	rigid := bench.Material{ID: "rigid", Stiffness: bench.Rigid}
	soft := bench.Material{ID: "soft", Stiffness: bench.Flexible, Blends: []bench.Blend{{With: "rigid", Least: 0.3, Most: 0.6, Stiffness: bench.SemiRigid}}}
	for _, c := range []struct {
		rigid float64
		want  bench.Stiffness
	}{{0, bench.Flexible}, {0.29, bench.Flexible}, {0.3, bench.SemiRigid}, {0.6, bench.SemiRigid}, {0.61, bench.Rigid}, {1, bench.Rigid}} {
		stock := []Share{{rigid, c.rigid}, {soft, 1 - c.rigid}}
		switch c.rigid {
		case 0:
			stock = stock[1:]
		case 1:
			stock = stock[:1]
		}
		require.Equal(t, c.want, Stiffness(stock), c.rigid)
	}
	require.Empty(t, Stiffness(nil))
}

// A share at the limit of its rule is within it, whether it is written or what the other
// leaves: 1 − 0.781 is less than 0.219 by a rounding.
func TestAShareAtTheLimitOfItsRuleIsWithinIt(t *testing.T) {
	rigid := bench.Material{ID: "rigid", Stiffness: bench.Rigid, Blends: []bench.Blend{{With: "soft", Least: 0.219, Most: 0.219, Stiffness: bench.SemiRigid}}}
	soft := bench.Material{ID: "soft", Stiffness: bench.Flexible}
	left := 1.0
	left -= 0.781
	require.NotEqual(t, 0.219, left)
	for _, share := range []float64{0.219, left} {
		require.Equal(t, bench.SemiRigid, Stiffness([]Share{{rigid, 0.781}, {soft, share}}), share)
		require.Equal(t, bench.SemiRigid, Stiffness([]Share{{soft, share}, {rigid, 0.781}}), share)
	}
	require.Equal(t, bench.Rigid, Stiffness([]Share{{rigid, 0.78}, {soft, 0.22}}), "over the limit")
	require.Equal(t, bench.Rigid, Stiffness([]Share{{rigid, 0.79}, {soft, 0.21}}), "under it")
	require.Equal(t, bench.Rigid, Stiffness([]Share{{rigid, 1}, {soft, 0}}), "what there is nothing of is no blend")
}

func TestAPrintIsAppendedToWhatAPersonWrote(t *testing.T) {
	date := time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC)
	resin := bench.Material{ID: "rigid-resin", Process: bench.Resin}
	p := Print{Date: date, Whole: true, Stock: []Share{{resin, 1}}, Outcome: Good}
	const want = "- date: 2026-01-02\n  whole: true\n  material: rigid-resin\n  outcome: good\n"
	set := func(lead, eol string) string {
		return lead + strings.ReplaceAll(strings.TrimSuffix(want, "\n"), "\n", eol+lead) + eol
	}
	const entry = "date: 2025-01-01\n    whole: true\n    material: rigid-resin\n    outcome: failed\n"
	narrow := strings.ReplaceAll(entry, "    ", "  ")
	for _, c := range []struct{ name, in, out string }{
		{"nothing", "", "prints:\n" + set("  ", "\n")},
		{"comments", "# mine\n\n", "# mine\n\nprints:\n" + set("  ", "\n")},
		{"a comment without an end", "# mine", "# mine\nprints:\n" + set("  ", "\n")},
		{"a document mark", "---\n", "---\nprints:\n" + set("  ", "\n")},
		{"a byte order mark", "\ufeff", "\ufeffprints:\n" + set("  ", "\n")},
		{"no entries", "prints:", "prints:\n" + set("  ", "\n")},
		{"no entries, a comment", "prints: # none\n  # yet\n", "prints: # none\n  # yet\n" + set("  ", "\n")},
		{"an empty list", "prints: []", "prints:\n" + set("  ", "\n")},
		{"an empty list, a comment", "# ä\r\nprints: [ ] # none\r\n", "# ä\r\nprints: # none\r\n" + set("  ", "\r\n")},
		{"entries", "prints:\n  - " + entry, "prints:\n  - " + entry + set("  ", "\n")},
		{"entries at the margin", "prints:\n- " + narrow, "prints:\n- " + narrow + set("", "\n")},
		{"entries far in", "prints:\n      - {date: 2025-01-01, whole: true, material: rigid-resin, outcome: good}", "prints:\n      - {date: 2025-01-01, whole: true, material: rigid-resin, outcome: good}\n" + set("      ", "\n")},
		{"CRLF", strings.ReplaceAll("prints:\n  - "+entry+"\n  # so far\n", "\n", "\r\n"), strings.ReplaceAll("prints:\n  - "+entry+"\n  # so far\n", "\n", "\r\n") + set("  ", "\r\n")},
		{"CR", "prints:\r  - date: 2025-01-01\r", "prints:\r  - date: 2025-01-01\r" + set("  ", "\r")},
		{"a block of text", "prints:\n  - date: 2025-01-01\n    remark: |+\n      It\n\n      - broke\n\n\n", "prints:\n  - date: 2025-01-01\n    remark: |+\n      It\n\n      - broke\n\n\n" + set("  ", "\n")},
		{"a quoted name", "\"prints\":\n  - " + entry, "\"prints\":\n  - " + entry + set("  ", "\n")},
	} {
		t.Run(c.name, func(t *testing.T) {
			out, err := AppendPrint([]byte(c.in), p)
			require.NoError(t, err)
			require.Equal(t, c.out, string(out))
		})
	}
	for _, c := range []struct{ name, in, want string }{
		{"brackets", "# mine\nprints: [{date: 2025-01-01}]\n", `the list "prints" on line 2 is written in brackets; write each entry on lines of its own that begin with a dash`},
		{"an empty list over two lines", "prints: [\n]\n", `the empty list on line 1 goes over several lines; write it as []`},
		{"all in brackets", "{prints: []}\n", `"prints" on line 1 is set in or in brackets; write prints: at the beginning of a line`},
		{"nothing in brackets", "{}\n", `the file is written in brackets; write prints: on a line of its own`},
		{"set in", "  prints:\n    - {}\n", `"prints" on line 1 is set in or in brackets; write prints: at the beginning of a line`},
		{"another field", "notes: x\n", `the file has other fields and no "prints"; add prints: as its last line`},
		{"another field after", "prints: []\nnotes: x\n", `the field "notes" on line 2 stands after "prints"; move it before, so that the list ends the file`},
		{"null", "prints: ~\n", `"prints" on line 1 holds "~" in place of a list; remove it`},
		{"text", "prints: none\n", `:1:9: "prints" should be a list of tables, each beginning with a dash, found "none"`},
		{"an end", "prints:\n  - date: 2025-01-01\n...\n", `the entry cannot be added after what is there (a second document begins here; expected one table in a file)`},
		{"no YAML", "prints:\n  - a: [\n", `:2:8: cannot be read as YAML: sequence end token ']' not found; expected lines such as name: value`},
		{"not UTF-8", "prints: \xff\n", `:1:9: this is not UTF-8 text; save the file as UTF-8`},
	} {
		t.Run("not to "+c.name, func(t *testing.T) {
			_, err := AppendPrint([]byte(c.in), p)
			require.EqualError(t, err, c.want)
		})
	}
	p.Remark = "a\x00b"
	_, err := AppendPrint(nil, p)
	require.EqualError(t, err, `remark "a\x00b" cannot be written: it has a control character or is not UTF-8`)
}

// anyPrint draws an entry that the folder of logTree backs.
func anyPrint(t *rapid.T, s *Site) Print {
	word := rapid.OneOf(rapid.StringMatching(`[a-z #:{}\[\],&*!|>'"%@\x60\\-]{0,12}`), rapid.SampledFrom([]string{"", "null", "~", "1.5", "- a", "a: b", "light, inner faces", "0x1f", ".inf", "ß – ⅓", "true"}))
	text := func(label string) string { return strings.Join(strings.Fields(word.Draw(t, label)), " ") }
	p := Print{
		Date:    time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC).AddDate(0, 0, rapid.IntRange(0, 20000).Draw(t, "day")),
		Outcome: rapid.SampledFrom(Outcomes).Draw(t, "outcome"), Supports: text("supports"), Remark: text("remark"),
		Plate: rapid.SampledFrom([]string{"", "small-resin"}).Draw(t, "plate"), Photo: rapid.SampledFrom([]string{"", "photos/arm.png"}).Draw(t, "photo"),
		Layer: float64(rapid.IntRange(0, 30).Draw(t, "layer")) / 100, TiltAbout: rapid.SampledFrom([]string{"", "x", "y"}).Draw(t, "about"),
	}
	if p.TiltAbout != "" {
		p.Tilt = float64(rapid.IntRange(-1800, 1800).Draw(t, "tilt")) / 10
	}
	if p.Whole = rapid.Bool().Draw(t, "whole"); !p.Whole {
		p.Parts = []string{"torso", "null", "1", "upper-arm"}[:rapid.IntRange(1, 4).Draw(t, "parts")]
	}
	for _, slug := range append([]string{"torso"}, p.Parts[min(1, len(p.Parts)):]...) {
		p.Meshes = append(p.Meshes, MeshUsed{slug, CutFor(bench.Resin), rapid.SampledFrom([]string{someFP, strings.Repeat("1", 64), strings.Repeat("1", 30) + "e" + strings.Repeat("2", 33)}).Draw(t, "fingerprint")})
	}
	first := rapid.IntRange(1, wholeShare).Draw(t, "share")
	p.Stock = []Share{{s.Bench.Materials[0], float64(first) / wholeShare}}
	if first < wholeShare {
		p.Stock = append(p.Stock, Share{s.Bench.Materials[1], float64(wholeShare-first) / wholeShare})
	}
	return p
}

// Whatever a person wrote stays to the byte, and the log is what it was with the
// new entry at its end.
func TestRecordingKeepsEveryByte(t *testing.T) {
	s, problems := load(t, logTree(""))
	require.Empty(t, problems)
	r := s.Releases[0]
	rapid.Check(t, func(t *rapid.T) {
		eol := rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "end")
		lead := strings.Repeat(" ", rapid.IntRange(0, 4).Draw(t, "lead"))
		var b strings.Builder
		comment := func() {
			for range rapid.IntRange(0, 2).Draw(t, "lines") {
				b.WriteString(rapid.SampledFrom([]string{"", "# a note: with [marks", lead + "  # set in", "# prints:", "#- date: x"}).Draw(t, "comment") + eol)
			}
		}
		comment()
		b.WriteString("prints:" + rapid.SampledFrom([]string{"", " # all of them"}).Draw(t, "tail") + eol)
		var old []Print
		for range rapid.IntRange(0, 3).Draw(t, "entries") {
			comment()
			p := anyPrint(t, s)
			lines, err := p.lines()
			if err != nil {
				t.Fatal(err)
			}
			for i, line := range lines {
				dash := "  "
				if i == 0 {
					dash = "- "
				}
				if i > 0 && i < len(lines)-1 && !strings.HasPrefix(line, " ") && rapid.IntRange(0, 5).Draw(t, "between") == 0 {
					b.WriteString(lead + "    # within" + eol)
				}
				b.WriteString(lead + dash + line + rapid.SampledFrom([]string{"", "  # said so"}).Draw(t, "side") + eol)
			}
			old = append(old, p)
		}
		comment()
		text := b.String()
		if rapid.Bool().Draw(t, "cut short") {
			text = strings.TrimSuffix(text, eol)
		}
		p := anyPrint(t, s)
		out, err := AppendPrint([]byte(text), p)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if !strings.HasPrefix(string(out), text) {
			t.Fatalf("what was there has changed:\n%q\n%q", text, out)
		}
		got, err := CheckLog(s, r, out)
		if err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		for i := range got {
			got[i].Line = 0
		}
		require.Equal(t, append(old, p), got)
	})
}

// A log grows for years: it may be longer than one table may be.
func TestALongLogIsReadAndAddedTo(t *testing.T) {
	const entries = 1500
	text := "prints:\n" + strings.Repeat("  - date: 2025-10-02\n    whole: true\n    material: rigid-resin\n    outcome: good\n", entries)
	require.Greater(t, strings.Count(text, "\n"), fields.MaxLines)
	s, problems := load(t, logTree(text))
	require.Empty(t, problems)
	require.Len(t, s.Releases[0].Log, entries)
	out, err := AppendPrint([]byte(text), s.Releases[0].Log[0])
	require.NoError(t, err)
	log, err := CheckLog(s, s.Releases[0], out)
	require.NoError(t, err)
	require.Len(t, log, entries+1)
	require.Equal(t, 2+4*entries, log[entries].Line)
}

func FuzzAppendPrint(f *testing.F) {
	for _, text := range []string{"", "prints: []", "prints:\n- date: 2025-01-01", "# a\r\nprints:\r\n  - {date: x}\r\n", "\ufeffprints: [ ] # x", "{prints: []}", "prints:\n  - a: |\n      x\n...\n", "prints: &a []\n", "\"prints\": []\rx: y"} {
		f.Add([]byte(text), "a: b")
	}
	p := Print{Date: time.Date(2026, 1, 2, 0, 0, 0, 0, time.UTC), Whole: true, Stock: []Share{{bench.Material{ID: "m"}, 1}}, Outcome: Good}
	f.Fuzz(func(t *testing.T, data []byte, remark string) {
		p := p
		p.Remark = remark
		out, err := AppendPrint(data, p)
		if err != nil {
			return
		}
		if !bytes.HasPrefix(out, data) && !bytes.Contains(data, []byte("[")) {
			t.Fatalf("what was there has changed: %q, %q", data, out)
		}
		d, before := fields.ParseEntries("a", data, "prints")
		if n := len(d.Finish()); n > 0 && len(before) == 0 {
			before = nil // other fields; refused or not, there were no entries
		}
		_, after := fields.ParseEntries("b", out, "prints")
		if len(after) != len(before)+1 {
			t.Fatalf("%d entries became %d: %q", len(before), len(after), out)
		}
		last := after[len(after)-1]
		if got := last.Text("remark", fields.Optional); got != strings.Join(strings.Fields(remark), " ") {
			t.Fatalf("the remark %q is read back as %q", remark, got)
		}
		if last.Text("outcome", fields.Required) != "good" {
			t.Fatalf("the outcome is lost: %q", out)
		}
	})
}

func FuzzLog(f *testing.F) {
	for _, text := range []string{"", "prints: []", "prints:\n  - {date: 2025-10-03, whole: true, blend: {rigid-resin: 80, tough-resin: 20 %}, outcome: failed, tilt: 0}\n",
		"prints:\n- date: 2025-10-04\n  parts: [body, torso]\n  material: rigid-filament\n  plate: bed\n  outcome: usable\n  meshes: {body/filament: " + someFP + "}\n",
		"prints:\n- photo: photos/arm.png\n  layer: 0.05\n  tilt: -3\n  about: y\n  parts: []\n"} {
		f.Add([]byte(text))
	}
	s, err := Load(tree(f, logTree("")))
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		log, err := CheckLog(s, s.Releases[0], data)
		if err != nil && strings.Contains(err.Error(), "the reader failed") {
			t.Fatal(err)
		}
		for _, p := range log {
			sum := 0.0
			for _, share := range p.Stock {
				sum += share.Share
				if share.Material.Process != p.Stock[0].Material.Process {
					t.Fatalf("a blend of two processes: %+v", p)
				}
			}
			if math.Abs(sum-1) > 1e-12 || p.Whole == (len(p.Parts) > 0) || p.Date.IsZero() || p.Layer < 0 || p.Layer > ThickestLayer(bench.Shipped().Processes()).LayerMost || p.Tilt != 0 && p.TiltAbout == "" {
				t.Fatalf("an impossible entry: %+v", p)
			}
		}
	})
}
