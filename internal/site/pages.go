package site

import (
	"html/template"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/notes"
	"cardback/internal/release"
)

// methodPath is the page that says how every number is computed.
const methodPath = "how-measured/index.html"

// dataPath is the page that explains the data files.
const dataPath = "data/index.html"

// TextPage is a page of text.
type TextPage struct {
	Frame
	Body   template.HTML
	ByMass []string // of the method: the processes whose stock is measured by mass
}

func pagePath(p release.Page) string { return p.Slug + "/index.html" }

func (b *builder) furtherPages() error {
	for _, page := range b.in.Site.Pages {
		path := pagePath(page)
		p := TextPage{Frame: b.frame(path, page.Title, firstWords(page.Text.Lead()))}
		var err error
		if p.Body, err = page.Text.Render(notes.Page{Root: p.Root, Top: 2}); err != nil {
			return err
		}
		b.record(path, b.in.newest())
		if err := b.page("page", path, p); err != nil {
			return err
		}
	}
	d := TextPage{Frame: b.frame(dataPath, "Data files", "The fields of catalogue.json and release.json, and their units.")}
	b.record(dataPath, b.in.newest())
	if err := b.page("data", dataPath, d); err != nil {
		return err
	}
	p := TextPage{Frame: b.frame(methodPath, "How it is measured", "What every number on these pages means, how it is computed, and how to have it again.")}
	for _, proc := range b.in.Site.Bench.InUse() {
		if proc.Measured == bench.ByMass {
			p.ByMass = append(p.ByMass, processName(proc))
		}
	}
	b.record(methodPath, b.in.newest())
	return b.page("method", methodPath, p)
}

// missing writes the page for addresses that are not there. A host serves it
// at any depth, so its links begin at the base address's path.
func (b *builder) missing() error {
	p := TextPage{Frame: b.frame("404.html", "Not here", "There is no page at this address.").atAnyDepth(b.in.address())}
	return b.page("missing", p.Path, p)
}

// firstWords is the beginning of a text, for a description.
func firstWords(text string) string {
	const most = 155
	r := []rune(text)
	if len(r) <= most {
		return text
	}
	cut := string(r[:most])
	if i := strings.LastIndexByte(cut, ' '); i > 0 {
		cut = cut[:i]
	}
	return cut + "…"
}
