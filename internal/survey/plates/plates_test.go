package plates_test

import (
	"math"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/measure/shadow"
	"cardback/internal/measure/slice"
	"cardback/internal/mesh"
	"cardback/internal/meshtest"
	"cardback/internal/release"
	"cardback/internal/rotation"
	"cardback/internal/store"
	"cardback/internal/survey"
	"cardback/internal/survey/plates"
)

// laid lays the first release of a site on its plate of that id.
func laid(t *testing.T, s *release.Site, st *store.Store, id string, w plates.Wishes) *plates.Set {
	t.Helper()
	found, err := survey.Run(t.Context(), s, st, nil)
	require.NoError(t, err)
	for _, p := range s.Bench.Plates {
		if p.ID == id {
			set, err := plates.Lay(t.Context(), s.Releases[0], p, found, st, w)
			require.NoError(t, err)
			return set
		}
	}
	require.FailNow(t, "no such plate")
	return nil
}

// boxSite is a site of boxes: one part for each name, of one cut for any process.
func boxSite(t *testing.T, dir string, parts []release.Part, sizes [][3]float64) *release.Site {
	s := &release.Site{Root: dir, Releases: []release.Release{{Number: 1}}, Bench: bench.Bench{Plates: []bench.Plate{
		{ID: "r", Process: bench.Resin, Width: 120, Depth: 68, Height: 155},
		{ID: "f", Process: bench.Filament, Width: 220, Depth: 220, Height: 250},
	}}}
	for i, p := range parts {
		file := filepath.Join(dir, p.Slug+".stl")
		if sizes[i] != [3]float64{} {
			meshtest.WriteBox(t, file, sizes[i][0], sizes[i][1], sizes[i][2])
		}
		p.Name = p.Slug
		p.Quantity = max(p.Quantity, 1)
		p.Cuts = []release.Cut{{Kind: release.CutAny, File: file, Rel: p.Slug + ".stl"}}
		s.Releases[0].Parts = append(s.Releases[0].Parts, p)
	}
	return s
}

// slugs of the pieces, "~" before a mirrored one.
func slugs(set *plates.Set) (out []string) {
	for _, p := range set.Pieces {
		name := p.Part.Slug
		if p.Mirrored {
			name = "~" + name
		}
		out = append(out, name)
	}
	return out
}

func TestAFullPrintIsLaid(t *testing.T) {
	s := boxSite(t, t.TempDir(), []release.Part{
		{Slug: "arm", Quantity: 2, MirroredTwin: true},
		{Slug: "hat", Choice: "headgear"},
		{Slug: "cap", Choice: "headgear"},
		{Slug: "hull"}, // longer than the resin plate from corner to corner
		{Slug: "fore", Replaces: "hull"},
		{Slug: "aft", Replaces: "hull"},
		{Slug: "lost"},
		{Slug: "nozzle", Only: bench.Filament},
	}, [][3]float64{{30, 10, 8}, {20, 20, 10}, {22, 20, 10}, {190, 60, 60}, {100, 60, 60}, {90, 60, 60}, {}, {5, 5, 5}})

	set := laid(t, s, nil, "r", plates.Wishes{Spacing: plates.Spacing})
	require.Equal(t, []string{"arm", "~arm", "hat", "fore", "aft"}, slugs(set))
	require.Equal(t, []string{"lost: its mesh cannot be read"}, set.Missing)
	require.Len(t, set.Choices, 1)
	require.Equal(t, "hat", set.Choices[0].Taken.Slug)
	require.Equal(t, "cap", set.Choices[0].Others[0].Slug)
	require.Len(t, set.Splits, 1)
	require.Equal(t, "hull", set.Splits[0].Whole.Slug)
	require.Equal(t, fit.CannotFit, set.Splits[0].Fit.Verdict)
	placed := 0
	for _, plate := range set.Layout.Plates {
		placed += len(plate)
	}
	require.Equal(t, 2+2+1+1+1, placed)
	require.Empty(t, set.Layout.Unplaced)

	set = laid(t, s, nil, "f", plates.Wishes{Choices: []string{"cap"}})
	require.Equal(t, []string{"arm", "~arm", "cap", "hull", "nozzle"}, slugs(set), "a large plate takes the whole")
	require.Equal(t, "hat", set.Choices[0].Others[0].Slug)
	require.Empty(t, set.Splits)

	_, err := plates.Lay(t.Context(), s.Releases[0], s.Bench.Plates[0], nil, nil, plates.Wishes{Choices: []string{"hull"}})
	require.ErrorContains(t, err, `"hull" is not a part to choose`)
}

