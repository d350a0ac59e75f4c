package verdict

import (
	"context"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/notes"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
	"cardback/internal/survey/plates"
	"cardback/internal/verdict/hardware"
	"cardback/internal/verdict/needs"
	"cardback/internal/verdict/reprint"
	"cardback/internal/verdict/seats"
	"cardback/internal/verdict/standing"
)

// Checked is what a site's notes and meshes come to by themselves: everything that
// asks neither what was sealed before nor how the prints are laid on plates. It is all
// that stands between a site and its publishing, and the first half of Judged.
type Checked struct {
	Site   *release.Site
	Survey survey.Survey
	// Findings are those of the site as a whole, then by release, then of sealed meshes.
	Findings []Finding
	Uses     []ItemUse // of the bench's hardware, in its order

	releases []CheckedRelease // of Site.Releases, in their order
}

// CheckedRelease is what one release's notes and meshes come to.
type CheckedRelease struct {
	Hardware []hardware.Bought // what it takes of bought items
	CutLists []hardware.CutList
	Small    SmallParts
	Cautions []Caution
	AtSteps  map[*notes.Step]*notes.Caution // what of them a page says at the steps of the notes
	Stance   *Stance                        // how it stands; nil where nothing is said of that
	Height   *FigureHeight                  // nil where there is no figure to measure
	Credits  []CreditedWork
	Scaled   []seats.ScaledRod
	Plates   []PlateAnswer // in bench order
	Prints   []AnyPlate    // by process in use, in their order

	cuts map[string]CutAnswer // of those that were measured, by release.Cut.Rel
}

// AnyPlate is a release as one process prints it, whatever the plate.
type AnyPlate struct {
	Plan  printing.Plan
	Parts []PartFit // of Plan.Parts, in their order: the cut that is printed, or, in Text, why there is none to try
}

// onAnyPlate is the release as each process in use prints it.
func onAnyPlate(site *release.Site, r release.Release, found survey.Survey) []AnyPlate {
	var out []AnyPlate
	for _, proc := range site.Bench.InUse() {
		a := AnyPlate{Plan: printing.Of(r, proc)}
		for _, p := range a.Plan.Parts {
			a.Parts = append(a.Parts, OnAnyPlate(p, found))
		}
		out = append(out, a)
	}
	return out
}

// CutAnswer is one cut against the materials that it is meant for.
type CutAnswer struct {
	Meant []bench.Material
	Items []seats.Fit // what the part takes, in this cut's holes
	// Grave are the materials for which some place is so thin that it wants care, and Near
	// those for which some is thin, and none so grave.
	Grave, Near []bench.Material
}

// ItemUse is what a site's releases take of one item of hardware.
type ItemUse struct {
	Item     bench.Hardware
	Cautions []Caution
	By       []ReleaseUse      // the releases that take it, in their order
	Length   float64           // mm in all their pieces whose length is stated
	Together *hardware.CutList // the pieces of all of them cut at once; nil where it has no cut list
}

// ReleaseUse is what one release takes of an item.
type ReleaseUse struct {
	Release int // number
	Bought  hardware.Bought
	CutList *hardware.CutList // nil where the item has none
}

// Judged is everything that pages, archives, data files and commands tell of a site, each
// answer made once. It is never written to once it is made, and safe for concurrent use.
type Judged struct {
	*Checked
	History history.History
	Laid    map[int][]*plates.Set // by release number
	Cells   []standing.Cell       // the material table, by release, then in bench order

	releases []Release
}

// Release is one release as it was judged.
type Release struct {
	*CheckedRelease
	Findings []Finding
	Cells    []standing.Cell // in bench order
	Needs    []needs.Process
	Changes  reprint.Changes
}

// made is told of each answer as it is made, and of the release's number, for the test
// that counts them.
var made = func(answer string, release int) {}

// Check holds a site's notes and meshes against the bench and against each other. lost is
// what history.CheckSealed says of the sealed meshes. It errs only as ctx does.
func Check(ctx context.Context, site *release.Site, found survey.Survey, lost []history.LostMesh) (*Checked, error) {
	c := &Checked{Site: site, Survey: found, Findings: siteFindings(site)}
	for _, r := range site.Releases {
		of, findings, err := checkRelease(ctx, site, r, found)
		if err != nil {
			return nil, err
		}
		c.releases = append(c.releases, of)
		c.Findings = append(c.Findings, findings...)
	}
	c.Findings = append(c.Findings, sealedFindings(lost)...)
	var err error
	c.Uses, err = c.uses(ctx)
	return c, err
}

