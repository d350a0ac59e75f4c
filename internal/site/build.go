package site

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"html/template"
	"os"
	"path/filepath"
	"slices"

	"cardback/internal/release"
	"cardback/themes/quay"
)

// builder holds one build: its input, where it writes, and what the pages share.
type builder struct {
	ctx       context.Context
	in        Input
	out       string
	pages     map[string]*template.Template
	css, icon string // published paths
	script    string
	sitemap   []sitemapEntry
}

// Build writes the whole site into the folder out, which must exist and be
// empty. An error or a cancelled context leaves out incomplete: the caller throws it
// away.
func Build(ctx context.Context, in Input, out string) error {
	b := &builder{ctx: ctx, in: in, out: out}
	var err error
	if b.pages, err = parseTheme(); err != nil {
		return err
	}
	if err := b.assets(); err != nil {
		return err
	}
	for _, r := range in.Site.Releases {
		if err := b.releasePage(r); err != nil {
			return fmt.Errorf("page of release %d: %w", r.Number, err)
		}
	}
	for _, s := range []struct {
		what string
		do   func() error
	}{
		{"catalogue", b.catalogue},
		{"materials, plates and hardware", b.benchPages},
		{"further pages", b.furtherPages},
		{"backlog", b.backlog},
		{"feed and data", b.indexes},
	} {
		if err := s.do(); err != nil {
			return fmt.Errorf("write %s: %w", s.what, err)
		}
	}
	return nil
}

func (b *builder) benchPages() error {
	for _, do := range []func() error{b.materialTable, b.platePages, b.hardwarePages} {
		if err := do(); err != nil {
			return err
		}
	}
	return nil
}

func (b *builder) indexes() error {
	for _, do := range []func() error{b.feed, b.catalogueData, b.missing, b.sitemaps} {
		if err := do(); err != nil {
			return err
		}
	}
	return nil
}

// write puts a file at a path from the site's root.
func (b *builder) write(path string, content []byte) error {
	if err := b.ctx.Err(); err != nil {
		return err
	}
	full := filepath.Join(b.out, filepath.FromSlash(path))
	if err := os.MkdirAll(filepath.Dir(full), 0o755); err != nil {
		return err
	}
	return os.WriteFile(full, content, 0o644)
}

// page renders one page with the theme's template of that name.
func (b *builder) page(name, path string, model any) error {
	var out bytes.Buffer
	if err := b.pages[name].ExecuteTemplate(&out, "layout", model); err != nil {
		return fmt.Errorf("render %s: %w", path, err)
	}
	return b.write(path, out.Bytes())
}

// parseTheme joins the layout and the shared pieces with each page's template.
func parseTheme() (map[string]*template.Template, error) {
	base, err := template.New("").ParseFS(quay.Files, "templates/layout.html", "templates/pieces.html", "templates/sheet-*.html")
	if err != nil {
		return nil, fmt.Errorf("read the theme: %w", err)
	}
	pages := map[string]*template.Template{}
	for _, name := range []string{"catalogue", "release", "materials", "plates", "plate", "hardware", "item", "page", "method", "data", "missing", "backlog"} {
		t, err := template.Must(base.Clone()).ParseFS(quay.Files, "templates/"+name+".html")
		if err != nil {
			return nil, fmt.Errorf("read the theme: %w", err)
		}
		pages[name] = t
	}
	return pages, nil
}

// assets publishes the theme's styles, as one file, its script and its icon.
func (b *builder) assets() error {
	var css []byte
	for _, name := range quay.Styles {
		part, err := quay.Files.ReadFile("styles/" + name)
		if err != nil {
			return fmt.Errorf("read the theme: %w", err)
		}
		css = append(css, part...)
	}
	icon, err := quay.Files.ReadFile("icon.svg")
	if err != nil {
		return fmt.Errorf("read the theme: %w", err)
	}
	script, err := quay.Files.ReadFile("scripts/my-plate.js")
	if err != nil {
		return fmt.Errorf("read the theme: %w", err)
	}
	b.script = hashed("assets/my-plate", ".js", script)
	if err := b.write(b.script, script); err != nil {
		return err
	}
	b.css, b.icon = hashed("assets/quay", ".css", css), hashed("assets/icon", ".svg", icon)
	if err := b.write(b.css, css); err != nil {
		return err
	}
	return b.write(b.icon, icon)
}

// hashed is a path that changes with the content, so that a browser may keep
// the file for ever. 64 bits of SHA-256 are enough against accident, which is
// all that a cache name meets.
func hashed(stem, ext string, content []byte) string {
	sum := sha256.Sum256(content)
	return stem + "-" + hex.EncodeToString(sum[:8]) + ext
}

func releaseDir(r release.Release) string {
	return "releases/" + releaseNumber(r.Number) + "-" + r.Slug + "/"
}

func releasePath(r release.Release) string { return releaseDir(r) + "index.html" }

// release is the one of that number, which the site has.
func (b *builder) release(number int) release.Release {
	i := slices.IndexFunc(b.in.Site.Releases, func(r release.Release) bool { return r.Number == number })
	return b.in.Site.Releases[i]
}
