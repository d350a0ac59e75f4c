package mesh

import (
	"archive/zip"
	"context"
	"fmt"
	"io"
	"net/url"
	"path"
	"slices"
	"strings"
)

// 3MF is read with archive/zip and encoding/xml. hpinc/go3mf (v0.24.2) was tried
// first and stays as the independent check in the tests. It keeps coordinates
// and transforms in 32 bits, so that an inch or nested file comes out up to
// 6·10⁻⁸ of its size off; stops at any XML comment, as in one of the
// specification's own samples; takes duplicate attributes, NaN and indices out
// of range; unpacks every attachment into memory with no limit; and its errors
// carry no place.

// Limits of a 3MF. A model part unpacks to roughly 30 bytes for each vertex or
// triangle, for which we hold at most 24, so the memory of reading is bounded by
// maxUnpacked. Markup of real meshes deflates to a fifth or a tenth; that of a
// flat grid to a fiftieth.
const (
	maxUnpacked  = 1 << 30    // bytes of all markup together
	maxRatio     = 200        // unpacked over packed
	freeUnpacked = 1 << 20    // unpacked bytes before the ratio counts
	maxEntries   = 10_000     // names in the archive
	maxInstances = 100_000    // objects placed, counting each time
	maxObjects   = 100_000    // objects, and build items and components, as written
	maxNesting   = 32         // components within components
	maxPlaced    = 30_000_000 // vertices and triangles, counting each instance
)

const (
	modelRelation = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
	rootRelations = "_rels/.rels"

	thumbnailRelation = "http://schemas.openxmlformats.org/package/2006/relationships/metadata/thumbnail"
	ticketRelation    = "http://schemas.microsoft.com/3dmanufacturing/2013/01/printticket"
	typesPart         = "[Content_Types].xml"
	modelType         = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
)

// archive is an opened 3MF with the model parts read so far.
type archive struct {
	ctx      context.Context
	entries  map[string]*zip.File // by lower-case name: part names ignore case
	twice    map[string]bool
	size     int64
	budget   int64 // bytes of markup still allowed
	objects  int   // read so far, in all parts
	refs     int   // build items and components, likewise
	parts    map[string]*modelPart
	notes    noteList
	breaches noteList
}

// read3MF reads every build item of a 3MF, placed and in millimetres. Corners
// are welded within each instance of a mesh, not between them. Objects that the
// build does not use, materials, slices and other additions are passed over;
// what may matter to the shape is noted.
func read3MF(ctx context.Context, r io.ReadSeeker, size int64) (*Mesh, Info, error) {
	info := Info{Format: ThreeMF}
	a, err := openArchive(ctx, r, size)
	if err != nil {
		return nil, info, err
	}
	rootName, err := a.rootModel()
	if err != nil {
		return nil, info, err
	}
	if err := a.checkTypes(rootName); err != nil {
		return nil, info, err
	}
	if err := a.checkRelations(rootName); err != nil {
		return nil, info, err
	}
	root, err := a.part(rootName)
	if err != nil {
		return nil, info, err
	}
	if !root.hasBuild {
		return nil, info, refuse("%s has no build element", root.name)
	}
	p := &placer{archive: a, unit: root.unit, welder: newWelder(0)}
	for _, item := range root.items {
		if err := p.item(root, item); err != nil {
			return nil, info, err
		}
	}
	if len(p.welder.mesh.Triangles) == 0 {
		why := "the build has no items"
		if len(root.items) > 0 {
			why = "the objects in the build have none"
		}
		return nil, info, refuse("no triangles: %s", why)
	}
	info.Notes, info.Breaches = a.notes, a.breaches
	return &p.welder.mesh, info, nil
}

func openArchive(ctx context.Context, r io.ReadSeeker, size int64) (*archive, error) {
	at, ok := r.(io.ReaderAt)
	if !ok {
		at = seekingReaderAt{r}
	}
	z, err := zip.NewReader(at, size)
	if err != nil {
		return nil, refuse("the archive is damaged or cut short (%v)", err)
	}
	if len(z.File) > maxEntries {
		return nil, refuse("the archive has %d entries; at most %d are read", len(z.File), maxEntries)
	}
	a := &archive{ctx: ctx, size: size, budget: maxUnpacked,
		entries: map[string]*zip.File{}, twice: map[string]bool{}, parts: map[string]*modelPart{}}
	for _, f := range z.File {
		name := strings.ToLower(strings.TrimPrefix(f.Name, "/"))
		if _, dup := a.entries[name]; dup {
			a.twice[name] = true
		}
		a.entries[name] = f
	}
	return a, nil
}

// seekingReaderAt reads at offsets of a reader that can only seek.
type seekingReaderAt struct{ r io.ReadSeeker }

func (s seekingReaderAt) ReadAt(p []byte, off int64) (int, error) {
	if _, err := s.r.Seek(off, io.SeekStart); err != nil {
		return 0, err
	}
	n, err := io.ReadFull(s.r, p)
	if err == io.ErrUnexpectedEOF {
		err = io.EOF
	}
	return n, err
}

// open starts unpacking the named part, under the archive's limits.
func (a *archive) open(name string) (*markup, error) {
	key := strings.ToLower(strings.TrimPrefix(name, "/"))
	f, ok := a.entries[key]
	if !ok {
		return nil, refuse("the archive has no part %s", name)
	}
	if a.twice[key] {
		return nil, refuse("the archive has two parts named %s", name)
	}
	if f.Flags&1 != 0 {
		return nil, refuse("%s is encrypted", name)
	}
	body, err := f.Open()
	if err != nil {
		return nil, refuse("%s cannot be unpacked (%v)", name, err)
	}
	limit := freeUnpacked + maxRatio*int64(min(f.CompressedSize64, uint64(a.size)))
	return newMarkup(a.ctx, name, body, min(limit, a.budget)), nil
}

