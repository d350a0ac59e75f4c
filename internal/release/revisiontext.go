package release

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/fields"
	"cardback/internal/words"
)

// revisionsHead begins a new revisions.yaml.
const revisionsHead = `# What was sealed, oldest first. "cardback seal" adds to the end of this file and
# never changes what is above; comments of yours stay. Volumes are mm³, areas mm²,
# sizes mm as width, depth and height. The meshes are kept in the folder sealed.
revisions:
`

// AppendRevision adds rev at the end of the text of a revisions.yaml, nil for a
// new one, and returns the new text, which begins with the old. It was read
// again: it holds the old revisions and rev. b knows the processes; name is the file as messages show
// it; the error is a fields.Errors where the old text has problems.
func AppendRevision(b bench.Bench, name string, data []byte, rev Revision) ([]byte, error) {
	l := &loader{site: Site{Bench: b}}
	before, d := l.readRevisions(name, data)
	if problems := d.Finish(); len(problems) > 0 {
		return nil, problems
	}
	rev = rev.Tidy()
	entry, err := rev.lines()
	if err != nil {
		return nil, err
	}
	if len(data) == 0 {
		data = []byte(revisionsHead)
	}
	out, err := fields.AppendEntry(data, "revisions", entry)
	if bad := (fields.Errors)(nil); errors.As(err, &bad) {
		return nil, bad
	}
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	after, d := l.readRevisions(name, out)
	if problems := d.Finish(); len(problems) > 0 {
		return nil, fmt.Errorf("the revision cannot be added: %w", problems)
	}
	if len(after) != len(before)+1 || !reflect.DeepEqual(after, append(before, rev)) {
		return nil, fmt.Errorf("%s: the revision would not be read back as it was written; please report this with the file", name)
	}
	return out, nil
}

// Tidy is rev as it is read back: texts without rows of blanks, measures with the
// digits that are kept, cuts in their order.
func (rev Revision) Tidy() Revision {
	oneLine := func(s string) string { return strings.Join(strings.Fields(s), " ") }
	rev.Note, rev.Faults = oneLine(rev.Note), oneLine(rev.Faults)
	rev.Parts = append([]SealedPart(nil), rev.Parts...)
	for i := range rev.Parts {
		p := &rev.Parts[i]
		p.Name, p.Choice = oneLine(p.Name), oneLine(p.Choice)
		p.Cuts = append([]SealedCut(nil), p.Cuts...)
		slices.SortFunc(p.Cuts, func(a, b SealedCut) int {
			return CompareCuts(a.Kind, b.Kind)
		})
		for k := range p.Cuts {
			c := &p.Cuts[k]
			c.Volume, c.Area = roundMeasure(c.Volume), roundMeasure(c.Area)
			for j := range c.Size {
				c.Size[j] = roundMeasure(c.Size[j])
			}
		}
	}
	rev.Hardware = append([]SealedHardware(nil), rev.Hardware...)
	for i := range rev.Hardware {
		h := &rev.Hardware[i]
		h.Item, h.Name = oneLine(h.Item), oneLine(h.Name)
	}
	return rev
}

// lines is the entry in YAML, at the left margin.
func (rev Revision) lines() ([]string, error) {
	w := &entryWriter{}
	w.text("", "name", rev.Name)
	w.line("date: %s", words.Date(rev.Date))
	w.text("", "note", rev.Note)
	if rev.Faults != "" {
		w.text("", "faults", rev.Faults)
	}
	w.line("parts:")
	for _, p := range rev.Parts {
		w.text("  - ", "slug", p.Slug)
		w.text("    ", "name", p.Name)
		if p.Quantity != 1 {
			w.line("    quantity: %d", p.Quantity)
		}
		if p.MirroredTwin {
			w.line("    mirrored_twin: true")
		}
		if p.Only != nil {
			w.text("    ", "only", p.Only.ID)
		}
		if p.Choice != "" {
			w.text("    ", "choice", p.Choice)
		}
		if p.Replaces != "" {
			w.text("    ", "replaces", p.Replaces)
		}
		w.line("    cuts:")
		for _, c := range p.Cuts {
			if err := c.checkMeasures(); err != nil {
				return nil, fmt.Errorf("part %q, %s cut: %w", p.Slug, c.Kind, err)
			}
			w.line("      %s:", c.Kind)
			w.line("        fingerprint: %q", c.Fingerprint)
			w.line("        triangles: %d", c.Triangles)
			w.line("        volume: %s", words.Exact(c.Volume))
			w.line("        area: %s", words.Exact(c.Area))
			w.line("        size: [%s, %s, %s]", words.Exact(c.Size[0]), words.Exact(c.Size[1]), words.Exact(c.Size[2]))
			w.text("        ", "geometry", c.Geometry)
		}
	}
	if len(rev.Hardware) > 0 {
		w.line("hardware:")
	}
	for _, h := range rev.Hardware {
		w.text("  - ", "item", h.Item)
		w.text("    ", "name", h.Name)
		w.line("    count: %d", h.Count)
		if h.Cut > 0 {
			w.line("    cut: %s mm", words.Exact(h.Cut))
		}
	}
	return w.out, w.err
}

// entryWriter collects lines and the first text that cannot be written.
type entryWriter struct {
	out []string
	err error
}

func (w *entryWriter) line(format string, args ...any) {
	w.out = append(w.out, fmt.Sprintf(format, args...))
}

func (w *entryWriter) text(lead, name, value string) {
	s, err := fields.Scalar(value)
	if err != nil && w.err == nil {
		w.err = fmt.Errorf("the %s %q cannot be written (%w)", name, value, err)
	}
	w.line("%s%s: %s", lead, name, s)
}
