package pack

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/csv"
	"flag"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/mesh"
	"cardback/internal/meshfile"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict"
	"cardback/internal/verdict/reprint"
)

var update = flag.Bool("update", false, "write the golden files anew")

const content = "../../testdata/content"

func gull(t testing.TB) (*release.Site, *release.Release) {
	t.Helper()
	site, err := release.Load(content)
	require.NoError(t, err)
	return site, &site.Releases[0]
}

// judged is r as it is judged without a bench and with none of its meshes measured.
func judged(t testing.TB, r *release.Release, changes reprint.Changes) *verdict.Release {
	t.Helper()
	checked, err := verdict.Check(context.Background(), &release.Site{Releases: []release.Release{*r}}, nil, nil)
	require.NoError(t, err)
	of := *checked.Judge(nil, nil).Of(r.Number)
	of.Changes = changes
	return &of
}

// splitRelease has every folder an archive can have: a whole and its pieces, a
// choice, a flexible cut and a part for the other process only.
func splitRelease(t testing.TB) (*release.Site, *release.Release) {
	t.Helper()
	site, r := gull(t)
	file := r.Parts[1].Cuts[0].File // the wing: any old mesh will do
	cut := func(k release.CutKind) release.Cut {
		return release.Cut{Kind: k, File: file, Rel: "releases/08-dredger/parts/x/" + string(k) + ".stl"}
	}
	d := *r
	d.Number, d.Slug, d.Title = 8, "dredger", "Dredger"
	d.Parts = []release.Part{
		{Slug: "hull", Name: "Hull", Quantity: 1, Cuts: []release.Cut{cut("any")}},
		{Slug: "hull-fore", Name: "Hull, fore", Quantity: 1, Replaces: "hull", Cuts: []release.Cut{cut("any")}},
		{Slug: "hull-aft", Name: "Hull, aft", Quantity: 1, Replaces: "hull", Cuts: []release.Cut{cut("any")}},
		{Slug: "leg", Name: "Längs-Bein №4", Quantity: 3, MirroredTwin: true, Cuts: []release.Cut{cut("filament"), cut("resin")}},
		{Slug: "hat-tall", Name: "Tall hat", Quantity: 1, Choice: "hat", Cuts: []release.Cut{cut("any")}},
		{Slug: "hat-flat", Name: "Шляпа", Quantity: 1, Choice: "hat", Cuts: []release.Cut{cut("any"), cut("flexible")}},
		{Slug: "tail", Name: "Tail", Quantity: 2, Cuts: []release.Cut{cut("flexible")}},
		{Slug: "back", Name: "Back", Quantity: 1, Only: bench.Resin, Cuts: []release.Cut{cut("any")}},
	}
	return site, &d
}

var sheet = []File{{Name: "assembly.html", Data: []byte("<!doctype html><title>x</title>\n")}}

func archive(t testing.TB, site *release.Site, r *release.Release, proc *bench.Process) Download {
	t.Helper()
	d, err := Archive(context.Background(), site, r, proc, judged(t, r, reprint.Changes{}), sheet, Source{})
	require.NoError(t, err)
	return d
}

func entries(t testing.TB, data []byte) (names []string, files map[string][]byte, headers []*zip.File) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	files = map[string][]byte{}
	for _, f := range z.File {
		rc, err := f.Open()
		require.NoError(t, err)
		b, err := io.ReadAll(rc)
		require.NoError(t, err)
		require.NoError(t, rc.Close())
		names = append(names, f.Name)
		files[f.Name] = b
		headers = append(headers, f)
	}
	return names, files, headers
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("../../testdata/pack", name)
	if *update {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run the test with -update, then look at the difference")
	require.Equal(t, string(want), string(got))
}

func TestArchiveListings(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "")
	site, r := splitRelease(t)
	for _, proc := range bench.Shipped().Processes() {
		names, files, _ := entries(t, archive(t, site, r, proc).Data)
		golden(t, "dredger-"+proc.String()+".list", []byte(strings.Join(names, "\n")+"\n"))
		golden(t, "dredger-"+proc.String()+".readme.txt", files["08-dredger-"+proc.String()+"/README.txt"])
	}
}

