package site

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"slices"
	"time"

	"cardback/internal/release"
)

// Atom, RFC 4287.
type atomFeed struct {
	XMLName  xml.Name    `xml:"http://www.w3.org/2005/Atom feed"`
	Lang     string      `xml:"xml:lang,attr,omitempty"`
	Title    string      `xml:"title"`
	Subtitle string      `xml:"subtitle,omitempty"`
	ID       string      `xml:"id"`
	Updated  string      `xml:"updated"`
	Links    []atomLink  `xml:"link"`
	Author   atomPerson  `xml:"author"`
	Entries  []atomEntry `xml:"entry"`
}

type atomLink struct {
	Rel  string `xml:"rel,attr"`
	Type string `xml:"type,attr,omitempty"`
	Href string `xml:"href,attr"`
}

type atomPerson struct {
	Name string `xml:"name"`
}

type atomEntry struct {
	Title     string     `xml:"title"`
	ID        string     `xml:"id"`
	Updated   string     `xml:"updated"`
	Published string     `xml:"published"`
	Links     []atomLink `xml:"link"`
	Rights    string     `xml:"rights,omitempty"`
	Summary   string     `xml:"summary"`
}

// undated stands for the date of a release without one: a feed needs a date,
// and the build's clock would make two builds differ.
var undated = time.Unix(0, 0).UTC()

func instant(t time.Time) string {
	if t.IsZero() {
		t = undated
	}
	return t.UTC().Format(time.RFC3339)
}

// feed writes the releases, newest first. Identifiers are the published
// addresses: they are permanent, because a release's folder is.
func (b *builder) feed() error {
	base, s := b.in.baseURL(), b.in.Site
	f := atomFeed{
		Lang: s.Language, Title: s.Title, Subtitle: s.Tagline, ID: base, Updated: instant(b.in.newest()),
		Links:  []atomLink{{Rel: "self", Type: "application/atom+xml", Href: base + "feed.xml"}, {Rel: "alternate", Type: "text/html", Href: base + "index.html"}},
		Author: atomPerson{s.Designer},
	}
	rs := slices.Clone(s.Releases)
	slices.SortStableFunc(rs, func(a, c release.Release) int {
		if d := c.Released.Compare(a.Released); d != 0 {
			return d
		}
		return c.Number - a.Number
	})
	for _, r := range rs {
		address := base + releasePath(r)
		links := []atomLink{{Rel: "alternate", Type: "text/html", Href: address}}
		if len(b.items(r)) > 0 {
			links = append(links, atomLink{Rel: "enclosure", Type: "image/png", Href: base + releaseDir(r) + "parts.png"})
		}
		f.Entries = append(f.Entries, atomEntry{
			Title: fmt.Sprintf("%d. %s", r.Number, r.Title), ID: address,
			Updated: instant(r.Released), Published: instant(r.Released),
			Links:   links,
			Rights:  r.Licence,
			Summary: r.Summary,
		})
	}
	return b.writeXML("feed.xml", f)
}

func (b *builder) writeXML(path string, v any) error {
	var out bytes.Buffer
	out.WriteString(xml.Header)
	e := xml.NewEncoder(&out)
	e.Indent("", " ")
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	out.WriteByte('\n')
	return b.write(path, out.Bytes())
}

type sitemapEntry struct {
	path string
	date time.Time
}

// record notes a page for the sitemap.
func (b *builder) record(path string, changed time.Time) {
	b.sitemap = append(b.sitemap, sitemapEntry{path, changed})
}

// sitemaps writes the sitemap (sitemaps.org, protocol 0.9) and robots.txt.
func (b *builder) sitemaps() error {
	type entry struct {
		Loc     string `xml:"loc"`
		LastMod string `xml:"lastmod,omitempty"`
	}
	var m struct {
		XMLName xml.Name `xml:"http://www.sitemaps.org/schemas/sitemap/0.9 urlset"`
		URLs    []entry  `xml:"url"`
	}
	base := b.in.baseURL()
	pages := slices.Clone(b.sitemap)
	slices.SortFunc(pages, func(a, c sitemapEntry) int {
		switch {
		case a.path < c.path:
			return -1
		case a.path > c.path:
			return 1
		}
		return 0
	})
	for _, p := range pages {
		e := entry{Loc: base + p.path}
		if !p.date.IsZero() {
			e.LastMod = machine(p.date)
		}
		m.URLs = append(m.URLs, e)
	}
	if err := b.writeXML("sitemap.xml", m); err != nil {
		return err
	}
	return b.write("robots.txt", []byte("User-agent: *\nAllow: /\nSitemap: "+base+"sitemap.xml\n"))
}
