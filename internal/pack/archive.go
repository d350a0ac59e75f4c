package pack

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/verdict"
	"cardback/internal/words"
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
// Where a complete print by the process needs more than there is, the archive's name ends in
// "-incomplete", and Lacks, the title and the README say what is not in it.
//
// of is the release as it was judged.
//
// With an error that is not ctx's, a Download with a Size is whole but for the
// meshes the error names, and its README says so. ErrNothing means that the
// release has no mesh for the process, or none that can be read.
func Archive(ctx context.Context, site *release.Site, r *release.Release, proc *bench.Process, of *verdict.Release, files []File, from Source) (Download, error) {
	plan := printing.Of(*r, proc)
	list := pieces(r, func(i int) []release.Cut { return plan.Parts[i].Meshes() })
	meshes, failed, err := from.load(ctx, r, list)
	if err != nil {
		return Download{}, err
	}
	files = slices.Concat(files, cutListFile(r, of.CutLists))
	var all []member
	var packed, lost []line
	for i, p := range list {
		l := line{piece: p, name: "meshes/" + folder(plan, p) + p.fileName()}
		if meshes[i] == nil {
			lost = append(lost, l)
			continue
		}
		l.Packed = *meshes[i]
		packed = append(packed, l)
		all = append(all, member{l.name, meshes[i].Packed})
	}
	problems := errors.Join(failed...)
	lacks := lacking(plan, packed, lost)
	top := folderOf(r) + "-" + proc.ID + ifAny(lacks, "-incomplete")
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
	texts := slices.Concat(files, []File{
		{"hardware.csv", HardwareCSV(of.Hardware)},
		{"licence.txt", licence},
		{"README.txt", readme(site, r, proc, of.Changes, packed, lost, files, lacks)},
	})
	if of.Changes.Any() {
		texts = append(texts, File{ChangesFile, changesText(of.Changes, r, proc)})
	}
	members, err := membersOf(texts)
	if err != nil {
		return Download{}, errors.Join(err, problems)
	}
	all = append(all, members...)
	if members, err = membersOf([]File{{"SHA256SUMS", sums(all)}}); err != nil {
		return Download{}, errors.Join(err, problems)
	}
	data, err := zipped(ctx, top, append(all, members...), at)
	if err != nil {
		return Download{}, errors.Join(fmt.Errorf("%s: %w", top, err), problems)
	}
	d := Download{
		Name: top + ".zip", Title: oneLine(r.Title) + ", " + setWords(proc, lacks),
		Kind: KindArchive, Process: proc, Meshes: len(packed), Data: data, Lacks: lacks,
	}
	return d.seal(), problems
}

// lacking names what a complete print by plan needs and the pieces packed do not
// fill: of each slot one way must be there whole.
func lacking(plan printing.Plan, packed, lost []line) []string {
	have := map[string]bool{}
	for _, l := range packed {
		have[l.part.Slug] = true
	}
	for _, l := range lost {
		delete(have, l.part.Slug)
	}
	var out []string
	for _, slot := range plan.Slots {
		if _, whole := slot.First(func(p printing.Part) bool { return have[p.Slug] }); !whole {
			out = append(out, oneLine(slot.Name))
		}
	}
	return out
}

// setWords says what a set for a process is: everything, or what it lacks.
func setWords(proc *bench.Process, lacks []string) string {
	if len(lacks) == 0 {
		return "everything for " + proc.String()
	}
	return "for " + proc.String() + ", incomplete: without " + words.List(lacks)
}

// ifAny is s where there is something in list.
func ifAny(list []string, s string) string {
	if len(list) == 0 {
		return ""
	}
	return s
}

// folder is where a piece stands inside "meshes", ending in a slash, or empty.
// A split is one only where both its sides are printed by the process.
func folder(plan printing.Plan, p piece) string {
	offered := func(q printing.Part) bool { return len(q.Meshes()) > 0 }
	f := ""
	if p.part.Choice != "" {
		f = "choose-one-" + plainName(p.part.Choice, "part") + "/"
	}
	if whole, ok := plan.Part(p.part.Replaces); slices.ContainsFunc(plan.Pieces(p.part.Slug), offered) {
		f += "large-plates/"
	} else if ok && offered(whole) {
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
