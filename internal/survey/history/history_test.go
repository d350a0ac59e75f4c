package history_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/draw"
	"cardback/internal/measure"
	"cardback/internal/measure/change"
	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
)

// workshop is a release of boxes whose parts are changed, surveyed and sealed.
type workshop struct {
	t    *testing.T
	site *release.Site
	st   *store.Store
}

func newWorkshop(t *testing.T) *workshop {
	root := t.TempDir()
	return &workshop{t, &release.Site{Root: root, Releases: []release.Release{{Number: 1, Dir: filepath.Join(root, "releases", "01-box")}}}, nil}
}

func (w *workshop) release() *release.Release { return &w.site.Releases[0] }

// part gives the release a part, or takes its place; cuts are "any" and the like,
// each a box of the given width.
func (w *workshop) part(p release.Part, cuts map[release.CutKind]float64) {
	w.t.Helper()
	if p.Quantity == 0 {
		p.Quantity = 1
	}
	for _, kind := range []release.CutKind{release.CutAny, release.CutFor(bench.Filament), release.CutFor(bench.Resin), release.CutFlexible} {
		x, ok := cuts[kind]
		if !ok {
			continue
		}
		dir := filepath.Join(w.release().Dir, "parts", p.Slug)
		require.NoError(w.t, os.MkdirAll(dir, 0o755))
		file := filepath.Join(dir, string(kind)+".stl")
		meshtest.WriteBox(w.t, file, x, 20, 30)
		rel, err := filepath.Rel(w.site.Root, file)
		require.NoError(w.t, err)
		p.Cuts = append(p.Cuts, release.Cut{Kind: kind, File: file, Rel: filepath.ToSlash(rel)})
	}
	r := w.release()
	for i := range r.Parts {
		if r.Parts[i].Slug == p.Slug {
			r.Parts[i] = p
			return
		}
	}
	r.Parts = append(r.Parts, p)
}

func (w *workshop) without(slug string) {
	r := w.release()
	for i := range r.Parts {
		if r.Parts[i].Slug == slug {
			r.Parts = append(r.Parts[:i:i], r.Parts[i+1:]...)
			return
		}
	}
}

// survey reads every mesh; what history does not ask about is not measured.
func (w *workshop) survey() survey.Survey {
	w.t.Helper()
	out := survey.Survey{}
	for _, c := range w.site.Cuts() {
		cs := &survey.CutSurvey{Cut: c}
		out[c.Rel] = cs
		m, err := readMesh(c.File)
		if err != nil {
			cs.Err = err
			continue
		}
		volume, area, err := measure.VolumeAndArea(w.t.Context(), m)
		require.NoError(w.t, err)
		cs.Report = &measure.Report{Fingerprint: m.Fingerprint(), Triangles: len(m.Triangles), Bounds: m.Bounds(), Volume: volume, Area: area}
	}
	return out
}

func readMesh(file string) (*mesh.Mesh, error) {
	data, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	m, _, err := mesh.Read(context.Background(), bytes.NewReader(data), int64(len(data)))
	return m, err
}

// seal adds the working files as a revision.
func (w *workshop) seal() {
	w.t.Helper()
	r := w.release()
	rev := history.Working(*r, w.survey())
	rev.Name = release.RevisionName(len(r.Revisions))
	for _, p := range rev.Parts {
		for _, c := range p.Cuts {
			m, err := readMesh(w.fileOf(c.Fingerprint))
			require.NoError(w.t, err)
			path := filepath.Join(r.Dir, filepath.FromSlash(c.Geometry))
			require.NoError(w.t, os.MkdirAll(filepath.Dir(path), 0o755))
			require.NoError(w.t, os.WriteFile(path, mesh.Pack(m), 0o644))
		}
	}
	r.Revisions = append(r.Revisions, rev)
}

func (w *workshop) fileOf(fingerprint string) string {
	for _, cs := range w.survey() {
		if cs.Err == nil && cs.Report.Fingerprint == fingerprint {
			return cs.Cut.File
		}
	}
	w.t.Fatal("no such mesh")
	return ""
}

