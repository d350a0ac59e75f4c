package site

import (
	"net/url"
	"strings"

	"cardback/internal/release"
)

// Frame is what every page has around its own content. Addresses given to To
// are paths from the site's root.
type Frame struct {
	Lang, Site, Tagline, Designer string
	Title, Description            string
	Path                          string // this page's file, from the site's root
	Root                          string // from this page to the site's root: "", "../", "../../"
	CSS, Icon                     string // from the site's root
	Nav, Foot                     []NavItem
	Links                         []release.Link
	Licence                       Licence
	Version                       string
	Method                        string // the page that says how numbers are computed
}

// NavItem is a link in a list; Current marks the page it is on.
type NavItem struct {
	Label, Href string
	Current     bool
}

// To is the address of a file of the site as seen from this page.
func (f Frame) To(path string) string { return f.Root + path }

// MethodOf is the address of a section of the page on measuring.
func (f Frame) MethodOf(section string) string {
	return f.To(f.Method) + "#" + section
}

// HeadTitle is the document's title: the page's, then the site's.
func (f Frame) HeadTitle() string {
	if f.Title == "" || f.Title == f.Site {
		return f.Site
	}
	return f.Title + " · " + f.Site
}

func (b *builder) frame(path, title, description string) Frame {
	s := b.in.Site
	f := Frame{
		Lang: s.Language, Site: s.Title, Tagline: s.Tagline, Designer: s.Designer,
		Title: title, Description: description,
		Path: path, Root: strings.Repeat("../", strings.Count(path, "/")),
		CSS: b.css, Icon: b.icon,
		Links: s.Links, Licence: licence(s.Licence), Version: b.in.Version, Method: methodPath,
	}
	if f.Lang == "" {
		f.Lang = "en"
	}
	section := path[:strings.IndexByte(path+"/", '/')]
	item := func(label, href string) NavItem {
		return NavItem{label, href, href == path || strings.Contains(href, "/") && section == href[:strings.IndexByte(href, '/')]}
	}
	f.Nav = []NavItem{item("Catalogue", "index.html"), item("Materials", "materials/index.html"), item("Plates", "plates/index.html")}
	if len(s.Bench.Hardware) > 0 {
		f.Nav = append(f.Nav, item("Hardware", "hardware/index.html"))
	}
	for _, p := range s.Pages {
		f.Nav = append(f.Nav, item(p.Title, pagePath(p)))
	}
	f.Foot = []NavItem{
		item("How it is measured", methodPath),
		item("Feed", "feed.xml"),
		item("Data files", dataPath),
	}
	if b.in.ShowBacklog {
		f.Foot = append(f.Foot, item("Backlog, the designer’s own", backlogPath))
	}
	return f
}

// atAnyDepth makes a frame's links begin with the base address's path, for a
// page that is served in place of any address.
func (f Frame) atAnyDepth(base string) Frame {
	f.Root = "/"
	if u, err := url.Parse(base); err == nil && strings.HasPrefix(u.Path, "/") {
		f.Root = u.EscapedPath()
	}
	return f
}

// Licence is a licence to show: its identifier, its name, and the address of
// its text where known.
type Licence struct{ ID, Name, URL string }

func licence(id string) Licence {
	if l, ok := release.FindLicence(id); ok {
		return Licence{ID: l.ID, Name: l.Name, URL: l.URL}
	}
	return Licence{ID: id, Name: id}
}
