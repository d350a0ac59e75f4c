package site

import (
	"errors"
	"fmt"

	"cardback/internal/meshfile"
	"cardback/internal/pack"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/words"
)

// ArchiveRow is a zip with all there is for one process.
type ArchiveRow struct {
	Process, Name, Href, Size, SHA256, Meshes string
	Lacks                                     string // what a complete print needs and is not in it, in words

	lacks []string
	bytes int64
}

// FileRow is a single mesh to download.
type FileRow struct {
	Number                              int
	Part, Cut, Name, Href, Size, SHA256 string
	Mirrored                            bool

	bytes int64
}

// downloads makes the release's archives and single files, publishes them, and
// lists them on the page. A mesh that cannot be read is left out: the findings
// name it. The assembly sheet goes into every archive.
func (b *builder) downloads(r release.Release, p *ReleasePage) error {
	from := pack.Source{Survey: b.in.Survey, Store: b.in.Store}
	for _, proc := range b.in.Site.Bench.Processes() {
		if !printing.Of(r, proc).Offers() {
			continue
		}
		sheet, err := b.assemblySheet(r, proc, p)
		if err != nil {
			return err
		}
		d, err := pack.Archive(b.ctx, b.in.Site, &r, proc, b.in.Of(r.Number), []pack.File{{Name: "assembly.html", Data: sheet}}, from)
		if errors.Is(err, meshfile.ErrChanged) {
			return changedSince(err)
		}
		if d.Size == 0 {
			if errors.Is(err, pack.ErrNothing) {
				continue
			}
			return fmt.Errorf("pack for %s: %w", proc, err)
		}
		if err := b.write(d.URL, d.Data); err != nil {
			return err
		}
		p.Archives = append(p.Archives, ArchiveRow{
			Process: proc.String(), Name: d.Name, Href: d.URL,
			Size: fileSize(d.Size), SHA256: d.SHA256, Meshes: plural(d.Meshes, "mesh", "meshes"),
			Lacks: words.List(d.Lacks), lacks: d.Lacks, bytes: d.Size,
		})
	}
	files, err := pack.Parts(b.ctx, b.in.Site, &r, from)
	if errors.Is(err, meshfile.ErrChanged) {
		return changedSince(err)
	}
	if err := b.ctx.Err(); err != nil {
		return err
	}
	if err != nil && len(files) == 0 && b.anyReadable(r) {
		return fmt.Errorf("pack single parts: %w", err)
	}
	for _, d := range files {
		if err := b.write(d.URL, d.Data); err != nil {
			return err
		}
		row := FileRow{Part: d.Part, Cut: string(d.Cut), Name: d.Name, Href: d.URL, Size: fileSize(d.Size), SHA256: d.SHA256, Mirrored: d.Mirrored, bytes: d.Size}
		for i, part := range r.Parts {
			if part.Slug == d.Part {
				row.Number, row.Part = i+1, part.Name
			}
		}
		p.Files = append(p.Files, row)
	}
	return nil
}

// changedSince fails a build whose pages would tell of other meshes than its archives hold.
func changedSince(err error) error {
	return fmt.Errorf("%w; nothing was written: build again when the file is left alone", err)
}

func (b *builder) anyReadable(r release.Release) bool {
	for _, p := range r.Parts {
		if b.readable(p) != nil {
			return true
		}
	}
	return false
}