// The unpacker and the checker are other people's programs.
func TestUnzipAndSha256sumAcceptArchives(t *testing.T) {
	for _, program := range []string{"unzip", "sha256sum"} {
		if _, err := exec.LookPath(program); err != nil {
			t.Skipf("%s is not installed", program)
		}
	}
	for _, make := range []func(testing.TB) (*release.Site, *release.Release){gull, splitRelease} {
		site, r := make(t)
		for _, proc := range bench.Shipped().Processes() {
			d := archive(t, site, r, proc)
			dir := t.TempDir()
			file := filepath.Join(dir, d.Name)
			require.NoError(t, os.WriteFile(file, d.Data, 0o644))
			out, err := exec.Command("unzip", "-t", file).CombinedOutput()
			require.NoError(t, err, "%s", out)
			require.Contains(t, string(out), "No errors detected")
			out, err = exec.Command("unzip", "-q", file, "-d", dir).CombinedOutput()
			require.NoError(t, err, "%s", out)
			inside := filepath.Join(dir, strings.TrimSuffix(d.Name, ".zip"))
			check := exec.Command("sha256sum", "-c", "--strict", "SHA256SUMS")
			check.Dir = inside
			out, err = check.CombinedOutput()
			require.NoError(t, err, "%s", out)
			names, _, _ := entries(t, d.Data)
			require.Equal(t, len(names)-1, strings.Count(string(out), ": OK\n"), "every file but SHA256SUMS is listed")

			require.NoError(t, os.WriteFile(filepath.Join(inside, "licence.txt"), []byte("changed"), 0o644))
			check = exec.Command("sha256sum", "-c", "--strict", "SHA256SUMS")
			check.Dir = inside
			require.Error(t, check.Run(), "a changed file must be noticed")
		}
	}
}

func TestSumLinesWithAwkwardNamesPassSha256sum(t *testing.T) {
	if _, err := exec.LookPath("sha256sum"); err != nil {
		t.Skip("sha256sum is not installed")
	}
	dir := t.TempDir()
	files := []File{{"a b", []byte("abc")}, {`back\slash`, []byte("x")}, {"line\nfeed", nil}, {"carriage\rreturn", []byte("y")}}
	members, err := membersOf(files)
	require.NoError(t, err)
	for _, f := range files {
		require.NoError(t, os.WriteFile(filepath.Join(dir, f.Name), f.Data, 0o644))
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "SHA256SUMS"), sums(members), 0o644))
	check := exec.Command("sha256sum", "-c", "--strict", "SHA256SUMS")
	check.Dir = dir
	out, err := check.CombinedOutput()
	require.NoError(t, err, "%s", out)
}

