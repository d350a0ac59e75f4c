package release

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"cardback/internal/bench"
)

const history = "releases/07-lamp/revisions.yaml"

// fp is a fingerprint of one repeated digit.
func fp(digit string) string { return strings.Repeat(digit, 64) }

func day(n int) time.Time { return time.Date(2026, 3, n, 0, 0, 0, 0, time.UTC) }

func someRevision(name string, n int) Revision {
	return Revision{
		Name: name, Date: day(n), Note: "The hip: moved by 0.4 mm", Faults: "",
		Parts: []SealedPart{
			{Slug: "torso", Name: "Torso", Quantity: 1, Cuts: []SealedCut{
				{Kind: CutFor(bench.Filament), Fingerprint: fp("0"), Triangles: 12, Volume: 1234.5678, Area: 99.5, Size: [3]float64{1, 2.25, 3}, Geometry: "sealed/0000000000000000.mesh"},
				{Kind: CutFor(bench.Resin), Fingerprint: fp("e"), Triangles: 12, Volume: -0.0001, Area: 0, Size: [3]float64{0, 2, 3}, Geometry: "sealed/eeeeeeeeeeeeeeee.mesh"},
			}},
			{Slug: "arm", Name: "Arm, \"left\": #1", Quantity: 2, MirroredTwin: true, Only: bench.Resin, Choice: "left: or right", Replaces: "torso", Cuts: []SealedCut{
				{Kind: CutAny, Fingerprint: fp("3"), Triangles: 4, Volume: 1e9, Area: 7, Size: [3]float64{1, 2, 3}, Geometry: "sealed/3333333333333333.mesh"},
			}},
		},
		Hardware: []SealedHardware{{Item: "rod-1.5", Name: "Pivot rod, 1.5 mm", Count: 4, Cut: 18.25}, {Item: "glue", Name: "Glue", Count: 1}},
	}
}

func TestRevisionsAreNamedLikeColumns(t *testing.T) {
	for i, want := range map[int]string{0: "A", 1: "B", 25: "Z", 26: "AA", 27: "AB", 51: "AZ", 52: "BA", 701: "ZZ", 702: "AAA"} {
		require.Equal(t, want, RevisionName(i))
	}
}

func TestASealedRevisionIsReadBack(t *testing.T) {
	a, b := someRevision("A", 1), someRevision("B", 1)
	b.Faults, b.Hardware = "The crack at the heel prints closed: seen on three plates.", nil
	text, err := AppendRevision(bench.Bench{}, "r", nil, a)
	require.NoError(t, err)
	text, err = AppendRevision(bench.Bench{}, "r", text, b)
	require.NoError(t, err)
	s, problems := load(t, map[string]string{history: string(text)})
	require.Empty(t, problems)
	r := s.Releases[0]
	require.Equal(t, []Revision{a, b}, r.Revisions)
	require.Equal(t, "B", r.LastRevision().Name)
	require.Equal(t, "A", r.FindRevision("a").Name)
	require.Nil(t, r.FindRevision("C"))
}

// Whatever a person wrote between, above and behind the entries stays as it is,
// byte for byte; line ends and the dashes' column are taken over.
func TestSealingKeepsEveryByteThatWasThere(t *testing.T) {
	first, err := AppendRevision(bench.Bench{}, "r", nil, someRevision("A", 1))
	require.NoError(t, err)
	shift := func(s string) string { return strings.ReplaceAll(s, "\n  ", "\n") }
	for name, text := range map[string]string{
		"comments":        "# mine\n" + string(first) + "\n\n# the hip broke twice\n",
		"no last end":     strings.TrimSuffix(string(first), "\n"),
		"windows":         strings.ReplaceAll(string(first), "\n", "\r\n"),
		"dashes at left":  shift(string(first)),
		"byte order mark": "\ufeff" + string(first),
		"odd quotes":      strings.Replace(string(first), "name: Torso", "name: 'Torso'   # a note", 1),
		"no entries":      "# nothing yet\nrevisions:\n",
		"only a comment":  "# nothing yet\n",
	} {
		t.Run(name, func(t *testing.T) {
			old, d := new(loader).readRevisions("r", []byte(text))
			require.Empty(t, d.Finish())
			rev := someRevision(RevisionName(len(old)), 2)
			got, err := AppendRevision(bench.Bench{}, "r", []byte(text), rev)
			require.NoError(t, err)
			require.True(t, strings.HasPrefix(string(got), text), "%s", got)
			all, d := new(loader).readRevisions("r", got)
			require.Empty(t, d.Finish())
			require.Equal(t, append(old, rev), all)
		})
	}
}

