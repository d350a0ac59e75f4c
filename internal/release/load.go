package release

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/language"

	"cardback/internal/bench"
	"cardback/internal/fields"
	"cardback/internal/infile"
)

// maxNotes is the largest file of notes read, in bytes: some 150 000 words.
const maxNotes = 1 << 20

// Known remembers what was looked at, by its content; a store does.
type Known interface {
	Get(v any, key ...string) bool
	Put(v any, key ...string) error
}

// Load reads and checks the content folder root. The error, where there is one,
// is a fields.Errors sorted by file, line and column; the Site then holds what
// could be read and is nil only where root is not a folder.
func Load(root string) (*Site, error) { return LoadKnowing(root, nil) }

// LoadKnowing is Load with something that remembers which photos are sound, since
// each has to be decoded whole to tell; known may be nil.
func LoadKnowing(root string, known Known) (*Site, error) {
	abs, err := filepath.Abs(root)
	if err != nil {
		return nil, fields.Errors{{File: root, Message: fmt.Sprintf("the content folder cannot be found (%v)", err)}}
	}
	dir, err := infile.OpenRoot(abs)
	if err != nil {
		return nil, fields.Errors{{File: root, Message: fmt.Sprintf("the content folder cannot be opened (%s); expected a folder with site.yaml, bench and releases", reason(err))}}
	}
	defer dir.Close()
	l := &loader{known: known, root: dir, abs: abs, shown: filepath.ToSlash(filepath.Clean(root))}
	l.site.Root = abs

	l.guarded("bench", l.loadBench)
	l.guarded("site.yaml", l.loadSite)
	l.loadPages()
	l.loadReleases()
	l.checkLinks()
	return &l.site, l.errs.Err()
}

type loader struct {
	known Known // may be nil
	root  *os.Root
	abs   string // the content folder, absolute
	shown string // the content folder, as the caller named it
	site  Site
	errs  fields.Errors
	links []link
	seen  []string // addresses of pages and releases that are there, though perhaps not in order
	// noHardware is set where hardware.yaml has problems: an item that is not on
	// the bench then proves nothing.
	noHardware bool
}

// guarded runs f, which reads rel; a panic in it becomes a problem of that file,
// so that a fault of ours or of a library loses one file and not the run.
func (l *loader) guarded(rel string, f func()) {
	defer func() {
		if p := recover(); p != nil {
			l.problem(rel, "cannot be read because the reader failed (%v); please report it with this file", p)
		}
	}()
	f()
}

// problem reports something about a file or folder as a whole.
func (l *loader) problem(rel, format string, args ...any) {
	l.errs = append(l.errs, fields.Error{File: path.Join(l.shown, rel), Message: fmt.Sprintf(format, args...)})
}

// finish closes a document and keeps its problems.
func (l *loader) finish(d *fields.Document) { l.errs = append(l.errs, d.Finish()...) }

// read returns a file's bytes; the error is a phrase for a sentence.
func (l *loader) read(rel string, limit int64) ([]byte, error) {
	if _, err := l.stat(rel); err != nil {
		return nil, l.orNear(rel, err)
	}
	data, err := infile.ReadIn(l.root, rel, limit)
	switch {
	case errors.Is(err, infile.ErrLarge):
		return nil, fmt.Errorf("it is larger than %d KiB", limit>>10)
	case err != nil:
		return nil, reason(err)
	}
	return data, nil
}

// stat makes sure that rel is a regular file inside the root.
func (l *loader) stat(rel string) (fs.FileInfo, error) {
	st, err := l.root.Stat(filepath.FromSlash(rel))
	if err != nil {
		if li, lerr := l.root.Lstat(filepath.FromSlash(rel)); lerr == nil && li.Mode()&fs.ModeSymlink != 0 && !errors.Is(err, fs.ErrNotExist) {
			return nil, errors.New("it is a link that leads out of the content folder")
		} else if lerr == nil && li.Mode()&fs.ModeSymlink != 0 {
			return nil, errors.New("it is a link that leads nowhere")
		}
		return nil, reason(err)
	}
	if !st.Mode().IsRegular() {
		return nil, errors.New("it is not a regular file")
	}
	return st, nil
}