func (w *workshop) history() *history.Release {
	w.t.Helper()
	h, err := history.Of(w.t.Context(), w.site, w.survey(), w.st, nil)
	require.NoError(w.t, err)
	return h[1]
}

// kinds writes a step as "slug: was>is kind, …" for each part.
func kinds(s history.Step) []string {
	var out []string
	for _, p := range s.Parts {
		var cuts []string
		for _, c := range p.Cuts {
			was, is := release.CutKind("none"), release.CutKind("none")
			if c.Was != nil {
				was = c.Was.Kind
			}
			if c.Is != nil {
				is = c.Is.Kind
			}
			cuts = append(cuts, string(was)+">"+string(is)+" "+string(c.Kind)+c.Why)
		}
		out = append(out, p.Slug()+": "+strings.Join(cuts, ", "))
	}
	return out
}

func TestHistoryTellsWhatBecameOfEachCut(t *testing.T) {
	w := newWorkshop(t)
	w.part(release.Part{Slug: "arm"}, map[release.CutKind]float64{"any": 10})
	w.part(release.Part{Slug: "hip"}, map[release.CutKind]float64{"filament": 11, "resin": 12})
	w.part(release.Part{Slug: "hat"}, map[release.CutKind]float64{"any": 13})
	require.Empty(t, w.history().ToWorking, "nothing was sealed")
	require.Nil(t, w.history().Unsealed())
	w.seal()
	require.True(t, w.history().ToWorking[0].Same())
	require.Nil(t, w.history().Unsealed())

	w.part(release.Part{Slug: "hip"}, map[release.CutKind]float64{"filament": 11, "resin": 12.5})
	w.without("hat")
	w.part(release.Part{Slug: "leg"}, map[release.CutKind]float64{"any": 14})
	h := w.history()
	want := []string{
		"arm: any>any unchanged",
		"hip: filament>filament unchanged, resin>resin changed",
		"leg: none>any added",
		"hat: any>none removed",
	}
	require.Equal(t, want, kinds(h.ToWorking[0]))
	require.Equal(t, &h.ToWorking[0], h.Unsealed())
	fromFiles := h.ToWorking[0].Parts[1].Cuts[1]
	d, onNew := fromFiles.Change.Largest()
	require.InDelta(t, 0.5, d.Largest, 1e-4, "a box 12 wide, now 12.5")
	require.True(t, onNew)
	require.NotNil(t, fromFiles.Overlay)
	require.Len(t, fromFiles.Overlay.Marks, 1)
	require.Equal(t, "0.50 mm", fromFiles.Overlay.Marks[0].Label)
	require.NotEqual(t, shadow.Side, fromFiles.Overlay.Is.View, "it grew along x")
	require.Contains(t, fromFiles.Picture(draw.OverlayOptions{ID: "hip", Title: "Hip"}), "0.50 mm")
	require.Nil(t, h.ToWorking[0].Parts[0].Cuts[0].Overlay)
	require.Empty(t, h.ToWorking[0].Parts[0].Cuts[0].Picture(draw.OverlayOptions{}))
	w.seal()
	h = w.history()
	require.Equal(t, fromFiles.Change, h.ToNext[0].Parts[1].Cuts[1].Change, "to the last bit, from sealed meshes alone")
	require.Equal(t, fromFiles.Overlay, h.ToNext[0].Parts[1].Cuts[1].Overlay)
	require.Equal(t, want, kinds(h.ToNext[0]), "between the revisions as to the files that were sealed")
	require.Equal(t, want, kinds(h.ToWorking[0]))
	require.True(t, h.ToWorking[1].Same())
	require.Equal(t, "A", h.ToNext[0].From)
	require.Equal(t, "B", h.ToNext[0].To)
	require.Empty(t, h.ToWorking[0].To)

	w.part(release.Part{Slug: "hip"}, map[release.CutKind]float64{"filament": 11, "resin": 12})
	h = w.history()
	require.Equal(t, change.Unchanged, h.ToWorking[0].Parts[1].Cuts[1].Kind, "the old mesh is back")
	require.Equal(t, change.Changed, h.ToWorking[1].Parts[1].Cuts[1].Kind)
}

