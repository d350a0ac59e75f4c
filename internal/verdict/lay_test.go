package verdict_test

import (
	"math"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict"
)

// bar is the hull of a bar l × w × h about the origin.
func bar(l, w, h float64) []mesh.Vec {
	var out []mesh.Vec
	for i := range 8 {
		out = append(out, mesh.Vec{X: l * (float64(i&1) - 0.5), Y: w * (float64(i>>1&1) - 0.5), Z: h * (float64(i>>2) - 0.5)})
	}
	return out
}

// A long bar along x that is tilted about x lies as flat as before; about y it rises.
// The reference is the turn itself: a direction along the axis of a turn stays.
func TestATiltThatOnlyRollsALongPartIsFound(t *testing.T) {
	for name, c := range map[string]struct {
		hull  []mesh.Vec
		tilt  float64
		about string
		level measure.Level
		found bool
	}{
		"along the axis":       {bar(120, 8, 4), 30, "x", measure.Caution, true},
		"across the axis":      {bar(120, 8, 4), 30, "y", measure.Caution, false},
		"along y, tilted by y": {bar(8, 120, 4), 40, "y", measure.Caution, true},
		"not a long part":      {bar(20, 12, 10), 30, "x", measure.Caution, false},
		"a slight tilt":        {bar(120, 8, 4), 5, "x", measure.Caution, false},
		"it stands":            {bar(8, 4, 120), 30, "x", measure.Caution, false},
		"tilted the other way": {bar(120, 8, 4), -30, "x", measure.Caution, true},
		"nothing to be laid":   {nil, 30, "x", measure.Caution, false},
	} {
		t.Run(name, func(t *testing.T) {
			f := figure()
			f.site.Releases[0].Parts[0].Tilt, f.site.Releases[0].Parts[0].TiltAbout = c.tilt, c.about
			p := f.site.Releases[0].Parts[0]
			cs := f.s[p.Cuts[0].Rel]
			cs.Report.Hull = c.hull
			cs.Layers = map[*bench.Process]*survey.Layers{bench.Resin: {}}
			var got []measure.Finding
			for _, x := range verdict.Findings(&f.site, f.s) {
				if x.Code == "only-rolled" {
					got = append(got, x.Finding)
				}
			}
			if !c.found {
				require.Empty(t, got)
				return
			}
			require.Len(t, got, 1)
			require.Equal(t, c.level, got[0].Level)
			require.Contains(t, got[0].Text, "it still lies flat")
			// From corner to corner the bar is atan(√(8² + 4²)/120) = 4.3° from its axis.
			rise := regexp.MustCompile(`the same tilt raises one end, to about (\d+)°`).FindStringSubmatch(got[0].Text)
			require.NotNil(t, rise, got[0].Text)
			to, err := strconv.ParseFloat(rise[1], 64)
			require.NoError(t, err)
			require.InDelta(t, math.Abs(c.tilt), to, 4.3+0.5)
		})
	}
}

// What the notes say in words and no orientation states is told; what is stated is not,
// nor an angle that is not of laying.
func TestAnAngleInTheNotesThatNothingStatesIsFound(t *testing.T) {
	for name, c := range map[string]struct {
		notes string
		part  release.Part
		found bool
	}{
		"unsaid":             {notes: "In resin, raise one end by about 35 degrees.", found: true},
		"with a sign":        {notes: "Tilt it 35° or more.", found: true},
		"said":               {notes: "In resin, raise one end by about 35 degrees.", part: release.Part{Tilt: 35, TiltAbout: "y", TiltFor: bench.Resin}},
		"said the other way": {notes: "Raise it by 35°.", part: release.Part{Tilt: -35, TiltAbout: "y"}},
		"said otherwise":     {notes: "Raise it by 35°.", part: release.Part{Tilt: 60, TiltAbout: "y"}, found: true},
		"an angle it turns":  {notes: "The elbow turns by 90 degrees."},
		"no angle":           {notes: "Raise it a little."},
	} {
		t.Run(name, func(t *testing.T) {
			f := figure()
			p := &f.site.Releases[0].Parts[0]
			p.Notes, p.Tilt, p.TiltAbout, p.TiltFor = c.notes, c.part.Tilt, c.part.TiltAbout, c.part.TiltFor
			f.s[p.Cuts[0].Rel].Layers = map[*bench.Process]*survey.Layers{bench.Resin: {}}
			n := 0
			for _, x := range verdict.Findings(&f.site, f.s) {
				if x.Code == "tilt-unsaid" {
					n++
					require.Contains(t, x.Text, "35°")
				}
			}
			require.Equal(t, c.found, n == 1, n)
		})
	}
}
