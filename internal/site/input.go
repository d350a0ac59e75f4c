package site

import (
	"time"

	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
	"cardback/internal/survey/history"
	"cardback/internal/verdict"
)

// Input is everything a build shows.
type Input struct {
	Site   *release.Site
	Survey survey.Survey
	// Store keeps what goes into downloads; it may be nil, and everything is made anew.
	Store    *store.Store
	Cells    []verdict.Cell                // the material table
	Plates   map[int][]verdict.PlateAnswer // by release number, in bench order
	Findings []verdict.Finding
	// Laid is each release's full print on plates of the design standard, by
	// release number, in the order of the processes; it may be nil.
	Laid map[int][]*survey.PlateSet
	// History is how each release's sealed revisions differ from what came after; it
	// may be nil.
	History history.History
	// Lost is what history.CheckSealed says of the sealed meshes; it may be nil.
	Lost []history.LostMesh
	// BaseURL is the absolute address the site will have; empty means the
	// address in Site. Only the feed, the sitemap, robots.txt and the page for
	// missing addresses need it.
	BaseURL string
	// Backlog asks for the designer's own page of what is left to do, with a link to it
	// at the foot of every page. It is not for publishing, and the sitemap leaves it out.
	Backlog bool
	Version string // of the program, shown in the footer; may be empty
}

// Judged fills Cells, Plates and Findings by asking verdict.
func (in Input) Judged() Input {
	in.Cells = verdict.Table(in.Site, in.Survey, verdict.SameShapes(in.History))
	in.Findings = append(verdict.Findings(in.Site, in.Survey), verdict.SealedFindings(in.Lost)...)
	in.Plates = map[int][]verdict.PlateAnswer{}
	for _, r := range in.Site.Releases {
		in.Plates[r.Number] = verdict.Plates(in.Site, r, in.Survey)
	}
	return in
}

func (in Input) units() units { return units{inches: in.Site.UnitsShown == "mm+in"} }

func (in Input) baseURL() string {
	base := in.BaseURL
	if base == "" {
		base = in.Site.BaseURL
	}
	if base != "" && base[len(base)-1] != '/' {
		base += "/"
	}
	return base
}

// newest is the date of the newest release, the zero time without releases.
func (in Input) newest() time.Time {
	var t time.Time
	for _, r := range in.Site.Releases {
		if r.Released.After(t) {
			t = r.Released
		}
	}
	return t
}
