package site

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/fit/gauge"
	"cardback/internal/verdict"
)

func TestCautionsStandAtTheirSteps(t *testing.T) {
	f := newFixture(t)
	r := &f.in.Site.Releases[0]
	r.Notes = text(t, "## Story\n\n1. Cut the rod.\n\n## Assembly\n\n1. Cut the rod & file it.\n\n   Slowly.\n2. Push it in.\n3. Cut another rod; glue it, *gently*.\n\n## assembly\n\n1. Paint.\n2. Cut the last rod.\n")
	b := &builder{ctx: t.Context(), in: f.input()}
	_, sections, err := b.notes(*r, "")
	require.NoError(t, err)
	require.NotContains(t, string(sections[0].Body), "at-step", "a story has no steps")
	first := string(sections[1].Body)
	brief := "Cutting: eye protection, hold both sides of the cut, file the ends round."
	require.Contains(t, first, "<p>Slowly.</p>\n<p class=\"at-step\"><strong>Caution.</strong> "+brief+"</p>\n</li>")
	require.Equal(t, 1, strings.Count(first, brief), "once in a section")
	require.Contains(t, first, "Adhesive: moving air, eye protection, off the skin. Cutting rod and wire: as at step 1.</p>")
	require.Equal(t, 2, strings.Count(first, "at-step"), "step 2 needs none")
	second := string(sections[2].Body)
	require.Equal(t, 1, strings.Count(second, brief), "another section says it anew")
	require.NotContains(t, second, "Paint.\n<p", "its step 1 is not the first section's")
}

func TestSmallPartsAreSaidInWords(t *testing.T) {
	f := newFixture(t)
	b := &builder{ctx: t.Context(), in: f.input()}
	r := f.in.Site.Releases[0]
	cs, _ := f.in.Survey.Measured(r.Parts[2].Cuts[0])
	rows := b.partRows(r)
	require.Contains(t, rows[0].Notes, "small part: it fits the gauge", "in both cuts")
	require.Contains(t, rows[1].Notes, "small part: it fits the gauge")
	require.NotContains(t, strings.Join(rows[2].Notes, " "), "small")
	cs.Gauge.Verdict = gauge.Undecided
	resin, _ := f.in.Survey.Measured(r.Parts[0].Cuts[1])
	resin.Gauge.Verdict = gauge.Outside
	b = &builder{ctx: t.Context(), in: f.input()}
	require.Contains(t, b.partRows(r)[0].Notes, "small part: it fits the gauge (filament cut)")
	require.Contains(t, b.partRows(r)[2].Notes, "perhaps a small part: whether it fits the gauge is undecided")

	s := b.safety(r, b.frame(releasePath(r), r.Title, ""))
	require.True(t, s.Small)
	var small CautionRow
	for _, c := range s.Cautions {
		if c.Code == verdict.SmallPartCaution {
			small = c
		}
	}
	require.Contains(t, small.Why, "Body, Arm, Pole, upper piece and Cap")
	require.Contains(t, small.Why, "Of Pole it could not be ruled out.")
	require.Equal(t, "../../how-measured/index.html#small-parts", small.Method)
	require.Nil(t, s.Stance, "no pose, and more than one part")
	require.Equal(t, "yes", s.Credits[0].Class)
	require.Contains(t, s.Credits[0].Why, "CC-BY-SA-4.0")
}

func TestAReleaseOfOnePartSaysHowItStands(t *testing.T) {
	f := newFixture(t)
	f.in.Site.Releases[1].Parts = f.in.Site.Releases[1].Parts[:1]
	r := f.in.Site.Releases[1]
	b := &builder{ctx: t.Context(), in: f.input()}
	s := b.safety(r, b.frame(releasePath(r), r.Title, ""))
	require.NotNil(t, s.Stance)
	require.Contains(t, s.Stance.Sentence, "not known", "the fixture measured no stance")
	require.NotEmpty(t, s.Stance.Ground)
}
