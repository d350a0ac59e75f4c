package pack

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/release"
)

// Archive makes the zip of a release for one process: the meshes named for
// people, the extra files given (an assembly sheet, say), hardware.csv, the cut list,
// licence.txt, README.txt and SHA256SUMS, all in one folder; and the change note
// where a revision was sealed.
//
// Meshes stand in "meshes": a part's cut for the process, numbered as on the
// chart. Parts to choose from stand in "choose-one-GROUP", split pieces in
// "small-plates" and the wholes they replace in "large-plates", cuts for
// flexible materials in "flexible".
//
// With an error that is not ctx's, a Download with a Size is whole but for the
// meshes the error names, and its README says so. ErrNothing means that the
// release has no mesh for the process, or none that can be read.
func Archive(ctx context.Context, site *release.Site, r *release.Release, proc bench.Process, changes Changes, files []File) (Download, error) {
	list := pieces(r, func(p release.Part) []release.Cut { return cutsFor(p, proc) })
	meshes, failed, err := load(ctx, r, list)
	if err != nil {
		return Download{}, err
	}
	cuts, err := cutListFile(ctx, r)
	if err != nil {
		return Download{}, err
	}
	files = slices.Concat(files, cuts)
	top := folderOf(r) + "-" + string(proc)
	all := slices.Clone(files)
	var packed, lost []line
	for i, p := range list {
		l := line{piece: p, name: "meshes/" + folder(r, p, proc) + p.fileName()}
		if meshes[i] == nil {
			lost = append(lost, l)
			continue
		}
		l.loaded = *meshes[i]
		packed = append(packed, l)
		all = append(all, File{Name: l.name, Data: l.data})
	}
	problems := errors.Join(failed...)
	if len(packed) == 0 {
		return Download{}, errors.Join(fmt.Errorf("%s for %s: %w", folderOf(r), proc, ErrNothing), problems)
	}
	licence, err := licenceFile(site, r)
	if err != nil {
		return Download{}, errors.Join(fmt.Errorf("%s: %w", folderOf(r), err), problems)
	}
	at, err := modTime(r)
	if err != nil {
		return Download{}, errors.Join(err, problems)
	}
	all = append(all,
		File{"hardware.csv", HardwareCSV(r)},
		File{"licence.txt", licence},
		File{"README.txt", readme(site, r, proc, changes, packed, lost, files)},
	)
	if changes.Any() {
		all = append(all, File{ChangesFile, changes.text(r, proc)})
	}
	all = append(all, File{"SHA256SUMS", Sums(all)})
	data, err := zipFiles(ctx, top, all, at)
	if err != nil {
		return Download{}, errors.Join(fmt.Errorf("%s: %w", top, err), problems)
	}
	d := Download{
		Name: top + ".zip", Title: fmt.Sprintf("%s, everything for %s", oneLine(r.Title), proc),
		Kind: KindArchive, Process: proc, Meshes: len(packed), Data: data,
	}
	return d.seal(), problems
}

// cutsFor is a part's cut for the process in a rigid material, and its cut for
// flexible ones.
func cutsFor(p release.Part, proc bench.Process) []release.Cut {
	if !p.NeededFor(proc) {
		return nil
	}
	var out []release.Cut
	if c, ok := p.CutFor(proc, bench.Rigid); ok {
		out = append(out, c)
	}
	if c, ok := p.CutFor(proc, bench.Flexible); ok && c.Kind == release.CutFlexible {
		out = append(out, c)
	}
	return out
}

// folder is where a piece stands inside "meshes", ending in a slash, or empty.
// A split is one only where both its sides are printed by the process.
func folder(r *release.Release, p piece, proc bench.Process) string {
	offered := func(q release.Part) bool { return len(cutsFor(q, proc)) > 0 }
	f := ""
	if p.part.Choice != "" {
		f = "choose-one-" + plainName(p.part.Choice, "part") + "/"
	}
	switch {
	case slices.ContainsFunc(r.Pieces(p.part), offered):
		f += "large-plates/"
	case slices.ContainsFunc(r.Parts, func(q release.Part) bool { return q.Slug == p.part.Replaces && offered(q) }):
		f += "small-plates/"
	}
	if p.cut.Kind == release.CutFlexible {
		f += "flexible/"
	}
	return f
}

// fileName says how many to print where that is more than one:
// "01-upper-arm-x2.stl".
func (p piece) fileName() string {
	if p.part.Quantity > 1 {
		return fmt.Sprintf("%s-x%d%s", p.stem(), p.part.Quantity, p.ext())
	}
	return p.stem() + p.ext()
}