// list returns a folder's entries by name, without what nobody meant as content.
func (l *loader) list(rel string) ([]fs.DirEntry, error) {
	entries, err := infile.ReadDirIn(l.root, rel)
	if err != nil {
		return nil, l.orNear(rel, reason(err))
	}
	return slices.DeleteFunc(entries, func(e fs.DirEntry) bool { return leftBehind(e.Name()) }), nil
}

// leftBehind reports whether a file or folder is there by the way: hidden, a copy
// that an editor or a merge keeps, or what a file manager or an archiver adds.
// Nothing is read of these, and nothing said.
func leftBehind(name string) bool {
	lower := strings.ToLower(name)
	switch lower {
	case "thumbs.db", "ehthumbs.db", "desktop.ini", "__macosx", "icon\r", "$recycle.bin", "system volume information", "@eadir", "lost+found":
		return true
	}
	switch path.Ext(lower) {
	case ".bak", ".old", ".orig", ".rej", ".swp", ".swo", ".tmp", ".temp", ".part", ".crdownload":
		return true
	}
	return strings.HasPrefix(name, ".") || strings.HasPrefix(name, "~$") || strings.HasSuffix(name, "~") ||
		len(name) > 1 && strings.HasPrefix(name, "#") && strings.HasSuffix(name, "#")
}

// orNear adds to "no such file" the name beside it that may have been meant.
func (l *loader) orNear(rel string, err error) error {
	if _, gone := l.root.Lstat(filepath.FromSlash(rel)); !errors.Is(gone, fs.ErrNotExist) {
		return err
	}
	entries, _ := infile.ReadDirIn(l.root, path.Dir(rel)) // without the folder there is no name to offer
	var names []string
	for _, e := range entries {
		if !leftBehind(e.Name()) {
			names = append(names, e.Name())
		}
	}
	near, ok := fields.Nearest(path.Base(rel), names)
	if !ok {
		return err
	}
	return fmt.Errorf("%w, but there is %q", err, near)
}

// isDir follows links inside the root; one that leads out is reported.
func (l *loader) isDir(rel string, e fs.DirEntry) bool {
	if e.Type()&fs.ModeSymlink == 0 {
		return e.IsDir()
	}
	st, err := l.root.Stat(filepath.FromSlash(rel))
	if err != nil {
		l.problem(rel, "the link cannot be followed (%s); expected files and folders inside the content folder", linkReason(err))
		return false
	}
	return st.IsDir()
}

func linkReason(err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return errors.New("it leads nowhere")
	}
	return reason(err)
}

// reason drops operation and path from a file error: the sentence around it
// names the file already, as the designer wrote it.
func reason(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return errors.New("no such file")
	case errors.Is(err, fs.ErrPermission):
		return errors.New("permission denied")
	case errors.Is(err, infile.ErrKind):
		return fmt.Errorf("it is %w", err)
	case strings.Contains(err.Error(), "escapes"):
		return errors.New("it leads out of the content folder")
	}
	return err
}

func (l *loader) loadBench() {
	b, err := bench.Load(infile.FS(l.root), l.shown)
	var bad fields.Errors
	if errors.As(err, &bad) {
		l.errs = append(l.errs, bad...)
		l.noHardware = slices.ContainsFunc(bad, func(e fields.Error) bool { return path.Base(e.File) == "hardware.yaml" })
	}
	l.site.Bench = b
}

// DefaultPrintTolerance is the printing tolerance where site.yaml names none, and
// MostPrintTolerance the largest that it may name, in mm. The first is a
// tenth of the finest layers and lines that either process usually lays (common
// practice, no source), so that no print shows a change below it. A change of a
// tenth of a millimetre shows, and decides whether a rod turns, so nobody may ask
// for more.
const DefaultPrintTolerance, MostPrintTolerance = 0.01, 0.1

