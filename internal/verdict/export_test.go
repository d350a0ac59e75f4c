package verdict

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
	"cardback/internal/verdict/hardware"
	"cardback/internal/verdict/standing"
)

// What Check and Judge are made of, for tests that ask one thing of one release.

func SmallPartsOf(r release.Release, s survey.Survey) SmallParts {
	return smallPartsOf(r, s, hardware.Of(r))
}

func Cautions(site *release.Site, r release.Release, s survey.Survey) []Caution {
	items := hardware.Of(r)
	return cautionsOf(site, r, s, items, smallPartsOf(r, s, items))
}

func Findings(site *release.Site, s survey.Survey) []Finding {
	var out []Finding
	c, err := Check(context.Background(), site, s, nil)
	if err != nil {
		panic(err)
	}
	for _, f := range c.Findings {
		if f.Release != 0 {
			out = append(out, f)
		}
	}
	return out
}

func Table(site *release.Site, s survey.Survey, same standing.SameShape) []standing.Cell {
	var out []standing.Cell
	for _, r := range site.Releases {
		out = append(out, tableRow(site, r, s, same)...)
	}
	return out
}

var (
	FluxIndex        = fluxIndexOf
	HardwareCautions = hardwareCautions
	Stands           = stands
	Credits          = credits
	Plates           = onPlates
	SiteFindings     = siteFindings
	SealedFindings   = sealedFindings
	FigureOf         = figureHeight
)

// BacklogInput is a site of which everything that the backlog asks is stated by hand.
type BacklogInput struct {
	Site     *release.Site
	Survey   survey.Survey
	Cells    []standing.Cell
	Plates   map[int][]PlateAnswer // by release number
	Findings []Finding
	History  history.History
}

// Judged is the site with what is stated.
func (in BacklogInput) Judged() *Judged {
	j := &Judged{Checked: &Checked{Site: in.Site, Survey: in.Survey}, History: in.History}
	for _, r := range in.Site.Releases {
		one := Release{CheckedRelease: &CheckedRelease{Plates: in.Plates[r.Number]}}
		for _, c := range in.Cells {
			if c.Release == r.Number {
				one.Cells = append(one.Cells, c)
			}
		}
		for _, f := range in.Findings {
			if f.Release == r.Number {
				one.Findings = append(one.Findings, f)
			}
		}
		j.releases = append(j.releases, one)
	}
	return j
}

// Counting tells f of each answer that is made while the test runs.
func Counting(t *testing.T, f func(answer string, release int)) {
	require.NotNil(t, f)
	before := made
	made = f
	t.Cleanup(func() { made = before })
}