// A cut for all processes that gives way to one for each is followed by what each
// process prints.
func TestHistoryFollowsWhatIsPrinted(t *testing.T) {
	w := newWorkshop(t)
	w.part(release.Part{Slug: "torso"}, map[release.CutKind]float64{"any": 10})
	w.part(release.Part{Slug: "back"}, map[release.CutKind]float64{"any": 17})
	w.seal()
	w.part(release.Part{Slug: "torso"}, map[release.CutKind]float64{"any": 10, "resin": 12, "flexible": 14})
	w.part(release.Part{Slug: "back", Only: bench.Resin}, map[release.CutKind]float64{"any": 17})
	s := w.history().ToWorking[0]
	require.Equal(t, []string{
		"torso: any>any unchanged, any>resin changed, any>flexible changed",
		"back: any>any unchanged, any>none removed",
	}, kinds(s))
	for use, want := range map[history.Use]release.CutKind{
		{Process: bench.Filament}: "any", {Process: bench.Resin}: "resin",
		{Process: bench.Filament, Flexible: true}: "flexible", {Process: bench.Resin, Flexible: true}: "flexible",
	} {
		c, ok := s.Parts[0].In(use)
		require.True(t, ok)
		require.Equal(t, want, c.Is.Kind)
	}
	_, ok := s.Parts[1].In(history.Use{Process: bench.Filament})
	require.True(t, ok, "it was printed in filament then")

	w.part(release.Part{Slug: "torso"}, map[release.CutKind]float64{"any": 10, "filament": 11, "resin": 12})
	require.Equal(t, "torso: none>any added, any>filament changed, any>resin changed", kinds(w.history().ToWorking[0])[0], "a cut that no process takes is still told")
}

func TestHistoryKnowsARenamedPart(t *testing.T) {
	w := newWorkshop(t)
	w.part(release.Part{Slug: "arm", Name: "Arm"}, map[release.CutKind]float64{"filament": 10, "resin": 11})
	w.part(release.Part{Slug: "leg", Name: "Leg"}, map[release.CutKind]float64{"any": 12})
	w.seal()
	w.without("arm")
	w.part(release.Part{Slug: "upper-arm", Name: "Upper arm"}, map[release.CutKind]float64{"filament": 10, "resin": 11.5})
	s := w.history().ToWorking[0]
	require.Equal(t, []string{"leg: any>any unchanged", "upper-arm: filament>filament unchanged, resin>resin changed"}, kinds(s))
	require.Equal(t, "Arm", s.Parts[1].Was.Name)
	require.False(t, s.Same())

	w.part(release.Part{Slug: "leg", Name: "Leg"}, map[release.CutKind]float64{"any": 10})
	w.part(release.Part{Slug: "thigh", Name: "Thigh"}, map[release.CutKind]float64{"any": 12})
	require.Equal(t, "leg: any>any changed", kinds(w.history().ToWorking[0])[0], "the slug goes before the mesh")
}