func (l *loader) loadSite() {
	s := &l.site
	s.UnitsShown, s.Language, s.PrintTolerance = "mm", "en", DefaultPrintTolerance
	data, err := l.read("site.yaml", fields.MaxYAML)
	if err != nil {
		l.problem("site.yaml", "cannot be read (%s); expected a file with title, designer, address and licence", err)
		return
	}
	d := fields.Parse(path.Join(l.shown, "site.yaml"), data)
	m := d.Map()
	s.Title = m.Text("title", fields.Required)
	s.Tagline = m.Text("tagline", fields.Optional)
	s.Designer = m.Text("designer", fields.Required)
	s.Address = siteAddress(m)
	if tag := m.Text("language", fields.Optional); tag != "" {
		if parsed, err := language.Parse(tag); err != nil {
			m.Errorf("language", "language %q is not a language tag; expected one such as en or pt-BR", tag)
		} else {
			s.Language = parsed.String()
		}
	}
	s.Licence = licence(m, "licence", fields.Required, true)
	if u := m.Enum("units_shown", fields.Optional, "mm", "mm+in"); u != "" {
		s.UnitsShown = u
	}
	if t := m.LengthOrZero("print_tolerance", fields.Optional); t > MostPrintTolerance {
		m.Errorf("print_tolerance", "print_tolerance %g mm is more than the %g mm that a print shows; expected a length from 0 to %g mm", t, MostPrintTolerance, MostPrintTolerance)
	} else if m.OK("print_tolerance") {
		s.PrintTolerance = t
	}
	s.Keep = keep(m)
	for _, t := range m.Tables("links", fields.Optional) {
		link := Link{Label: t.Text("label", fields.Required), URL: address(t, "url", fields.Required)}
		if link.Label != "" && link.URL != "" {
			s.Links = append(s.Links, link)
		}
	}
	l.finish(d)
}

// mostKept bounds the names to keep: it is for the few files that a server asks for.
const mostKept = 20

// siteNames are files at the site's root that every build writes beside OwnNames.
var siteNames = []string{"SHA256SUMS", "catalogue.json", "feed.xml", "robots.txt", "sitemap.xml"}

// keep reads the names of files and folders in the built site that are the designer's
// own, such as those that a server asks for.
func keep(m *fields.Map) []string {
	var out []string
	for i, t := range m.Texts("keep", fields.Optional) {
		name := t.Text
		switch {
		case i >= mostKept:
			m.Errorf("keep", "keep has more than %d names; expected the few that a server needs, such as CNAME", mostKept)
			return nil
		case name == "." || name == ".." || strings.ContainsAny(name, "/\\") || strings.ContainsFunc(name, unicode.IsControl):
			m.Errorf("keep", "keep names %q; expected the name of a file or folder directly in the site, such as CNAME or .well-known", name)
		case slices.ContainsFunc(slices.Concat(OwnNames, siteNames), func(own string) bool { return strings.EqualFold(own, strings.TrimSuffix(name, ".html")) }):
			m.Errorf("keep", "keep names %q, which build writes itself; expected a file of your own, such as CNAME", name)
		case slices.Contains(out, name):
			m.Errorf("keep", "keep names %q twice", name)
		default:
			out = append(out, name)
		}
	}
	return out
}

// oldAddress is a name that older content has for the address. It is refused, with the
// name that holds.
const oldAddress = "base_url"

// siteAddress reads the site's absolute address and makes it end in a slash.
func siteAddress(m *fields.Map) string {
	if m.Has(oldAddress) {
		m.Text(oldAddress, fields.Optional)
		m.Errorf(oldAddress, "the field %q is called address; write address: in its place", oldAddress)
		m.Text("address", fields.Optional)
		return ""
	}
	s := m.Text("address", fields.Required)
	if s == "" {
		return ""
	}
	u, err := url.Parse(s)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		m.Errorf("address", "address %q is not a site's address; expected one such as https://figures.example/", s)
		return ""
	}
	return strings.TrimRight(s, "/") + "/"
}

// address reads a link that a page may carry: web or mail, never a script.
func address(m *fields.Map, name string, need fields.Need) string {
	s := m.Text(name, need)
	if s == "" {
		return ""
	}
	u, err := url.Parse(s)
	web := err == nil && (u.Scheme == "https" || u.Scheme == "http") && u.Host != ""
	mail := err == nil && u.Scheme == "mailto" && strings.Contains(u.Opaque, "@")
	if !web && !mail {
		m.Errorf(name, "%s %q is not an address; expected one that begins with https://, http:// or mailto:", name, s)
		return ""
	}
	return s
}

// OwnNames are the names at the top of a site that are its own: a page of the
// designer's may not take their place. Numbers on every page link to how-measured.
var OwnNames = []string{"404", "assets", "backlog", "data", "downloads", "hardware", "how-measured", "index", "materials", "plates", "releases"}