func checkRelease(ctx context.Context, site *release.Site, r release.Release, found survey.Survey) (of CheckedRelease, findings []Finding, err error) {
	made("hardware", r.Number)
	of = CheckedRelease{Hardware: hardware.Of(r), cuts: map[string]CutAnswer{}}
	made("cut lists", r.Number)
	if of.CutLists, err = hardware.CutLists(ctx, of.Hardware); err != nil {
		return of, nil, err
	}
	for _, p := range r.Parts {
		for _, c := range p.Cuts {
			if cs, ok := found.Measured(c); ok && cs.Report != nil {
				of.cuts[c.Rel] = answerFor(r, p, cs, site.Bench.Materials)
			}
		}
	}
	of.Small = smallPartsOf(r, found, of.Hardware)
	of.Cautions = cautionsOf(site, r, found, of.Hardware, of.Small)
	of.AtSteps = atSteps(r.Notes, of.Cautions)
	if st, ok := stands(r, found); ok {
		of.Stance = &st
	}
	if mm, from, ok := figureHeight(r, found); ok {
		of.Height = &FigureHeight{mm, from}
	}
	of.Credits = credits(r)
	made("scaled", r.Number)
	of.Scaled = seats.Scaled(site, r, found)
	of.Plates = onPlates(site, r, found)
	of.Prints = onAnyPlate(site, r, found)
	return of, findingsOf(site, r, found, &of), nil
}

// answerFor holds a measured cut against the materials that it is meant for.
func answerFor(r release.Release, p release.Part, cs *survey.CutSurvey, all []bench.Material) CutAnswer {
	a := CutAnswer{Meant: printing.Meant(r, p, cs.Cut, all)}
	a.Items = seats.Of(p, cs.Report.Bores, a.Meant)
	for _, m := range a.Meant {
		switch under := TooThin(cs.Report.Thin, m.WallMin, m.PinMin, 1); {
		case slices.ContainsFunc(under, ThinPlace.Grave):
			a.Grave = append(a.Grave, m)
		case len(under) > 0:
			a.Near = append(a.Near, m)
		}
	}
	return a
}

// uses gathers what all releases take of each item of the bench.
func (c *Checked) uses(ctx context.Context) ([]ItemUse, error) {
	var out []ItemUse
	for _, item := range c.Site.Bench.Hardware {
		use := ItemUse{Item: item, Cautions: hardwareCautions(item)}
		all := hardware.Bought{Item: item}
		for i := range c.releases {
			of := &c.releases[i]
			for _, b := range of.Hardware {
				if b.Item.ID != item.ID {
					continue
				}
				one := ReleaseUse{Release: c.Site.Releases[i].Number, Bought: b}
				if k := slices.IndexFunc(of.CutLists, func(l hardware.CutList) bool { return l.Item.ID == item.ID }); k >= 0 {
					one.CutList = &of.CutLists[k]
				}
				use.By = append(use.By, one)
				all.Length += b.Length
				all.Pieces = append(all.Pieces, b.Pieces...)
			}
		}
		use.Length = all.Length
		lists, err := hardware.CutLists(ctx, []hardware.Bought{all})
		if err != nil {
			return nil, err
		}
		if len(lists) > 0 {
			use.Together = &lists[0]
		}
		out = append(out, use)
	}
	return out, nil
}

// Judge adds to what was checked what rests on history and on how prints are laid: the
// standings, what is to be printed again, and what a print takes. Both may be nil; then a
// change since the last revision is not known, and times are of a single plate.
func (c *Checked) Judge(past history.History, laid map[int][]*plates.Set) *Judged {
	j := &Judged{Checked: c, History: past, Laid: laid}
	same := standing.SameShapes(past)
	for i, r := range c.Site.Releases {
		one := Release{CheckedRelease: &c.releases[i], Cells: tableRow(c.Site, r, c.Survey, same)}
		for _, f := range c.Findings {
			if f.Release == r.Number {
				one.Findings = append(one.Findings, f)
			}
		}
		made("needs", r.Number)
		one.Needs = needs.Of(c.Site, r, c.Survey, laid[r.Number])
		made("changes", r.Number)
		one.Changes = reprint.Of(r, past[r.Number])
		j.releases = append(j.releases, one)
		j.Cells = append(j.Cells, one.Cells...)
	}
	return j
}

// Of is a release of the site by its number, which it must have.
func (j *Judged) Of(number int) *Release {
	i := slices.IndexFunc(j.Site.Releases, func(r release.Release) bool { return r.Number == number })
	return &j.releases[i]
}

// Cut is the answer for one of the release's cuts that was measured.
func (r *CheckedRelease) Cut(c release.Cut) CutAnswer { return r.cuts[c.Rel] }
