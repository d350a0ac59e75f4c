package release

import (
	"cardback/internal/fields"
	"cardback/internal/notes"
)

// body reads the text of notes and tells its problems. Links within the site are
// remembered until all its pages are known.
func (l *loader) body(d *fields.Document, body string) *notes.Document {
	doc, problems := notes.Parse(body)
	before := d.BodyLine() - 1 // lines of the file
	for _, p := range problems {
		d.Errorf(before+p.Line, p.Column, "%s", p.Text)
	}
	for _, r := range doc.References() {
		if !r.Image && (r.To == notes.Within || r.To == notes.Beside) {
			line, column := doc.Place(r.Pos())
			l.links = append(l.links, link{Reference: r, at: d.At(before+line, column)})
		}
	}
	return doc
}
