package release

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/fields"
	"cardback/internal/photo"
)

var (
	slugPattern   = regexp.MustCompile(`^[a-z0-9]+(?:-[a-z0-9]+)*$`)
	folderPattern = regexp.MustCompile(`^([0-9]{2,6})-([a-z0-9]+(?:-[a-z0-9]+)*)$`)
	scalePattern  = regexp.MustCompile(`^1 ?: ?([1-9][0-9]{0,3}(?:\.[0-9]+)?)$`)
)

// IsSlug reports whether s may name a release or a part.
func IsSlug(s string) bool { return len(s) <= MaxSlug && slugPattern.MatchString(s) }

const (
	// MaxSlug is the longest name of a release, a part or a page, in characters. The
	// names of what is published are made from up to two of them and some 60
	// characters more, and file systems take 255 bytes.
	MaxSlug = 80
	// maxFileName is the longest name of a photo or of a folder it is in, in bytes:
	// what is published is named for it, with some 20 characters more.
	maxFileName = 200
)

// clipped is a long name as it is shown: its beginning.
func clipped(name string) string {
	const most = 60
	if r := []rune(name); len(r) > most {
		return string(r[:most]) + "…"
	}
	return name
}

// FolderName is the folder of a release: "07-lamplighter".
func FolderName(number int, slug string) string { return fmt.Sprintf("%02d-%s", number, slug) }

// SplitFolderName splits "07-lamplighter".
func SplitFolderName(name string) (number int, slug string, ok bool) {
	m := folderPattern.FindStringSubmatch(name)
	if m == nil {
		return 0, "", false
	}
	n, err := strconv.Atoi(m[1])
	return n, m[2], err == nil && n > 0
}

// loadRelease reads one release folder. ok is false where there are no notes to
// read at all.
func (l *loader) loadRelease(rel string, number int, slug string) (Release, bool) {
	r := Release{Added: l.site.Bench.Added, Number: number, Slug: slug, Dir: filepath.Join(l.abs, filepath.FromSlash(rel)), SourceFile: path.Join(rel, "release.md")}
	data, err := l.read(r.SourceFile, maxNotes)
	if err != nil {
		l.problem(r.SourceFile, "cannot be read (%s); expected the release's notes, beginning with front matter", err)
		return r, false
	}
	d, body := fields.ParseNotes(path.Join(l.shown, r.SourceFile), data)
	before := len(l.links)
	r.Notes = l.body(d, body)
	for i := range l.links[before:] {
		l.links[before+i].release = number
	}
	m := d.Map()
	if n := m.Count("number", fields.Required, number); n != number {
		m.Errorf("number", "number %d differs from the folder's, which is %d; change one of them", n, number)
	}
	r.Title = m.Text("title", fields.Required)
	r.Height = m.Length("height", fields.Optional)
	r.Scale = scale(m)
	r.Released = m.DateOr("released", fields.Required, NotYet)
	r.Summary = m.Text("summary", fields.Required)
	r.Licence = licence(m, "licence", fields.Optional, true)
	if r.Licence == "" {
		r.Licence = l.site.Licence
	}
	for _, t := range m.Tables("credits", fields.Optional) {
		c := Credit{
			Work: t.Text("work", fields.Required), By: t.Text("by", fields.Required),
			Licence: licence(t, "licence", fields.Required, false),
			URL:     address(t, "url", fields.Optional), Note: t.Text("note", fields.Optional),
		}
		if c.Work != "" {
			r.Credits = append(r.Credits, c)
		}
	}
	r.Hardware = l.hardware(m, "hardware")
	r.Print = l.printSettings(m)
	for _, c := range m.Texts("cautions", fields.Optional) {
		r.Cautions = append(r.Cautions, c.Text)
	}
	for _, t := range m.Texts("tags", fields.Optional) {
		if slices.Contains(r.Tags, t.Text) {
			d.Errorf(t.Line, t.Column, "tag %q is given twice; remove one", t.Text)
			continue
		}
		r.Tags = append(r.Tags, t.Text)
	}
	order := m.Texts("parts", fields.Optional)
	r.Photos = l.photos(m, rel)
	r.Pose = l.pose(rel)
	l.looseMeshes(rel)
	l.loadParts(&r, rel, d, order)
	l.loadLog(&r, rel)
	r.Revisions = l.loadRevisions(rel)
	l.finish(d)
	return r, true
}

