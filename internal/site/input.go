package site

import (
	"time"

	"cardback/internal/store"
	"cardback/internal/verdict"
)

// Input is everything a build shows: a site as it was judged, and what the build adds.
type Input struct {
	*verdict.Judged
	// Store keeps what goes into downloads; it may be nil, and everything is made anew.
	Store *store.Store
	// Address is the absolute address the site will have; empty means the
	// address in Site. Only the feed, the sitemap, robots.txt and the page for
	// missing addresses need it.
	Address string
	// ShowBacklog asks for the designer's own page of what is left to do, with a link to it
	// at the foot of every page. It is not for publishing, and the sitemap leaves it out.
	ShowBacklog bool
	Version     string // of the program, shown in the footer; may be empty
}

func (in Input) units() units { return units{inches: in.Site.UnitsShown == "mm+in"} }

func (in Input) address() string {
	base := in.Address
	if base == "" {
		base = in.Site.Address
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