func (l *loader) loadPages() {
	if _, err := l.root.Lstat("pages"); errors.Is(err, fs.ErrNotExist) {
		return // further pages are optional
	}
	entries, err := l.list("pages")
	if err != nil {
		l.problem("pages", "the folder of pages cannot be read (%s); expected a folder with pages such as pages/about.md, or none at all", err)
		return
	}
	for _, e := range entries {
		rel := path.Join("pages", e.Name())
		slug, isNotes := strings.CutSuffix(e.Name(), ".md")
		if !isNotes {
			if ext := strings.ToLower(path.Ext(e.Name())); ext == ".md" || ext == ".markdown" {
				l.problem(rel, "this page is not read; expected a name that ends in .md, such as about.md")
			} else if l.isDir(rel, e) {
				l.problem(rel, "this folder is not read; expected pages in pages itself, such as pages/about.md")
			}
			continue
		}
		if slices.Contains(OwnNames, slug) {
			l.problem(rel, "page name %q is that of a page or folder that every site has; rename it, for example more-%s.md", slug, slug)
			continue
		}
		if len(slug) > MaxSlug {
			l.problem(rel, "page name %q has %d characters; expected at most %d", clipped(slug), len(slug), MaxSlug)
			continue
		}
		if !slugPattern.MatchString(slug) {
			l.problem(rel, "page name %q has other characters than a to z, 0 to 9 and hyphen; rename it, for example about.md", slug)
			continue
		}
		l.seen = append(l.seen, "/"+slug+"/")
		l.guarded(rel, func() { l.loadPage(rel, slug) })
	}
}

func (l *loader) loadPage(rel, slug string) {
	data, err := l.read(rel, maxNotes)
	if err != nil {
		l.problem(rel, "cannot be read (%s); expected a page of notes", err)
		return
	}
	d, body := fields.ParseNotes(path.Join(l.shown, rel), data)
	text := l.body(d, body)
	title := d.Map().Text("title", fields.Required)
	l.finish(d)
	if title != "" {
		l.site.Pages = append(l.site.Pages, Page{Slug: slug, Title: title, Text: text})
	}
}

func (l *loader) loadReleases() {
	entries, err := l.list("releases")
	if err != nil {
		l.problem("releases", "the folder of releases cannot be read (%s); expected releases/NN-slug/release.md", err)
		return
	}
	seen := map[int]string{} // number -> folder
	slugs := map[string]string{}
	found := 0
	for _, e := range entries {
		rel := path.Join("releases", e.Name())
		if !l.isDir(rel, e) {
			if ext := strings.ToLower(path.Ext(e.Name())); ext == ".md" || ext == ".stl" || ext == ".3mf" {
				l.problem(rel, "this file stands outside a release; expected it in a folder such as releases/07-lamplighter")
			}
			continue
		}
		found++
		l.seen = append(l.seen, "/releases/"+e.Name()+"/", "/releases/"+e.Name()+"/release.json")
		number, slug, ok := SplitFolderName(e.Name())
		if !ok {
			l.problem(rel, "folder name %q is not a number, a hyphen and a slug of a to z, 0 to 9 and hyphens; expected one such as 07-lamplighter", e.Name())
			continue
		}
		if len(slug) > MaxSlug {
			l.problem(rel, "slug %q has %d characters; expected at most %d", clipped(slug), len(slug), MaxSlug)
			continue
		}
		if first, dup := seen[number]; dup {
			l.problem(rel, "number %d is already that of %q; give one of them another number", number, first)
		} else {
			seen[number] = e.Name()
		}
		if first, dup := slugs[slug]; dup {
			l.problem(rel, "slug %q is already that of %q; give one of them another slug", slug, first)
		} else {
			slugs[slug] = e.Name()
		}
		l.guarded(rel, func() {
			if r, ok := l.loadRelease(rel, number, slug); ok {
				l.site.Releases = append(l.site.Releases, r)
			}
		})
	}
	if found == 0 {
		l.problem("releases", "there are no releases; expected at least one folder such as releases/01-lamplighter")
	}
	slices.SortStableFunc(l.site.Releases, func(a, b Release) int {
		return cmp.Or(cmp.Compare(a.Number, b.Number), cmp.Compare(a.Slug, b.Slug))
	})
}