// A beam of 150 × 30 × 5 goes on the plate of 120 × 68 × 155 standing alone.
func TestThePoseIsKeptWhereItFits(t *testing.T) {
	s := boxSite(t, t.TempDir(), []release.Part{
		{Slug: "flat", Tilt: 30, TiltAbout: "x"},
		{Slug: "beam", Tilt: 30, TiltAbout: "x"},
	}, [][3]float64{{40, 20, 4}, {150, 30, 5}})
	set := laid(t, s, nil, "r", plates.Wishes{Spacing: 2})
	flat, beam := set.Pieces[0], set.Pieces[1]
	require.True(t, flat.Kept)
	require.Equal(t, slice.Pose{Tilt: 30, About: "x"}, flat.Pose)
	// sin 30° = 1/2, cos 30° = √3/2: 20/2 + 4·√3/2 high, and 20·√3/2 + 4/2 deep.
	require.InDelta(t, 10+4*0.8660254037844386, flat.Height, 1e-9)
	require.InDelta(t, 40*(20*0.8660254037844386+2), flat.Outline.Area(), 1e-4)
	require.False(t, beam.Kept)
	require.Greater(t, beam.Height, 120.0)
	require.Len(t, set.Layout.Plates[0], 2)
}

// A hull that fits neither whole nor in its pieces: those that do fit are laid, and
// the split is known to be short.
func TestASplitWhosePiecesDoNotAllFitIsShort(t *testing.T) {
	for fore, short := range map[float64]bool{100: false, 180: true} {
		s := boxSite(t, t.TempDir(), []release.Part{
			{Slug: "hull"}, {Slug: "fore", Replaces: "hull"}, {Slug: "aft", Replaces: "hull"},
		}, [][3]float64{{190, 60, 60}, {fore, 60, 60}, {90, 60, 60}})
		set := laid(t, s, nil, "r", plates.Wishes{Spacing: plates.Spacing})
		require.Len(t, set.Splits, 1)
		require.Equal(t, short, set.Short(set.Splits[0]), "%v", fore)
		if short {
			require.Len(t, set.Layout.Unplaced, 1)
			require.Equal(t, "fore", set.Pieces[set.Layout.Unplaced[0].Piece].Part.Slug)
		}
	}
}

// Of a beam that fits only in another orientation than the one recommended, the
// pieces are laid, which keep theirs; where nobody recommends one, or the pieces do
// not keep theirs either, the beam.
func TestPiecesThatKeepTheirPoseAreLaidRatherThanAWholeThatDoesNot(t *testing.T) {
	for _, c := range []struct {
		name         string
		whole, piece string // about which axis they are to be tilted
		length       float64
		want         []string
	}{
		{"pieces keep", "x", "x", 75, []string{"fore", "aft"}},
		{"nothing recommended", "", "", 75, []string{"beam"}},
		{"nothing keeps", "x", "x", 140, []string{"beam"}},
		{"recommended for pieces alone", "", "x", 140, []string{"beam"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			tilt := map[string]float64{"x": 30}
			s := boxSite(t, t.TempDir(), []release.Part{
				{Slug: "beam", Tilt: tilt[c.whole], TiltAbout: c.whole},
				{Slug: "fore", Replaces: "beam", Tilt: tilt[c.piece], TiltAbout: c.piece},
				{Slug: "aft", Replaces: "beam", Tilt: tilt[c.piece], TiltAbout: c.piece},
			}, [][3]float64{{150, 30, 5}, {c.length, 30, 5}, {c.length, 30, 5}})
			set := laid(t, s, nil, "r", plates.Wishes{Spacing: 2})
			require.Equal(t, c.want, slugs(set))
			if len(c.want) == 2 {
				require.Equal(t, fit.Tipped, set.Splits[0].Fit.Verdict)
			}
			if c.whole == "" {
				require.False(t, set.Pieces[0].Kept)
				require.False(t, set.Pieces[0].Fit.Otherwise(), "nothing was recommended that it does not keep")
			}
		})
	}
}

// A twin stands in the mirror image of its original's pose, about y too.
func TestATwinIsTheMirrorImageAsItStands(t *testing.T) {
	s := boxSite(t, t.TempDir(), []release.Part{{Slug: "wing", MirroredTwin: true, Tilt: 25, TiltAbout: "y"}}, [][3]float64{{40, 20, 4}})
	set := laid(t, s, nil, "r", plates.Wishes{Spacing: 2})
	a, b := set.Pieces[0], set.Pieces[1]
	low, high := span(a.Outline)
	lowB, highB := span(b.Outline)
	require.Equal(t, shadow.Point{X: -high.X, Y: low.Y}, lowB)
	require.Equal(t, shadow.Point{X: -low.X, Y: high.Y}, highB)
	require.Equal(t, a.Outline.Area() > 0, b.Outline.Area() > 0)
	require.InDelta(t, a.Outline.Area(), b.Outline.Area(), 1e-9)
	for k, v := range b.Rotation { // by −25° about y
		want := a.Rotation[k]
		if k == 2 || k == 6 {
			want = -want
		}
		require.Equal(t, want, v, "%d", k)
	}
}