func TestSha256Vectors(t *testing.T) { // FIPS 180-4
	require.Equal(t, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855", sumOf(nil))
	require.Equal(t, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", sumOf([]byte("abc")))
	require.Equal(t, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad *x/y.stl\n", sumLine(sumOf([]byte("abc")), "x/y.stl"))
	require.Equal(t, uint32(0xCBF43926), crc32.ChecksumIEEE([]byte("123456789"))) // CRC-32 check value
}

func TestEntriesAreWhatTheStandardAsks(t *testing.T) {
	t.Setenv("SOURCE_DATE_EPOCH", "1700000000")
	site, r := splitRelease(t)
	names, files, headers := entries(t, archive(t, site, r, bench.Resin).Data)
	require.True(t, slices.IsSorted(names))
	ascii := regexp.MustCompile(`^08-dredger-resin(/[A-Za-z0-9][A-Za-z0-9._-]*)+$`)
	low := map[string]bool{}
	for _, h := range headers {
		require.Regexp(t, ascii, h.Name)
		require.False(t, low[strings.ToLower(h.Name)], "%s differs only in case", h.Name)
		low[strings.ToLower(h.Name)] = true
		// APPNOTE 4.4.6; 1700000000 is 2023-11-14 22:13:20 UTC.
		require.Equal(t, uint16(0x576E), h.ModifiedDate)
		require.Equal(t, uint16(0xB1AA), h.ModifiedTime)
		require.NotZero(t, h.Flags&flagUTF8, "UTF-8 bit")
		require.Zero(t, h.Flags&8, "sizes stand in the local header")
		require.Equal(t, crc32.ChecksumIEEE(files[h.Name]), h.CRC32)
		require.Equal(t, os.FileMode(0o644), h.Mode())
	}
}

func TestTimesStayWithinWhatAZipCanState(t *testing.T) {
	for _, c := range []struct {
		epoch, released, want string
	}{
		{"", "2026-03-14", "2026-03-14T00:00:00Z"},
		{"1700000001", "2026-03-14", "2023-11-14T22:13:20Z"}, // two-second steps
		{"0", "2026-03-14", "1980-01-01T00:00:00Z"},
		{"", "1850-01-01", "1980-01-01T00:00:00Z"},
		{"99999999999", "2026-03-14", "2107-12-31T23:59:58Z"},
	} {
		t.Setenv("SOURCE_DATE_EPOCH", c.epoch)
		day, err := time.Parse(time.DateOnly, c.released)
		require.NoError(t, err)
		got, err := modTime(&release.Release{Released: day})
		require.NoError(t, err)
		require.Equal(t, c.want, got.Format(time.RFC3339))
	}
	for _, bad := range []string{"soon", "-1", "1.5"} {
		t.Setenv("SOURCE_DATE_EPOCH", bad)
		_, err := modTime(&release.Release{})
		require.ErrorContains(t, err, "expected whole seconds since 1970-01-01 UTC")
	}
}

func TestTwoBuildsGiveTheSameBytes(t *testing.T) {
	for range 3 {
		site, r := splitRelease(t)
		a, b := archive(t, site, r, bench.Filament), archive(t, site, r, bench.Filament)
		require.Equal(t, a.SHA256, b.SHA256)
		require.True(t, bytes.Equal(a.Data, b.Data))
	}
	site, r := gull(t)
	a, err := Parts(context.Background(), site, r, Source{})
	require.NoError(t, err)
	b, err := Parts(context.Background(), site, r, Source{})
	require.NoError(t, err)
	require.Equal(t, a, b)
}

func TestFilesGivenInAnotherOrderGiveTheSameBytes(t *testing.T) {
	site, r := gull(t)
	two := []File{{"a.html", []byte("a")}, {"b.html", []byte("b")}}
	a, err := Archive(context.Background(), site, r, bench.Resin, judged(t, r, reprint.Changes{}), two, Source{})
	require.NoError(t, err)
	slices.Reverse(two)
	b, err := Archive(context.Background(), site, r, bench.Resin, judged(t, r, reprint.Changes{}), two, Source{})
	require.NoError(t, err)
	require.Equal(t, a.SHA256, b.SHA256)
}

func TestMirroredTwinIsTheMirrorImage(t *testing.T) {
	site, r := gull(t)
	parts, err := Parts(context.Background(), site, r, Source{})
	require.NoError(t, err)
	byName := map[string]Download{}
	for _, d := range parts {
		byName[d.Name] = d
	}
	wing, twin := byName["01-harbour-gull-02-wing.stl"], byName["01-harbour-gull-02-wing-mirrored.stl"]
	require.False(t, wing.Mirrored)
	require.True(t, twin.Mirrored)
	raw, err := os.ReadFile(r.Parts[1].Cuts[0].File)
	require.NoError(t, err)
	require.True(t, bytes.Equal(raw, wing.Data), "a mesh is packed as supplied")
	a, b := readBytes(t, wing.Data), readBytes(t, twin.Data)
	require.InDelta(t, volume(a), volume(b), 1e-9, "the winding stays outward, so the volume keeps its sign")
	require.Greater(t, volume(b), 0.0)
	require.Equal(t, 25.0, a.Bounds().Max.X) // the box of testdata, 25 x 8 x 1.2
	require.Equal(t, -25.0, b.Bounds().Min.X)
	require.Equal(t, a.Fingerprint(), b.Mirrored().Fingerprint())
}

func readBytes(t testing.TB, data []byte) *mesh.Mesh {
	t.Helper()
	m, _, err := mesh.Read(context.Background(), bytes.NewReader(data), int64(len(data)))
	require.NoError(t, err)
	return m
}

// volume is the sum of signed tetrahedra over the triangles (divergence theorem).
func volume(m *mesh.Mesh) float64 {
	v := 0.0
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		v += a.Dot(b.Cross(c)) / 6
	}
	return v
}

func TestPartsOfTheGull(t *testing.T) {
	site, r := gull(t)
	parts, err := Parts(context.Background(), site, r, Source{})
	require.NoError(t, err)
	var got []string
	for _, d := range parts {
		require.Equal(t, sumOf(d.Data), d.SHA256)
		require.Equal(t, int64(len(d.Data)), d.Size)
		require.Equal(t, "downloads/"+d.SHA256[:16]+"/"+d.Name, d.URL)
		require.Equal(t, KindPart, d.Kind)
		got = append(got, fmt.Sprintf("%s | %s | %s", d.Name, d.Title, d.Process))
	}
	require.Equal(t, []string{
		"01-harbour-gull-01-body-filament.stl | Body, filament cut | filament",
		"01-harbour-gull-01-body-resin.stl | Body, resin cut | resin",
		"01-harbour-gull-02-wing.stl | Wing | ",
		"01-harbour-gull-02-wing-mirrored.stl | Wing, mirrored | ",
		"01-harbour-gull-03-open-beak.stl | Open beak | ",
		"01-harbour-gull-04-shut-beak.stl | Shut beak | ",
		"01-harbour-gull-05-stand.stl | Stand | ",
		"01-harbour-gull-05-stand-flexible.stl | Stand, flexible cut | ",
	}, got)
}

func TestBrokenMeshIsLeftOutAndNamed(t *testing.T) {
	site, r := splitRelease(t)
	bad := filepath.Join(t.TempDir(), "any.stl")
	require.NoError(t, os.WriteFile(bad, []byte("not a mesh"), 0o644))
	r.Parts[0].Cuts[0].File = bad
	r.Parts[1].Cuts[0].File = filepath.Join(t.TempDir(), "absent.stl")
	whole := len(r.Parts)
	d, err := Archive(context.Background(), site, r, bench.Filament, judged(t, r, reprint.Changes{}), nil, Source{})
	require.ErrorContains(t, err, "pack releases/08-dredger/parts/x/any.stl: ")
	require.Len(t, strings.Split(err.Error(), "\n"), 2, "both are reported")
	require.NotZero(t, d.Size)
	names, files, _ := entries(t, d.Data)
	require.NotContains(t, names, "08-dredger-filament-incomplete/meshes/large-plates/01-hull.stl")
	require.Contains(t, string(files["08-dredger-filament-incomplete/README.txt"]), "Left out\n--------\n\nThese meshes could not be read when the archive was made:\n\nmeshes/large-plates/01-hull.stl\nmeshes/small-plates/02-hull-fore.stl\n")
	parts, err := Parts(context.Background(), site, r, Source{})
	require.Error(t, err)
	require.Greater(t, len(parts), whole-2)
}

func TestNothingToPack(t *testing.T) {
	site, r := gull(t)
	r.Parts = r.Parts[:1]
	r.Parts[0].Cuts = r.Parts[0].Cuts[1:] // resin only
	require.True(t, printing.Of(*r, bench.Resin).Offers())
	d, err := Archive(context.Background(), site, r, bench.Filament, judged(t, r, reprint.Changes{}), nil, Source{})
	require.ErrorIs(t, err, ErrNothing)
	require.Zero(t, d.Size)
}

// A set that lacks what a complete print needs is not called everything: its name,
// title and README say what it is without.
func TestAnIncompleteSetSaysWhatItLacks(t *testing.T) {
	site, r := splitRelease(t)
	antenna := r.Parts[3] // of a name for people
	antenna.Slug, antenna.Name = "antenna", "Antenna"
	antenna.Cuts = antenna.Cuts[1:] // resin only
	r.Parts = append(r.Parts, antenna)
	resin := archive(t, site, r, bench.Resin)
	require.Empty(t, resin.Lacks)
	require.Equal(t, "08-dredger-resin.zip", resin.Name)
	require.Equal(t, "Dredger, everything for resin", resin.Title)

	d := archive(t, site, r, bench.Filament)
	require.Equal(t, []string{"Antenna"}, d.Lacks)
	require.Equal(t, "08-dredger-filament-incomplete.zip", d.Name)
	require.Equal(t, "Dredger, for filament, incomplete: without Antenna", d.Title)
	_, files, _ := entries(t, d.Data)
	readme := string(files["08-dredger-filament-incomplete/README.txt"])
	require.NotContains(t, readme, "everything for filament")
	require.Contains(t, strings.Join(strings.Fields(readme), " "), "This is not everything that a print in filament needs. There is no mesh for it here of: Antenna.")

	// Of a choice one is enough, and pieces stand for their whole.
	for i := range r.Parts {
		if p := &r.Parts[i]; p.Slug == "hull" || p.Slug == "hat-tall" {
			p.Cuts[0].File = filepath.Join(t.TempDir(), "absent.stl")
		}
	}
	d, err := Archive(context.Background(), site, r, bench.Filament, judged(t, r, reprint.Changes{}), nil, Source{})
	require.Error(t, err)
	require.Equal(t, []string{"Antenna"}, d.Lacks)
	r.Parts[1].Cuts[0].File = filepath.Join(t.TempDir(), "absent.stl")
	d, err = Archive(context.Background(), site, r, bench.Filament, judged(t, r, reprint.Changes{}), nil, Source{})
	require.Error(t, err)
	require.Equal(t, []string{"Hull", "Antenna"}, d.Lacks, "neither whole nor in its pieces")
}

// What goes into an archive is what was measured, or nothing does.
func TestAMeshThatChangedSinceItWasMeasuredIsNotPacked(t *testing.T) {
	site, r := gull(t)
	copied := filepath.Join(t.TempDir(), "mesh.stl")
	data, err := os.ReadFile(r.Parts[0].Cuts[0].File)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(copied, data, 0o644))
	r.Parts[0].Cuts[0].File = copied
	whole := *site
	whole.Releases = []release.Release{*r}
	found, err := survey.Run(t.Context(), &whole, nil, nil)
	require.NoError(t, err)
	_, err = Parts(t.Context(), site, r, Source{Survey: found})
	require.NotErrorIs(t, err, meshfile.ErrChanged)

	m, _, err := mesh.ReadFile(t.Context(), copied)
	require.NoError(t, err)
	m.Vertices[0].X += 0.5
	var moved bytes.Buffer
	require.NoError(t, mesh.WriteSTL(&moved, m, ""))
	require.NoError(t, os.WriteFile(copied, moved.Bytes(), 0o644))
	_, err = Parts(t.Context(), site, r, Source{Survey: found})
	require.ErrorIs(t, err, meshfile.ErrChanged)
	for _, proc := range bench.Shipped().Processes() {
		if c, ok := printing.Of(*r, proc).Parts[0].Cut(); ok && c.File == copied {
			_, err = Archive(t.Context(), site, r, proc, judged(t, r, reprint.Changes{}), nil, Source{Survey: found})
			require.ErrorIs(t, err, meshfile.ErrChanged, proc)
		}
	}
	// One that could not be read when it was measured was never measured.
	for _, cs := range found {
		*cs = survey.CutSurvey{Cut: cs.Cut, Err: os.ErrNotExist}
	}
	require.NoError(t, os.WriteFile(copied, data, 0o644))
	_, err = Parts(t.Context(), site, r, Source{Survey: found})
	require.ErrorIs(t, err, meshfile.ErrChanged)
}

func TestCancelledWorkStops(t *testing.T) {
	site, r := gull(t)
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Archive(ctx, site, r, bench.Resin, judged(t, r, reprint.Changes{}), nil, Source{})
	require.ErrorIs(t, err, context.Canceled)
	_, err = Parts(ctx, site, r, Source{})
	require.ErrorIs(t, err, context.Canceled)
}

func TestUnsafeNamesAreRefused(t *testing.T) {
	site, r := gull(t)
	for _, name := range []string{"../x", "/x", "a/../b", "a//b", `a\b`, "a b", "", ".hidden", "é", "C:x", "x/"} {
		_, err := Archive(context.Background(), site, r, bench.Resin, judged(t, r, reprint.Changes{}), []File{{Name: name}}, Source{})
		require.ErrorContains(t, err, "cannot stand in an archive", "%q", name)
	}
	for _, name := range []string{"readme.txt", "README.txt", "Licence.TXT", "meshes/01-BODY.stl"} {
		_, err := Archive(context.Background(), site, r, bench.Resin, judged(t, r, reprint.Changes{}), []File{{Name: name}}, Source{})
		require.ErrorContains(t, err, "differs from", "%q", name)
	}
}

func TestHardwareListParsesBackAndHoldsNoFormula(t *testing.T) {
	r := &release.Release{Hardware: []release.HardwareUse{
		{Item: bench.Hardware{ID: "rod-1.5", Name: `Rod, "hard", 1.5 mm`, Kind: bench.Rod, Diameter: 1.5}, Count: 4, Cut: 18.25, Where: "hips\nand knees"},
		{Item: bench.Hardware{ID: "glue", Name: "=HYPERLINK(\"x\")", Kind: bench.Adhesive}, Count: 1, Where: " @where"},
		{Item: bench.Hardware{ID: "m", Name: "+1", Kind: bench.Magnet, Diameter: 3, Thickness: 1}, Count: 2, Where: "-2+3"},
		{Item: bench.Hardware{ID: "rod-1.5", Name: `Rod, "hard", 1.5 mm`, Kind: bench.Rod, Diameter: 1.5}, Count: 1, Cut: 18.25, Where: "neck"},
	}, Parts: []release.Part{{Name: "Tail", Quantity: 2, Takes: []release.HardwareUse{{Item: bench.Hardware{ID: "pin", Kind: bench.Screw, Length: 12}, Count: 3}}}}}
	data := HardwareCSV(judged(t, r, reprint.Changes{}).Hardware)
	require.Equal(t, strings.Count(string(data), "\n"), strings.Count(string(data), "\r\n"), "RFC 4180: CRLF")
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	require.NoError(t, err)
	require.Equal(t, [][]string{
		{"item", "name", "kind", "diameter_mm", "thickness_mm", "bore_mm", "length_mm", "count", "cut_mm", "where"},
		{"rod-1.5", `Rod, "hard", 1.5 mm`, "rod", "1.5", "", "", "", "5", "18.25", "hips and knees; neck"},
		{"glue", "'=HYPERLINK(\"x\")", "adhesive", "", "", "", "", "1", "", "'@where"},
		{"m", "'+1", "magnet", "3", "1", "", "", "2", "", "'-2+3"},
		{"pin", "", "screw", "", "", "", "12", "6", "", "Tail"},
	}, rows)
}

// 4 × 70 and 2 × 50 from bars of 200 with cuts of 2 mm: 70 + 70 + 50 takes 194 with two
// cuts, and a third to part what is left.
func TestCutListIsReadInTheWorkshop(t *testing.T) {
	rod := bench.Hardware{ID: "rod", Name: "Brass\nrod", Kind: bench.Rod, Diameter: 1.5, StockLength: 200, Kerf: 2}
	r := &release.Release{Number: 3, Title: "A gull", Hardware: []release.HardwareUse{{Item: rod, Count: 4, Cut: 70}, {Item: rod, Count: 2, Cut: 50}, {Item: rod, Count: 1}}}
	files := cutListFile(r, judged(t, r, reprint.Changes{}).CutLists)
	require.Len(t, files, 1)
	text := string(files[0].Data)
	require.Contains(t, text, "03 A gull: how to cut the hardware.")
	require.Contains(t, text, "Brass rod\nBuy 2 lengths of 200 mm; each cut takes 2 mm. Fewer will not do.\n- 2 x 200: 2 of 70, 50; 4 left over\n- Not in it, because no length is stated: 1.\n")
	r.Hardware = r.Hardware[2:]
	files = cutListFile(r, judged(t, r, reprint.Changes{}).CutLists)
	require.Empty(t, files)
	r.Hardware = []release.HardwareUse{{Item: rod, Count: 4, Cut: 70}}
	done, cancel := context.WithCancel(t.Context())
	cancel()
	_, err := verdict.Check(done, &release.Site{Releases: []release.Release{*r}}, nil, nil)
	require.ErrorIs(t, err, context.Canceled)
}

func TestEveryLicenceForReleasesHasItsText(t *testing.T) {
	n := 0
	for _, l := range release.Licences() {
		text, ok := Licence(l.ID)
		require.Equal(t, l.ForReleases, ok, l.ID)
		if !ok {
			continue
		}
		n++
		// Each legal text of version 4.0 begins with the licence's name; that of
		// CC0 names itself on its third line.
		head := strings.SplitN(text.Text, "\n", 4)
		if l.ID == "CC0-1.0" {
			require.Equal(t, "CC0 1.0 Universal", head[2])
		} else {
			require.Equal(t, l.Name, head[0])
		}
		require.Greater(t, len(text.Text), 6000)
	}
	require.Equal(t, 7, n)
	_, ok := Licence("CC-BY-3.0")
	require.False(t, ok)
}

func TestLicenceFileNamesAuthorTermsAndCredits(t *testing.T) {
	site, r := gull(t)
	_, files, _ := entries(t, archive(t, site, r, bench.Resin).Data)
	text := string(files["01-harbour-gull-resin/licence.txt"])
	require.True(t, strings.HasPrefix(text, "Harbour gull\nby The Test Bench workshop\n"), text[:80])
	require.Contains(t, text, "https://creativecommons.org/licenses/by-sa/4.0/\n")
	require.Contains(t, text, "- A wing study, by The Test Bench workshop, under Creative Commons\n  Attribution 3.0 Unported (CC-BY-3.0).\n  https://figures.example/wing\n")
	l, _ := Licence("CC-BY-SA-4.0")
	require.True(t, strings.HasSuffix(text, l.Text))
}

func TestPlainNames(t *testing.T) {
	for _, c := range [][2]string{
		{"Upper arm", "upper-arm"}, {"  Längs-Bein №4 ", "langs-bein-no4"}, {"Шляпа", "slug"}, {"", "slug"},
		{"../../etc", "etc"}, {"A/B: C", "a-b-c"}, {"-", "slug"}, {strings.Repeat("long ", 20), "long-long-long-long-long-long-long-long-l"},
	} {
		got := plainName(c[0], "slug")
		require.Equal(t, c[1], got, c[0])
		require.Regexp(t, `^[a-z0-9-]{1,41}$`, got)
	}
}

func BenchmarkArchive(b *testing.B) {
	site, r := splitRelease(b)
	b.ReportAllocs()
	for b.Loop() {
		d := archive(b, site, r, bench.Resin)
		b.SetBytes(d.Size)
	}
}