func TestWhatCannotBeAddedToIsSaid(t *testing.T) {
	good, err := AppendRevision(bench.Bench{}, "r", nil, someRevision("A", 1))
	require.NoError(t, err)
	for name, c := range map[string]struct {
		text string
		rev  Revision
		want string
	}{
		"a list in brackets": {"revisions: [{name: A, date: 2026-01-01, note: n, parts: [{slug: a, cuts: {any: {fingerprint: \"" + fp("a") + "\", triangles: 1, volume: 1, area: 1, size: [1, 1, 1], geometry: sealed/a.mesh}}}]}]\n", someRevision("B", 2), "brackets"},
		"old problems":       {strings.Replace(string(good), "note:", "nite:", 1), someRevision("B", 2), `r:7:5: field "nite" is not known here; did you mean "note"?`},
		"the wrong name":     {string(good), someRevision("C", 2), `revision "C" stands where "B" is expected`},
		"an earlier day":     {string(good), func() Revision { r := someRevision("B", 1); r.Date = r.Date.AddDate(0, 0, -1); return r }(), "is before that of the revision above"},
		"a control code":     {string(good), func() Revision { r := someRevision("B", 1); r.Note = "bell\a"; return r }(), "cannot be written"},
		"no number":          {string(good), func() Revision { r := someRevision("B", 1); r.Parts[0].Cuts[0].Volume = 1e300; return r }(), `part "torso", filament cut: a measure of it comes to 1e+300`},
		"no note":            {string(good), func() Revision { r := someRevision("B", 1); r.Note = " "; return r }(), `"note" is empty`},
		"a path that leaves": {string(good), func() Revision { r := someRevision("B", 1); r.Parts[0].Cuts[0].Geometry = "../x"; return r }(), "is not a path inside"},
	} {
		t.Run(name, func(t *testing.T) {
			out, err := AppendRevision(bench.Bench{}, "r", []byte(c.text), c.rev)
			require.ErrorContains(t, err, c.want)
			require.Nil(t, out)
		})
	}
}

// Any texts a person may give are read back as they were given, but for blanks.
func TestAnyNoteIsReadBack(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		word := rapid.StringMatching(`[ -~äß–“”✓]{0,30}[!-~]`)
		text, n := []byte(nil), rapid.IntRange(1, 4).Draw(rt, "revisions")
		var want []Revision
		for i := range n {
			rev := someRevision(RevisionName(i), 1+i)
			rev.Note = word.Draw(rt, "note")
			rev.Parts[0].Name = word.Draw(rt, "name")
			rev.Hardware[0].Name = word.Draw(rt, "hardware")
			rev.Hardware[0].Item = word.Draw(rt, "item")
			rev.Parts[0].Cuts[0].Volume = rapid.Float64Range(-1e12, 1e12).Draw(rt, "volume")
			var err error
			if text, err = AppendRevision(bench.Bench{}, "r", text, rev); err != nil {
				rt.Fatal(err)
			}
			rev = rev.Tidy()
			want = append(want, rev)
		}
		got, d := new(loader).readRevisions("r", text)
		require.Empty(rt, d.Finish())
		require.Equal(rt, want, got)
	})
}

// A release may be sealed for many years: the file may grow past the bounds of
// one table.
func TestALongHistoryIsRead(t *testing.T) {
	rev := someRevision("A", 1)
	for i := range 60 {
		p := rev.Parts[0]
		p.Slug = fmt.Sprintf("part-%d", i)
		rev.Parts = append(rev.Parts, p)
	}
	var text []byte
	var err error
	start := time.Now()
	for i := range 12 {
		rev.Name = RevisionName(i)
		text, err = AppendRevision(bench.Bench{}, "r", text, rev)
		require.NoError(t, err)
	}
	t.Logf("%d bytes, %v", len(text), time.Since(start))
	require.Greater(t, len(text), 128<<10)
	got, d := new(loader).readRevisions("r", text)
	require.Empty(t, d.Finish())
	require.Len(t, got, 12)
}