func span(o shadow.Outline) (low, high shadow.Point) {
	low, high = o[0][0], o[0][0]
	for _, r := range o {
		for _, p := range r {
			low = shadow.Point{X: min(low.X, p.X), Y: min(low.Y, p.Y)}
			high = shadow.Point{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
		}
	}
	return low, high
}

func TestPlatesAreKeptInTheStore(t *testing.T) {
	dir := t.TempDir()
	s := boxSite(t, dir, []release.Part{{Slug: "wing", MirroredTwin: true, Tilt: 25, TiltAbout: "y"}}, [][3]float64{{40, 20, 4}})
	st := store.Open(filepath.Join(t.TempDir(), "cache"), "salt")
	found, err := survey.Run(t.Context(), s, st, nil)
	require.NoError(t, err)
	r, plate := s.Releases[0], s.Bench.Plates[0]
	cold, err := plates.Lay(t.Context(), r, plate, found, st, plates.Usual)
	require.NoError(t, err)
	meshtest.WriteBox(t, filepath.Join(dir, "wing.stl"), 41, 20, 4) // not surveyed again: not read again either
	warm, err := plates.Lay(t.Context(), r, plate, found, st, plates.Usual)
	require.NoError(t, err)
	require.Equal(t, cold, warm)

	// Where it is read again, it must be what was measured.
	changed, err := plates.Lay(t.Context(), r, plate, found, nil, plates.Usual)
	require.NoError(t, err)
	require.Empty(t, changed.Pieces)
	require.Equal(t, []string{"wing: its mesh has changed since it was measured"}, changed.Missing)
}

// An orientation of one process lays the part so for that one alone, and the layers that
// are counted are those of the pose that is laid: a bar of 100 × 6 × 4 raised by 35° about
// y is 100·sin 35° + 4·cos 35° high.
func TestPlatesObeyAnOrientationForOneProcess(t *testing.T) {
	s := boxSite(t, t.TempDir(), []release.Part{{Slug: "pole", Tilt: 35, TiltAbout: "y", TiltFor: bench.Resin}}, [][3]float64{{100, 6, 4}})
	found, err := survey.Run(t.Context(), s, nil, nil)
	require.NoError(t, err)
	r := s.Releases[0]
	sin, cos := math.Sincos(35 * math.Pi / 180)
	for _, p := range s.Bench.Plates {
		set, err := plates.Lay(t.Context(), r, p, found, nil, plates.Usual)
		require.NoError(t, err)
		require.Len(t, set.Pieces, 1)
		piece := set.Pieces[0]
		want := 4.0
		if p.Process == bench.Resin {
			want = 100*sin + 4*cos
		}
		require.InDelta(t, want, piece.Height, 1e-6, p.ID) // of 32-bit coordinates up to 100 mm
		require.True(t, piece.Kept)
		l := found.Of(piece.Cut).Layers[p.Process]
		require.Equal(t, piece.Pose, l.Pose)
		require.InDelta(t, piece.Height, l.Height, 1e-6)
		require.Equal(t, int(math.Ceil(want/l.Layer-0.001)), l.Count)
	}
}

// The demo's pole, of which the notes say that one end is raised by about 35°, stands so
// on the plate: its longest side makes that angle with it.
func TestTheDemosPoleIsRaisedAsItsNotesSay(t *testing.T) {
	s, err := release.Load(filepath.Join("..", "..", "..", "content"))
	require.NoError(t, err)
	i := slices.IndexFunc(s.Releases, func(r release.Release) bool { return r.Number == 1 })
	r := s.Releases[i]
	r.Parts = slices.DeleteFunc(slices.Clone(r.Parts), func(p release.Part) bool { return p.Slug != "lamp-pole" })
	one := *s
	one.Releases = []release.Release{r}
	found, err := survey.Run(t.Context(), &one, nil, nil)
	require.NoError(t, err)
	for _, p := range s.Bench.Plates {
		if p.Process != bench.Resin {
			continue
		}
		set, err := plates.Lay(t.Context(), r, p, found, nil, plates.Usual)
		require.NoError(t, err)
		require.Len(t, set.Pieces, 1)
		along := rotation.Apply(set.Pieces[0].Rotation, mesh.Vec{X: 1}) // the file has it along x
		require.InDelta(t, 35, math.Abs(math.Asin(along.Z))*180/math.Pi, 1, p.ID)
	}
}