// scale reads "1:18"; spaces around the colon are dropped.
func scale(m *fields.Map) string {
	s := m.Text("scale", fields.Optional)
	if s == "" {
		return ""
	}
	match := scalePattern.FindStringSubmatch(s)
	if match == nil {
		m.Errorf("scale", "scale %q is not a ratio of one to a number; expected one such as \"1:18\"", s)
		return ""
	}
	return "1:" + match[1]
}

// hardware reads a list of bought items against the bench.
func (l *loader) hardware(m *fields.Map, name string) []HardwareUse {
	var ids []string
	for _, h := range l.site.Bench.Hardware {
		ids = append(ids, h.ID)
	}
	var out []HardwareUse
	for _, t := range m.Tables(name, fields.Optional) {
		id := t.Text("item", fields.Required)
		use := HardwareUse{Count: t.Count("count", fields.Optional, 1), Cut: t.Length("cut", fields.Optional), Where: t.Text("where", fields.Optional)}
		if id == "" {
			continue
		}
		i := slices.Index(ids, id)
		if i < 0 && l.noHardware {
			continue
		}
		if i < 0 {
			t.Errorf("item", "hardware %q is not on the bench; %s", id, fields.Suggest(id, ids))
			continue
		}
		use.Item = l.site.Bench.Hardware[i]
		switch {
		case use.Cut > 0 && !use.Item.Kind.Cuttable():
			t.Errorf("cut", "%s %q has a cut length, which only rod, wire and cord have; remove it", use.Item.Kind, id)
			use.Cut = 0
		case use.Cut > 0 && use.Item.StockLength > 0 && use.Cut > use.Item.StockLength:
			t.Errorf("cut", "cut length %g mm is longer than %q is sold (%g mm); expected at most %g mm", use.Cut, id, use.Item.StockLength, use.Item.StockLength)
			use.Cut = 0
		}
		out = append(out, use)
	}
	return out
}

// leastLayer is the thinnest layer in mm that a printer makes: what is thinner is a slip
// (common practice, no source).
const leastLayer = 0.005

// ThickestLayer is the process that makes the thickest layers.
func ThickestLayer(list []*bench.Process) *bench.Process {
	return slices.MaxFunc(list, func(a, b *bench.Process) int { return cmp.Compare(a.LayerMost, b.LayerMost) })
}

// layer reads a layer's height, of a print by proc where that is known.
func (l *loader) layer(m *fields.Map, proc *bench.Process) float64 {
	mm := m.Length("layer", fields.Optional)
	if proc == nil {
		proc = ThickestLayer(l.site.Bench.Processes())
	}
	switch {
	case mm == 0:
	case mm < leastLayer:
		m.Errorf("layer", "layer %g mm is thinner than any printer lays; expected one such as 0.05 mm", mm)
		return 0
	case mm > proc.LayerMost:
		m.Errorf("layer", "layer %g mm is thicker than %s; expected one such as %g mm", mm, proc.LayerBound, proc.Layer)
		return 0
	}
	return mm
}

func (l *loader) printSettings(m *fields.Map) []PrintSettings {
	t := m.Table("print", fields.Optional)
	if t == nil {
		return nil
	}
	var out []PrintSettings
	for _, proc := range l.site.Bench.Processes() {
		p := t.Table(proc.ID, fields.Optional)
		if p == nil {
			continue
		}
		s := PrintSettings{
			Process: proc, Layer: l.layer(p, proc), Tilt: p.Angle("tilt", fields.Optional, 0, 90),
			Supports: p.Text("supports", fields.Optional), Remark: p.Text("remark", fields.Optional),
		}
		switch {
		case proc.Infill:
			s.Infill = p.Text("infill", fields.Optional)
			if s.Walls = p.Count("walls", fields.Optional, 0); s.Walls > mostWalls || p.OK("walls") && s.Walls == 0 {
				p.Errorf("walls", "walls %d is not a number of lines; expected one from 1 to %d", s.Walls, mostWalls)
				s.Walls = 0
			}
		case !proc.Blends():
		case p.IsTable("blend"):
			if s.Shares = l.blend(p, "blend", proc); s.Shares != nil {
				s.Blend = BlendText(s.Shares)
			}
		default:
			s.Blend = p.Text("blend", fields.Optional)
		}
		out = append(out, s)
	}
	return out
}

