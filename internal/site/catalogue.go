package site

import (
	"html/template"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/release"
	"cardback/internal/verdict/standing"
	"cardback/internal/words"
)

// CataloguePage is the model of the first page: the range as one chart.
type CataloguePage struct {
	Frame
	Entries []Entry
	Ruler   Charts
}

// Entry is one release on the chart.
type Entry struct {
	Number, Title, Href, Summary string
	Facts                        string
	Materials                    string
	Date, Machine                string
	Chart                        template.HTML
}

func (b *builder) catalogue() error {
	s := b.in.Site
	p := CataloguePage{Frame: b.frame("index.html", s.Title, s.Tagline)}
	scale := b.rangeScale()
	for _, r := range s.Releases {
		e := Entry{
			Number: strconv.Itoa(r.Number), Title: r.Title, Href: releasePath(r), Summary: r.Summary,
			Materials: b.offeredIn(r), Chart: b.rangeChart(r, scale),
		}
		height := r.Height
		if height == 0 && r.Scale == "" {
			if tall := b.in.Of(r.Number).Height; tall != nil {
				height = tall.MM
			}
		}
		if height > 0 {
			e.Facts = number(height, 0) + thin + "mm"
		} else {
			e.Facts = r.Scale
		}
		e.Facts = joinFacts(e.Facts, plural(len(r.Parts), "part", "parts"))
		known := e.Facts
		e.Facts = joinFacts(known, strings.Join(slices.DeleteFunc(slices.Clone(r.Tags), func(tag string) bool { return strings.Contains(known, tag) }), ", "))
		if !r.Released.IsZero() {
			e.Date, e.Machine = words.Day(r.Released), words.Date(r.Released)
		}
		p.Entries = append(p.Entries, e)
	}
	p.Ruler = b.rangeRuler(scale)
	b.record(p.Path, b.in.newest())
	return b.page("catalogue", p.Path, p)
}

func joinFacts(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + " · " + b
}

// offeredIn counts the materials a release is offered in and names the case
// where there is something to say.
func (b *builder) offeredIn(r release.Release) string {
	cells := b.in.Of(r.Number).Cells
	n := 0
	for _, c := range cells {
		if c.Standing != standing.NotOffered && c.Standing != standing.NotSuited {
			n++
		}
	}
	if len(cells) == 0 {
		return ""
	}
	return "offered in " + count(n) + " of " + plural(len(cells), "material", "materials")
}
