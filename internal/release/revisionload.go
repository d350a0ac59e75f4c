package release

import (
	"fmt"
	"io/fs"
	"math"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"cardback/internal/fields"
	"cardback/internal/words"
)

// RevisionsFile is the file of a release's folder that holds its history, and
// SealedFolder the folder beside it with the geometry that was sealed.
const (
	RevisionsFile = "revisions.yaml"
	SealedFolder  = "sealed"
)

const (
	// MostRevisions is the largest revisions.yaml read, in bytes: a hundred
	// revisions of a release of a hundred meshes.
	MostRevisions = 4 << 20
	// mostMeasure bounds what a sealed volume (mm³), area (mm²) or extent (mm) may
	// be: no printer comes near it, and it is written without an exponent.
	mostMeasure = 1e15
)

var fingerprintPattern = regexp.MustCompile(`^[0-9a-f]{64}$`)

// RevisionName is the name of the i-th revision, from 0: A to Z, then AA, AB and
// so on.
func RevisionName(i int) string {
	var b []byte
	for n := i + 1; n > 0; n = (n - 1) / 26 {
		b = append(b, 'A'+byte((n-1)%26))
	}
	slices.Reverse(b)
	return string(b)
}

// FindRevision is the revision of that name, nil where there is none.
func (r Release) FindRevision(name string) *Revision {
	for i := range r.Revisions {
		if strings.EqualFold(r.Revisions[i].Name, name) {
			return &r.Revisions[i]
		}
	}
	return nil
}

// LastRevision is the latest revision, nil where none was sealed.
func (r Release) LastRevision() *Revision {
	if len(r.Revisions) == 0 {
		return nil
	}
	return &r.Revisions[len(r.Revisions)-1]
}

// loadRevisions reads a release's history, where it has one.
func (l *loader) loadRevisions(rel string) []Revision {
	entries, err := l.list(rel)
	if err != nil {
		return nil // the notes were read from it; whatever is wrong is told with the parts
	}
	if !slices.ContainsFunc(entries, func(e fs.DirEntry) bool { return e.Name() == RevisionsFile }) {
		for _, e := range entries {
			if near, ok := fields.Nearest(e.Name(), []string{RevisionsFile}); ok {
				l.problem(path.Join(rel, e.Name()), "file %q is not read; did you mean %q?", e.Name(), near)
			}
		}
		return nil
	}
	file := path.Join(rel, RevisionsFile)
	data, err := l.read(file, MostRevisions)
	if err != nil {
		l.problem(file, "cannot be read (%s); expected the sealed revisions, which \"cardback seal\" writes", err)
		return nil
	}
	revs, d := l.readRevisions(path.Join(l.shown, file), data)
	l.finish(d)
	return revs
}

// readRevisions reads revisions.yaml. The document is still open: Finish tells
// its problems.
func (l *loader) readRevisions(name string, data []byte) ([]Revision, *fields.Document) {
	d, list := fields.ParseEntries(name, data, "revisions")
	var out []Revision
	for i, m := range list {
		rev := Revision{
			Name: m.Text("name", fields.Required), Date: m.Date("date", fields.Required),
			Note: m.Text("note", fields.Required), Faults: m.Text("faults", fields.Optional),
			Parts: l.sealedParts(d, m), Hardware: sealedHardware(m),
		}
		if want := RevisionName(i); rev.Name != "" && rev.Name != want {
			m.Errorf("name", "revision %q stands where %q is expected; revisions are named A, B, C and so on, oldest first", rev.Name, want)
		}
		if i > 0 && m.OK("date") && rev.Date.Before(out[i-1].Date) {
			m.Errorf("date", "date %s is before that of the revision above, %s; expected the same day or a later one", words.Date(rev.Date), words.Date(out[i-1].Date))
		}
		out = append(out, rev)
	}
	return out, d
}

func (l *loader) sealedParts(d *fields.Document, m *fields.Map) []SealedPart {
	var out []SealedPart
	seen := map[string]bool{}
	for _, t := range m.Tables("parts", fields.Required) {
		p := SealedPart{
			Slug: t.Text("slug", fields.Required), Name: t.Text("name", fields.Optional),
			Quantity: t.Count("quantity", fields.Optional, 1), MirroredTwin: t.Bool("mirrored_twin", fields.Optional),
			Only:   l.processOf(t, "only"),
			Choice: t.Text("choice", fields.Optional), Replaces: t.Text("replaces", fields.Optional),
		}
		switch {
		case p.Slug == "":
		case !slugPattern.MatchString(p.Slug):
			t.Errorf("slug", "slug %q has other characters than a to z, 0 to 9 and hyphen; expected the part's folder as it was then", p.Slug)
		case seen[p.Slug]:
			t.Errorf("slug", "part %q is given twice in this revision; remove one", p.Slug)
		case p.Name == "":
			p.Name = nameFrom(p.Slug)
		}
		seen[p.Slug] = true
		if cuts := t.Table("cuts", fields.Required); cuts != nil {
			for _, kind := range l.cutKinds() {
				if c := cuts.Table(string(kind), fields.Optional); c != nil {
					p.Cuts = append(p.Cuts, sealedCut(kind, c))
				}
			}
			if len(cuts.Names()) == 0 && cuts.Whole() {
				t.Errorf("cuts", "there is no cut; expected %s", l.kindsInWords())
			}
		}
		out = append(out, p)
	}
	if len(out) == 0 && m.OK("parts") {
		m.Errorf("parts", "there are no parts; expected a list, each beginning with a dash")
	}
	return out
}