// Nothing about a sealed mesh that is lost or spoilt stops a build, and a working
// file with the same mesh does as well.
func TestLostGeometryIsSaid(t *testing.T) {
	w := newWorkshop(t)
	w.st = store.Open(t.TempDir(), "salt")
	w.part(release.Part{Slug: "arm"}, map[release.CutKind]float64{"any": 10})
	w.seal()
	file := filepath.Join(w.release().Dir, filepath.FromSlash(w.release().Revisions[0].Parts[0].Cuts[0].Geometry))
	good, err := os.ReadFile(file)
	require.NoError(t, err)
	w.part(release.Part{Slug: "arm"}, map[release.CutKind]float64{"any": 11})
	whole := w.history().ToWorking[0]
	require.NotNil(t, whole.Parts[0].Cuts[0].Change)
	require.Equal(t, whole, w.history().ToWorking[0], "from the store")

	now, err := readMesh(w.release().Parts[0].Cuts[0].File)
	require.NoError(t, err)
	other := mesh.Pack(now)
	lost, err := history.CheckSealed(t.Context(), w.site, w.st)
	require.NoError(t, err)
	require.Empty(t, lost)
	for name, c := range map[string]struct {
		spoil func()
		why   string
	}{
		"missing":      {func() { require.NoError(t, os.Remove(file)) }, "the sealed geometry is missing"},
		"cut short":    {func() { require.NoError(t, os.WriteFile(file, good[:len(good)/2], 0o644)) }, "the sealed geometry is damaged"},
		"earlier form": {func() { require.NoError(t, os.WriteFile(file, []byte("cardmesh\x01 and so on"), 0o644)) }, "the sealed geometry is in the form of an earlier program, which this one does not read"},
		"another mesh": {func() { require.NoError(t, os.WriteFile(file, other, 0o644)) }, "the sealed geometry is damaged"},
		"a link that leads out": {func() {
			out := filepath.Join(t.TempDir(), "x.mesh")
			require.NoError(t, os.WriteFile(out, good, 0o644))
			require.NoError(t, os.Remove(file))
			require.NoError(t, os.Symlink(out, file))
		}, "the sealed geometry is missing"},
		"a folder": {func() { require.NoError(t, os.Remove(file)); require.NoError(t, os.Mkdir(file, 0o755)) }, "the sealed geometry is missing"},
	} {
		t.Run(name, func(t *testing.T) {
			c.spoil()
			got := w.history().ToWorking[0].Parts[0].Cuts[0]
			require.Equal(t, change.Changed, got.Kind)
			require.Nil(t, got.Change, "the store does not hide it")
			require.Equal(t, c.why, got.Why)
			lost, err := history.CheckSealed(t.Context(), w.site, w.st)
			require.NoError(t, err)
			sealed := w.release().Revisions[0].Parts[0].Cuts[0]
			require.Equal(t, []history.LostMesh{{Release: 1, Revision: "A", Cut: "any", File: "releases/01-box/" + sealed.Geometry, Why: c.why}}, lost)
			w.part(release.Part{Slug: "leg"}, map[release.CutKind]float64{"any": 10})
			require.Equal(t, whole.Parts[0].Cuts[0].Change, w.history().ToWorking[0].Parts[0].Cuts[0].Change, "a working file has it")
			w.without("leg")
			os.Remove(file)
			require.NoError(t, os.WriteFile(file, good, 0o644))
			require.Equal(t, whole, w.history().ToWorking[0], "put back")
		})
	}

	t.Run("a working mesh that cannot be read", func(t *testing.T) {
		require.NoError(t, os.WriteFile(w.release().Parts[0].Cuts[0].File, []byte("no mesh"), 0o644))
		got := w.history().ToWorking[0].Parts[0].Cuts[0]
		require.Equal(t, change.Changed, got.Kind)
		require.Equal(t, "the working mesh cannot be read", got.Why)
		require.False(t, w.history().ToWorking[0].Same())
	})
}

