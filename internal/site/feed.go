package site

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"slices"
	"strings"
	"time"

	"cardback/internal/release"
	"cardback/internal/words"
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

// feed writes the releases and their sealed revisions, newest first. Identifiers
// are the published addresses: they are permanent, because a release's folder is,
// and a revision's name.
func (b *builder) feed() error {
	base, s := b.in.address(), b.in.Site
	f := atomFeed{
		Lang: s.Language, Title: s.Title, Subtitle: s.Tagline, ID: base,
		Links:  []atomLink{{Rel: "self", Type: "application/atom+xml", Href: base + "feed.xml"}, {Rel: "alternate", Type: "text/html", Href: base + "index.html"}},
		Author: atomPerson{s.Designer},
	}
	// Of entries of one day the release with the higher number comes first, and of
	// one release what came last.
	var all []feedEntry
	for _, r := range slices.Backward(s.Releases) {
		if r.Draft {
			continue // whoever follows the feed is told when it is released
		}
		all = append(all, b.revisionEntries(r)...)
		all = append(all, b.releaseEntry(r))
	}
	slices.SortStableFunc(all, func(a, c feedEntry) int { return c.at.Compare(a.at) })
	var newest time.Time
	for _, e := range all {
		f.Entries = append(f.Entries, e.atomEntry)
		if e.at.After(newest) {
			newest = e.at
		}
	}
	f.Updated = instant(newest)
	return b.writeXML("feed.xml", f)
}

// feedEntry is an entry with the date that it is sorted by.
type feedEntry struct {
	atomEntry
	at time.Time
}

func (b *builder) releaseEntry(r release.Release) feedEntry {
	base := b.in.address()
	address := base + releasePath(r)
	links := []atomLink{{Rel: "alternate", Type: "text/html", Href: address}}
	if len(b.items(r)) > 0 {
		links = append(links, atomLink{Rel: "enclosure", Type: "image/png", Href: base + releaseDir(r) + "parts.png"})
	}
	return feedEntry{atomEntry{
		Title: fmt.Sprintf("%d. %s", r.Number, r.Title), ID: address,
		Updated: instant(r.Released), Published: instant(r.Released),
		Links:   links,
		Rights:  r.Licence,
		Summary: r.Summary,
	}, r.Released}
}

// revisionEntries has an entry for each sealed revision, newest first: what
// changed, and what to print again for whoever printed the one before.
func (b *builder) revisionEntries(r release.Release) []feedEntry {
	var out []feedEntry
	for _, n := range b.in.Of(r.Number).Changes.Notes {
		if n.Name == "" {
			continue
		}
		text := []string{"Revision " + n.Name + "."}
		if n.Note != "" {
			text = append(text, ended(n.Note))
		}
		if n.Faults != "" {
			text = append(text, "Sealed although a fault stood: "+ended(n.Faults))
		}
		if n.Advice != nil {
			text = append(text, n.Advice.Summary)
		}
		address := b.in.address() + releasePath(r) + "#" + revisionID(n.Name)
		out = append(out, feedEntry{atomEntry{
			Title: fmt.Sprintf("%d. %s: revision %s", r.Number, r.Title, n.Name), ID: address,
			Updated: instant(n.Date), Published: instant(n.Date),
			Links:   []atomLink{{Rel: "alternate", Type: "text/html", Href: address}},
			Rights:  r.Licence,
			Summary: strings.Join(text, " "),
		}, n.Date})
	}
	return out
}

// ended is a text with a full stop, where it has no end of its own.
func ended(s string) string {
	s = strings.TrimSpace(s)
	if s == "" || strings.ContainsAny(s[len(s)-1:], ".!?") {
		return s
	}
	return s + "."
}

// newestOf is when the release last changed: its own date, or its last revision's.
func newestOf(r release.Release) time.Time {
	t := r.Released
	for _, v := range r.Revisions {
		if v.Date.After(t) {
			t = v.Date
		}
	}
	return t
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
	base := b.in.address()
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
			e.LastMod = words.Date(p.date)
		}
		m.URLs = append(m.URLs, e)
	}
	if err := b.writeXML("sitemap.xml", m); err != nil {
		return err
	}
	return b.write("robots.txt", []byte("User-agent: *\nAllow: /\nSitemap: "+base+"sitemap.xml\n"))
}
