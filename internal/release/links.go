package release

import (
	"errors"
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/fields"
	"cardback/internal/notes"
)

// link is an address in notes that leads to somewhere in the site.
type link struct {
	*notes.Reference
	at      fields.Error // its place, still without a message
	release int          // number of the release whose notes it stands in; 0 for a page
}

// PagePlaces are the places that the page of a release has beside the sections of its
// notes and part-1, part-2 and so on; some only where there is something to say.
var PagePlaces = []string{"content", "print-it", "my-plate", "material", "downloads", "laid", "parts", "hardware", "settings", "cautions", "standings", "test-prints", "changes", "findings", "credits"}

// Addresses are those of the site's pages and of its files that keep their names,
// each from the site's root; a page's ends in a slash.
func (s *Site) Addresses() []string {
	out := []string{"/", "/materials/", "/plates/", "/data/", "/how-measured/", "/catalogue.json", "/feed.xml", "/sitemap.xml", "/robots.txt"}
	for _, p := range s.Bench.Plates {
		out = append(out, "/plates/"+p.ID+"/")
	}
	if len(s.Bench.Hardware) > 0 {
		out = append(out, "/hardware/")
	}
	for _, h := range s.Bench.Hardware {
		out = append(out, "/hardware/"+h.ID+"/")
	}
	for _, p := range s.Pages {
		out = append(out, "/"+p.Slug+"/")
	}
	for _, r := range s.Releases {
		at := "/releases/" + FolderName(r.Number, r.Slug) + "/"
		out = append(out, at, at+"release.json")
	}
	return out
}

// checkLinks holds the addresses that notes have in the site to its pages.
func (l *loader) checkLinks() {
	known := append(l.site.Addresses(), l.seen...)
	for _, k := range l.links {
		if err := l.checkLink(k, known); err != nil {
			e := k.at
			e.Message = err.Error()
			l.errs = append(l.errs, e)
		}
	}
}

func (l *loader) checkLink(k link, known []string) error {
	to, place := k.Path, strings.TrimPrefix(k.Place, "#")
	switch {
	case k.Address == "":
		return errors.New("the link has no address; expected one that begins with https://, http://, mailto: or /")
	case to == "" && k.Place == "", to != "" && !strings.HasPrefix(to, "/"):
		hint := "expected one such as /releases/07-lamplighter/"
		if near := "/" + strings.TrimSuffix(strings.TrimPrefix(path.Clean("/"+strings.ToLower(to)), "/"), path.Ext(to)) + "/"; slices.Contains(known, near) {
			hint = fmt.Sprintf("did you mean %q?", near)
		}
		return fmt.Errorf("the address %q is relative, and notes are shown on more than one page; write it from the site's root, %s", k.Written, hint)
	case to == "":
		return l.checkPlace(k.release, place)
	}
	page := strings.TrimSuffix(to, "index.html")
	if !slices.Contains(known, page) {
		if l.mayBeThere(page) {
			return nil
		}
		if slices.Contains(known, page+"/") {
			return fmt.Errorf("the address %q does not end in a slash, as a page's does; write %q", k.Written, page+"/")
		}
		hint := "expected one such as /plates/"
		if near, ok := fields.Nearest(page, known); ok {
			hint = fmt.Sprintf("did you mean %q?", near)
		} else if len(l.seen) > 0 {
			hint += " or " + l.seen[0]
		}
		return fmt.Errorf("the address %q leads to no page of the site; %s", k.Written, hint)
	}
	if place == "" {
		return nil
	}
	for _, r := range l.site.Releases {
		if page == "/releases/"+FolderName(r.Number, r.Slug)+"/" {
			return l.checkPlace(r.Number, place)
		}
	}
	return nil // the places of other pages are the theme's
}

// mayBeThere reports whether an address is of a kind of page that could not be read
// whole: what is not among them then proves nothing.
func (l *loader) mayBeThere(page string) bool {
	switch top, _, _ := strings.Cut(strings.TrimPrefix(page, "/"), "/"); top {
	case "plates":
		return l.benchFailed("plates.yaml")
	case "hardware":
		return l.noHardware
	}
	return false
}

// checkPlace looks for a place on the page of a release, or of a further page, where
// the number is 0.
func (l *loader) checkPlace(number int, place string) error {
	if place == "" || place == "top" { // a browser goes to the beginning
		return nil
	}
	if number == 0 {
		return fmt.Errorf("there is no place %q on this page; expected an address from the site's root, such as /releases/07-lamplighter/#parts", "#"+place)
	}
	i := slices.IndexFunc(l.site.Releases, func(r Release) bool { return r.Number == number })
	if i < 0 {
		return nil // its own problems are told
	}
	r := l.site.Releases[i]
	if n, err := strconv.Atoi(strings.TrimPrefix(place, "part-")); err == nil && place == "part-"+strconv.Itoa(n) && n >= 1 && n <= len(r.Parts) {
		return nil
	}
	var known []string
	for _, s := range r.Notes.Sections() {
		if s.Anchor != "" {
			known = append(known, s.Anchor)
		}
	}
	known = append(known, PagePlaces...)
	if slices.Contains(known, place) {
		return nil
	}
	return fmt.Errorf("there is no place %q on the page of %q; %s", "#"+place, r.Title, fields.Suggest(place, known))
}
