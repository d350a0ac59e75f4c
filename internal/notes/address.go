package notes

import (
	"net/url"
	"strings"

	"github.com/yuin/goldmark/util"
)

// final is an address as a page has it: marks and references such as &#47; are resolved
// as a renderer does.
func final(destination []byte) string { return string(util.URLEscape(destination, true)) }

// Target is where an address leads.
type Target int

const (
	Refused   Target = iota // no page may carry it
	Elsewhere               // another site, or a mail
	Within                  // from the site's root: /plates/
	Beside                  // relative to the page, or a place on it: #parts
)

// targetOf says where a final address leads as a browser takes it. A scheme that
// neither fetches a page nor writes a mail is refused; so would be a backslash, which
// browsers take for a slash, but final leaves none.
func targetOf(final string) Target {
	lower := strings.ToLower(strings.TrimLeft(final, " "))
	scheme, _, found := strings.Cut(lower, ":")
	switch {
	case strings.ContainsAny(final, "\\\t\r\n"):
		return Refused
	case strings.HasPrefix(lower, "//"):
		return Elsewhere
	case found && !strings.ContainsAny(scheme, "/?#"):
		switch scheme {
		case "http", "https":
			if u, err := url.Parse(final); err != nil || u.Host == "" {
				return Refused // browsers differ in what they make of it
			}
			return Elsewhere
		case "mailto":
			return Elsewhere
		}
		return Refused
	case strings.HasPrefix(lower, "/"):
		return Within
	}
	return Beside
}

// lead sets where r leads, and takes an address in the site apart.
func (r *Reference) lead(final string) {
	r.Address, r.To = final, targetOf(final)
	if r.To != Within && r.To != Beside {
		return
	}
	r.Path = final
	if i := strings.IndexByte(r.Path, '#'); i >= 0 {
		r.Path, r.Place = r.Path[:i], r.Path[i:]
	}
	if i := strings.IndexByte(r.Path, '?'); i >= 0 {
		r.Path, r.query = r.Path[:i], r.Path[i:]
	}
}

// from is the address on a page from which root leads to the site's root. One that ends in
// a slash names the page's file; one that is refused is empty.
func (r *Reference) from(root string) string {
	switch r.To {
	case Refused:
		return ""
	case Within:
		path := root + strings.TrimPrefix(r.Path, "/")
		if strings.HasSuffix(r.Path, "/") {
			path += "index.html"
		}
		return path + r.query + r.Place
	}
	return r.Address
}