func TestSlipsInTheHistory(t *testing.T) {
	head := "revisions:\n  - name: A\n    date: 2026-03-14\n    note: First.\n    parts:\n"
	cut := func(more string) string {
		return head + "      - slug: arm\n        cuts:\n          any:\n            fingerprint: " + fp("a") + "\n            triangles: 4\n            volume: 1\n            area: 2\n            size: [1, 2, 3]\n            geometry: sealed/a.mesh\n" + more
	}
	swap := func(old, new string) string { return strings.Replace(cut(""), old, new, 1) }
	at := history + ":"
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"good", cut(""), nil},
		{"empty", "", nil},
		{"a list of nothing", "revisions: []\n", nil},
		{"unknown fields", "# x\nrevision:\n  - name: A\n", []string{at + `2:1: field "revision" is not known here; did you mean "revisions"?`}},
		{"unknown field of an entry", cut("    nota: x\n"), []string{at + `15:5: field "nota" is not known here; did you mean "note"?`}},
		{"unknown field of a part", swap("        cuts:", "        quantitty: 2\n        cuts:"), []string{at + `7:9: field "quantitty" is not known here; did you mean "quantity"?`}},
		{"unknown field of a cut", cut("            volum: 3\n"), []string{at + `15:13: field "volum" is not known here; did you mean "volume"?`}},
		{"unknown kind", swap("any:", "resn:"), []string{at + `8:11: field "resn" is not known here; did you mean "resin"?`}},
		{"no cuts", head + "      - {slug: arm, cuts: {}}\n", []string{at + `6:27: there is no cut; expected any, filament, resin or flexible`}},
		{"nothing given", "revisions:\n  - faults: x\n", []string{
			at + `2:5: "date" is missing; add a line that begins with date:`,
			at + `2:5: "name" is missing; add a line that begins with name:`,
			at + `2:5: "note" is missing; add a line that begins with note:`,
			at + `2:5: "parts" is missing; add a line that begins with parts:`}},
		{"nothing of a part", head + "      - quantity: 0\n", []string{
			at + `6:9: "cuts" is missing; add a line that begins with cuts:`,
			at + `6:9: "slug" is missing; add a line that begins with slug:`,
			at + `6:19: "quantity" is 0; expected a whole number of at least 1`}},
		{"nothing of a cut", head + "      - slug: arm\n        cuts: {any: {}}\n", []string{
			at + `7:21: "area" is missing; add a line that begins with area:`,
			at + `7:21: "fingerprint" is missing; add a line that begins with fingerprint:`,
			at + `7:21: "geometry" is missing; add a line that begins with geometry:`,
			at + `7:21: "size" is missing; add a line that begins with size:`,
			at + `7:21: "triangles" is missing; add a line that begins with triangles:`,
			at + `7:21: "volume" is missing; add a line that begins with volume:`}},
		{"no parts", "revisions:\n  - {name: A, date: 2026-03-14, note: n, parts: []}\n", []string{at + `2:49: there are no parts; expected a list, each beginning with a dash`}},
		{"a part twice", cut("      - slug: arm\n        cuts: {any: {fingerprint: " + fp("b") + ", triangles: 4, volume: 1, area: 2, size: [1, 2, 3], geometry: sealed/b.mesh}}\n"), []string{
			at + `15:15: part "arm" is given twice in this revision; remove one`}},
		{"slug", swap("slug: arm", "slug: Upper_Arm"), []string{at + `6:15: slug "Upper_Arm" has other characters than a to z, 0 to 9 and hyphen; expected the part's folder as it was then`}},
		{"only", swap("        cuts:", "        only: rezin\n        cuts:"), []string{at + `7:15: only "rezin" is not known; did you mean "resin"?`}},
		{"twin", swap("        cuts:", "        mirrored_twin: maybe\n        cuts:"), []string{at + `7:24: "mirrored_twin" should be true or false, found "maybe"`}},
		{"fingerprint", swap(fp("a"), "abc"), []string{at + `9:26: fingerprint "abc" is not 64 digits of 0 to 9 and a to f; expected it as "cardback measure" prints it`}},
		{"fingerprint in capitals", swap(fp("a"), fp("A")), []string{at + `9:26: fingerprint "` + fp("A") + `" is not 64 digits of 0 to 9 and a to f; expected it as "cardback measure" prints it`}},
		{"no numbers", swap("triangles: 4\n            volume: 1", "triangles: few\n            volume: .nan"), []string{
			at + `10:24: number "few" has no number; expected a plain number, such as 1.17`,
			at + `11:21: number ".nan" is not a finite number; expected a plain number, such as 1.17`}},
		{"an area below nothing", swap("area: 2", "area: -2"), []string{at + `12:19: "area" is -2; expected a number from 0 to 1e+15`}},
		{"a size of two", swap("size: [1, 2, 3]", "size: [1, 2]"), []string{at + `13:19: size has 2 numbers; expected three, width, depth and height in mm`}},
		{"a size below nothing", swap("size: [1, 2, 3]", "size: [1, -2, 3]"), []string{at + `13:19: size -2 is no extent; expected three numbers of mm, such as [12.5, 8, 40]`}},
		{"geometry that leaves the folder", swap("sealed/a.mesh", "../../x.mesh"), []string{at + `14:23: geometry "../../x.mesh" is not a path inside the release's folder; expected one such as sealed/0123456789abcdef.mesh`}},
		{"geometry from the root", swap("sealed/a.mesh", "/etc/passwd"), []string{at + `14:23: geometry "/etc/passwd" is not a path inside the release's folder; expected one such as sealed/0123456789abcdef.mesh`}},
		{"names out of order", strings.Replace(cut(""), "name: A", "name: B", 1), []string{at + `2:11: revision "B" stands where "A" is expected; revisions are named A, B, C and so on, oldest first`}},
		{"dates going back", cut(strings.Replace(strings.Replace(strings.TrimPrefix(cut(""), "revisions:\n"), "name: A", "name: B", 1), "2026-03-14", "2026-03-13", 1)), []string{
			at + `16:11: date 2026-03-13 is before that of the revision above, 2026-03-14; expected the same day or a later one`}},
		{"no date", swap("2026-03-14", "yesterday"), []string{at + `3:11: date "yesterday" is not a calendar date; expected year-month-day, such as 2026-03-14`}},
		{"hardware", cut("    hardware:\n      - {name: Rod, count: none, cut: 0}\n"), []string{
			at + `16:9: "item" is missing; add a line that begins with item:`,
			at + `16:28: "none" is not a count; expected a whole number, such as 2`,
			at + `16:39: length "cut" is zero; expected a length above zero`}},
		{"no list", "revisions: none\n", []string{at + `1:12: "revisions" should be a list of tables, each beginning with a dash, found "none"`}},
		{"an entry that is none", cut("  - just words\n"), []string{at + `15:5: this entry of "revisions" should be a table of fields, found "just words"`}},
		{"broken lines do not hide the next entry", "revisions:\n  - name: \"A\n    date: 2026-03-14\n  - name: B\n    date: soon\n    note: n\n    parts: []\n", []string{
			at + `2:11: cannot be read as YAML: the quotation mark here is never closed; expected lines such as name: value`,
			at + `4:11: revision "B" stands where "A" is expected; revisions are named A, B, C and so on, oldest first`,
			at + `5:11: date "soon" is not a calendar date; expected year-month-day, such as 2026-03-14`,
			at + `7:12: there are no parts; expected a list, each beginning with a dash`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			files := map[string]string{history: c.text}
			if c.text == "" {
				files[history] = " " // tree removes a file of no text
			}
			_, problems := load(t, files)
			require.Equal(t, strings.Join(c.want, "\n"), problems)
		})
	}
}

