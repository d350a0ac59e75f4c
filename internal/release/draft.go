package release

import (
	"slices"
	"time"
)

// NotYet is what released: says of a release that has no day yet.
const NotYet = "not yet"

// IsDraft reports whether r is still to be released on that day: it has no day yet,
// or a later one.
func (r Release) IsDraft(today time.Time) bool {
	return r.Released.IsZero() || r.Released.After(today)
}

// Published is the site without its drafts, and those. s stays as it is.
func (s *Site) Published(today time.Time) (*Site, []Release) {
	out := *s
	out.Releases = nil
	var drafts []Release
	for _, r := range s.Releases {
		if r.IsDraft(today) {
			drafts = append(drafts, r)
		} else {
			out.Releases = append(out.Releases, r)
		}
	}
	return &out, drafts
}

// WithDrafts is the site with its drafts marked as such: in Draft, and in the title,
// which stands on every page and in every file that names the release. s stays as it is.
func (s *Site) WithDrafts(today time.Time) *Site {
	out := *s
	out.Releases = slices.Clone(s.Releases)
	for i := range out.Releases {
		if r := &out.Releases[i]; r.IsDraft(today) {
			r.Draft = true
			r.Title += " (draft)"
		}
	}
	return &out
}