// photos reads the list of photos; each must be a JPEG or PNG of the release's
// folder, by its name and by its content.
func (l *loader) photos(m *fields.Map, rel string) []Photo {
	var out []Photo
	for _, t := range m.Tables("photos", fields.Optional) {
		p := Photo{File: t.Text("file", fields.Required), Alt: t.Text("alt", fields.Required)}
		if p.File == "" {
			continue
		}
		if l.photoFile(t, "file", p.File, rel) && p.Alt != "" {
			out = append(out, p)
		}
	}
	return out
}

// photoFile reports whether file, which the field name of t gives, is a JPEG or
// PNG inside the release's folder rel; where it is not, that is told.
func (l *loader) photoFile(t *fields.Map, name, file, rel string) bool {
	if err := l.checkPhoto(file, rel); err != nil {
		t.Errorf(name, "%s", err)
		return false
	}
	return true
}

func (l *loader) checkPhoto(file, rel string) error {
	ext := strings.ToLower(path.Ext(file))
	switch {
	case !filepath.IsLocal(filepath.FromSlash(file)) || strings.ContainsAny(file, `\:`) || path.Clean(file) != file:
		return fmt.Errorf("photo %q is not a path inside the release's folder; expected one such as photos/front.jpg", file)
	case ext != ".jpg" && ext != ".jpeg" && ext != ".png":
		return fmt.Errorf("photo %q is neither JPEG nor PNG by its name; expected one such as photos/front.jpg", file)
	}
	for _, name := range strings.Split(file, "/") {
		if len(name) > maxFileName {
			return fmt.Errorf("photo %q has a name of %d bytes; expected at most %d", clipped(file), len(name), maxFileName)
		}
	}
	if st, err := l.stat(path.Join(rel, file)); err != nil {
		return fmt.Errorf("photo %q cannot be read (%w); expected a file inside the release's folder", file, err)
	} else if st.Size() > photo.MaxBytes {
		return fmt.Errorf("photo %q cannot be shown: it is larger than %d MiB; save it smaller", file, photo.MaxBytes>>20)
	}
	data, err := l.read(path.Join(rel, file), photo.MaxBytes)
	if err != nil {
		return fmt.Errorf("photo %q cannot be read (%w); expected a file inside the release's folder", file, err)
	}
	if err := l.checkedPhoto(data); err != nil {
		return fmt.Errorf("photo %q cannot be shown: %w", file, err)
	}
	return nil
}

// checkedPhoto is photo.Check, asked once for the same bytes where something
// remembers.
func (l *loader) checkedPhoto(data []byte) error {
	sum := sha256.Sum256(data)
	key := []string{"photo", hex.EncodeToString(sum[:])}
	sound := false
	if l.known != nil && l.known.Get(&sound, key...) && sound {
		return nil
	}
	if err := photo.Check(data); err != nil {
		return err
	}
	if l.known != nil {
		_ = l.known.Put(true, key...) // it is looked at again next time; nothing is lost
	}
	return nil
}

// looseMeshes reports meshes that lie beside the notes, where none is read.
func (l *loader) looseMeshes(rel string) {
	entries, err := l.list(rel)
	if err != nil {
		return // the notes were read from it; whatever is wrong is told with the parts
	}
	for _, e := range entries {
		if isMesh(e.Name()) && !isPose(e.Name()) {
			l.problem(path.Join(rel, e.Name()), "this mesh stands outside a part folder; move it to one, such as parts/upper-arm/any%s", strings.ToLower(path.Ext(e.Name())))
		}
	}
}

// mostWalls is more lines than anybody lays side by side along a surface.
const mostWalls = 20