func TestAHistoryOfAnotherNameIsPointedOut(t *testing.T) {
	_, problems := load(t, map[string]string{"releases/07-lamp/revisions.yml": "x", "releases/07-lamp/sealed/x.mesh": "x"})
	require.Equal(t, `releases/07-lamp/revisions.yml: file "revisions.yml" is not read; did you mean "revisions.yaml"?`, problems)
	text, err := AppendRevision(bench.Bench{}, "r", nil, someRevision("A", 1))
	require.NoError(t, err)
	_, problems = load(t, map[string]string{history: string(text), "releases/07-lamp/revisions.yaml~": "x", "releases/07-lamp/sealed/x.mesh": "x"})
	require.Empty(t, problems, "a copy that an editor left beside it")
}

func FuzzRevisions(f *testing.F) {
	good, err := AppendRevision(bench.Bench{}, "r", nil, someRevision("A", 1))
	require.NoError(f, err)
	f.Add(string(good))
	f.Add("revisions: []\n")
	f.Add("revisions:\n- name: A\n  date: 2026-01-01\n- - x\n")
	f.Fuzz(func(t *testing.T, text string) {
		old, d := new(loader).readRevisions("r", []byte(text))
		if len(d.Finish()) > 0 {
			return
		}
		rev := someRevision(RevisionName(len(old)), 1)
		rev.Date = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
		out, err := AppendRevision(bench.Bench{}, "r", []byte(text), rev)
		if err != nil {
			return
		}
		got, d := new(loader).readRevisions("r", out)
		require.Empty(t, d.Finish())
		require.Len(t, got, len(old)+1)
	})
}