func sealedCut(kind CutKind, m *fields.Map) SealedCut {
	c := SealedCut{
		Kind: kind, Fingerprint: m.Text("fingerprint", fields.Required),
		Triangles: int(m.Number("triangles", fields.Required, 0, mostMeasure)),
		Volume:    m.Number("volume", fields.Required, -mostMeasure, mostMeasure),
		Area:      m.Number("area", fields.Required, 0, mostMeasure),
		Geometry:  m.Text("geometry", fields.Required),
	}
	if c.Fingerprint != "" && !fingerprintPattern.MatchString(c.Fingerprint) {
		m.Errorf("fingerprint", "fingerprint %q is not 64 digits of 0 to 9 and a to f; expected it as \"cardback measure\" prints it", short(c.Fingerprint))
	}
	size := m.Texts("size", fields.Required)
	if len(size) != 3 && m.OK("size") {
		m.Errorf("size", "size has %d numbers; expected three, width, depth and height in mm", len(size))
	}
	for k, s := range size {
		v, err := fields.ParseNumber(s.Text)
		switch {
		case err != nil:
			m.Errorf("size", "%s", err)
		case v < 0 || v > mostMeasure:
			m.Errorf("size", "size %s is no extent; expected three numbers of mm, such as [12.5, 8, 40]", s.Text)
		case k < 3:
			c.Size[k] = v
		}
	}
	if g := c.Geometry; g != "" && !isInside(g) {
		m.Errorf("geometry", "geometry %q is not a path inside the release's folder; expected one such as sealed/0123456789abcdef.mesh", g)
		c.Geometry = ""
	}
	return c
}

// isInside reports whether p is a plain path with slashes to something below the
// folder it is relative to.
func isInside(p string) bool {
	return filepath.IsLocal(filepath.FromSlash(p)) && !strings.ContainsAny(p, `\:`) && path.Clean(p) == p && p != "."
}

// short cuts a long word for a sentence.
func short(s string) string {
	if r := []rune(s); len(r) > 70 {
		return string(r[:69]) + "…"
	}
	return s
}

func sealedHardware(m *fields.Map) []SealedHardware {
	var out []SealedHardware
	for _, t := range m.Tables("hardware", fields.Optional) {
		h := SealedHardware{
			Item: t.Text("item", fields.Required), Name: t.Text("name", fields.Optional),
			Count: t.Count("count", fields.Optional, 1), Cut: t.Length("cut", fields.Optional),
		}
		if h.Item == "" {
			continue
		}
		if h.Name == "" {
			h.Name = h.Item
		}
		out = append(out, h)
	}
	return out
}

// MergeHardware is the hardware list as it is sealed: lines of the same item and
// cut length are one, in the order they first stand in.
func MergeHardware(list []HardwareUse) []SealedHardware {
	var out []SealedHardware
	for _, u := range list {
		i := slices.IndexFunc(out, func(h SealedHardware) bool { return h.Item == u.Item.ID && h.Cut == u.Cut })
		if i < 0 {
			out = append(out, SealedHardware{Item: u.Item.ID, Name: u.Item.Name, Cut: u.Cut})
			i = len(out) - 1
		}
		out[i].Count += u.Count
	}
	return out
}

// roundMeasure is a measure with the digits that a revision keeps: to 10⁻⁴ of a
// millimetre, of its square or of its cube. It is finer than any printer, and
// leaves lines that a person can read.
func roundMeasure(v float64) float64 {
	r := math.Round(v*1e4) / 1e4
	if math.IsInf(r, 0) || r == 0 { // too large to scale; or −0
		return v + 0
	}
	return r
}

// checkMeasures refuses what a revision cannot state.
func (c SealedCut) checkMeasures() error {
	for _, v := range []float64{c.Volume, c.Area, c.Size[0], c.Size[1], c.Size[2]} {
		if math.IsNaN(v) || math.Abs(v) > mostMeasure {
			return fmt.Errorf("a measure of it comes to %g, which is no part's; check its unit", v)
		}
	}
	return nil
}