// rootModel finds the model part that the package's relationships name.
func (a *archive) rootModel() (string, error) {
	if _, ok := a.entries[rootRelations]; !ok {
		return "", refuse("an archive, but not a 3MF: it has no %s", rootRelations)
	}
	m, err := a.open("/" + rootRelations)
	if err != nil {
		return "", err
	}
	defer func() { a.budget -= m.close() }()
	target, thumbnails := "", 0
	err = m.children(func(e element) error {
		return m.children(func(e element) error {
			if e.Name.Local != "Relationship" {
				return nil
			}
			external := e.attr("TargetMode") == "External"
			switch e.attr("Type") {
			case modelRelation:
				switch {
				case external:
					return m.refuse(e, "the 3D model is said to be outside the archive, at %q; 3MF wants it inside", shorten(e.attr("Target")))
				case target != "" && partName("/", e.attr("Target")) != partName("/", target):
					return m.refuse(e, "a second 3D model, %s beside %s: which of them is to be printed cannot be told", shorten(e.attr("Target")), shorten(target))
				}
				target = e.attr("Target")
			case thumbnailRelation:
				if thumbnails++; thumbnails > 1 {
					a.breach(m, e, "a second thumbnail of the package; 3MF has one at most")
				}
				a.checkTarget(m, e, "thumbnail")
			}
			return nil
		})
	})
	if err != nil {
		return "", err
	}
	if target == "" {
		return "", refuse("no 3D model relationship in %s", rootRelations)
	}
	return partName("/", target), nil
}

// partName resolves a reference in a part to the absolute name of another.
func partName(from, target string) string {
	if t, err := url.PathUnescape(target); err == nil {
		target = t
	}
	if !strings.HasPrefix(target, "/") {
		target = path.Join(path.Dir(from), target)
	}
	return path.Clean("/" + target)
}

// part reads the named model part, once.
func (a *archive) part(name string) (*modelPart, error) {
	key := strings.ToLower(name)
	if p, ok := a.parts[key]; ok {
		return p, nil
	}
	m, err := a.open(name)
	if err != nil {
		return nil, err
	}
	defer func() { a.budget -= m.close() }()
	p, err := readModelPart(m, a)
	if err != nil {
		return nil, err
	}
	a.parts[key] = p
	return p, nil
}

// breach notes, with its place, what the format forbids and what leaves the shape clear.
func (a *archive) breach(m *markup, e element, format string, args ...any) {
	a.breaches.add("%s:%d:%d: "+format+".", append([]any{m.name, e.line, e.column}, args...)...)
}

// checkTarget looks whether what a relationship names is in the archive.
func (a *archive) checkTarget(m *markup, e element, what string) {
	target := e.attr("Target")
	if e.attr("TargetMode") == "External" {
		a.breach(m, e, "the %s is said to be outside the archive, at %q; 3MF wants it inside", what, shorten(target))
		return
	}
	from := strings.Replace(m.name, "_rels/", "", 1) // the part whose relationships these are
	if name := partName(from, target); a.entries[strings.ToLower(strings.TrimPrefix(name, "/"))] == nil {
		a.breach(m, e, "the archive has no part %s, which is said to be the %s", shorten(name), what)
	}
}

// checkTypes looks whether the package says that the model part is one.
func (a *archive) checkTypes(model string) error {
	if _, ok := a.entries[strings.ToLower(typesPart)]; !ok {
		a.breaches.add("The archive has no %s, which every package has.", typesPart)
		return nil
	}
	m, err := a.open("/" + typesPart)
	if err != nil {
		return err
	}
	defer func() { a.budget -= m.close() }()
	byEnding, byName := "", ""
	err = m.children(func(e element) error {
		return m.children(func(e element) error {
			switch {
			case e.Name.Local == "Default" && strings.EqualFold("."+e.attr("Extension"), path.Ext(model)):
				byEnding = e.attr("ContentType")
			case e.Name.Local == "Override" && strings.EqualFold(e.attr("PartName"), model):
				byName = e.attr("ContentType")
			}
			return nil
		})
	})
	if byName == "" {
		byName = byEnding
	}
	if err == nil && !strings.EqualFold(byName, modelType) {
		a.breaches.add("%s says that %s is %q; a model part is %q.", typesPart, model, shorten(byName), modelType)
	}
	return err
}

// checkRelations looks at what the model part says that it goes with.
func (a *archive) checkRelations(model string) error {
	name := path.Join(path.Dir(model), "_rels", path.Base(model)+".rels")
	if _, ok := a.entries[strings.ToLower(strings.TrimPrefix(name, "/"))]; !ok {
		return nil
	}
	m, err := a.open(name)
	if err != nil {
		return err
	}
	defer func() { a.budget -= m.close() }()
	tickets := 0
	return m.children(func(e element) error {
		return m.children(func(e element) error {
			switch {
			case e.Name.Local != "Relationship":
			case e.attr("Type") == ticketRelation:
				if tickets++; tickets > 1 {
					a.breach(m, e, "a second print ticket; 3MF has one at most")
				}
				a.checkTarget(m, e, "print ticket")
			case e.attr("Type") == thumbnailRelation:
				a.checkTarget(m, e, "thumbnail")
			}
			return nil
		})
	})
}

// noteList keeps distinct notes in the order they arise.
type noteList []string

// maxNotes bounds how much a file can make us say.
const maxNotes = 20

func (n *noteList) add(format string, args ...any) {
	note := fmt.Sprintf(format, args...)
	if len(*n) < maxNotes && !slices.Contains(*n, note) {
		*n = append(*n, note)
	}
}