func TestAStepIsTheSameWhateverTheOrder(t *testing.T) {
	rod := func(id string, n int, cut float64) release.HardwareUse {
		return release.HardwareUse{Item: bench.Hardware{ID: id, Name: id}, Count: n, Cut: cut}
	}
	w := newWorkshop(t)
	w.part(release.Part{Slug: "arm", Quantity: 2}, map[release.CutKind]float64{"any": 10})
	w.part(release.Part{Slug: "leg"}, map[release.CutKind]float64{"any": 10})
	w.release().Hardware = []release.HardwareUse{rod("rod", 1, 18), rod("glue", 1, 0), rod("rod", 2, 18), rod("rod", 1, 20)}
	w.seal()
	require.Equal(t, []release.SealedHardware{{Item: "rod", Name: "rod", Count: 3, Cut: 18}, {Item: "glue", Name: "glue", Count: 1}, {Item: "rod", Name: "rod", Count: 1, Cut: 20}},
		w.release().Revisions[0].Hardware, "lines of the same cut are one")
	r := w.release()
	r.Parts[0], r.Parts[1] = r.Parts[1], r.Parts[0]
	r.Hardware = []release.HardwareUse{rod("rod", 1, 20), rod("rod", 3, 18), rod("glue", 1, 0)}
	require.True(t, w.history().ToWorking[0].Same())
	for name, alter := range map[string]func(){
		"hardware count":  func() { r.Hardware[0].Count++ },
		"hardware length": func() { r.Hardware[0].Cut++ },
		"quantity":        func() { r.Parts[1].Quantity++ },
		"twin":            func() { r.Parts[1].MirroredTwin = true },
		"name":            func() { r.Parts[1].Name = "Other" },
		"choice":          func() { r.Parts[1].Choice = "hat" },
		"only":            func() { r.Parts[1].Only = bench.Resin },
	} {
		parts, hardware := append([]release.Part(nil), r.Parts...), append([]release.HardwareUse(nil), r.Hardware...)
		alter()
		require.False(t, w.history().ToWorking[0].Same(), name)
		r.Parts, r.Hardware = parts, hardware
	}
}

// A revision keeps no outlines: what is sealed draws them again. The corners are
// those of the mesh to the last bit, and its triangles are the same ones, so the
// shadow is too, up to the rounding of sums that are taken in another order.
func TestSealedGeometryDrawsTheSameOutlines(t *testing.T) {
	for _, file := range []string{"01-lamplighter/parts/torso/resin.stl", "03-fog-moths/parts/antenna/resin.stl"} {
		m, err := readMesh(filepath.Join("..", "..", "..", "content", "releases", filepath.FromSlash(file)))
		require.NoError(t, err)
		again, err := mesh.Unpack(mesh.Pack(m))
		require.NoError(t, err)
		require.Equal(t, m.Fingerprint(), again.Fingerprint())
		require.Equal(t, m.Bounds(), again.Bounds())
		for _, v := range shadow.Views {
			a, err := shadow.Of(t.Context(), m, v)
			require.NoError(t, err)
			b, err := shadow.Of(t.Context(), again, v)
			require.NoError(t, err)
			require.InEpsilon(t, a.Area(), b.Area(), 1e-9, "%s, %s", file, v)
			require.Equal(t, len(a), len(b), "as many outlines and holes")
		}
	}
}

// Text is edited by hand: what a revision states of a mesh is held against the mesh
// that was sealed with it.
func TestEditedMeasuresOfARevisionAreSaid(t *testing.T) {
	w := newWorkshop(t)
	w.st = store.Open(t.TempDir(), "salt")
	w.part(release.Part{Slug: "arm"}, map[release.CutKind]float64{"any": 10})
	w.seal()
	w.seal()
	lost, err := history.CheckSealed(t.Context(), w.site, w.st)
	require.NoError(t, err)
	require.Empty(t, lost)
	sealed := &w.release().Revisions[1].Parts[0].Cuts[0] // the second: the first stays right
	was := *sealed
	for want, edit := range map[string]func(){
		"a volume of ":    func() { sealed.Volume *= 1.1 },
		"a area of ":      func() { sealed.Area += 5 },
		"a width of ":     func() { sealed.Size[0] += .01 },
		"a height of ":    func() { sealed.Size[2] -= 1 },
		" triangles, and": func() { sealed.Triangles++ },
	} {
		*sealed = was
		edit()
		lost, err := history.CheckSealed(t.Context(), w.site, w.st)
		require.NoError(t, err)
		require.Len(t, lost, 1, want)
		require.Equal(t, "B", lost[0].Revision)
		require.Equal(t, "releases/01-box/revisions.yaml", lost[0].File)
		require.Contains(t, lost[0].Differs, strings.Replace(want, "a area", "an area", 1))
		require.Empty(t, lost[0].Why)
	}
}
