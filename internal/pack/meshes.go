package pack

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/infile"
	"cardback/internal/meshfile"
	"cardback/internal/parallel"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
)

// Source is where the bytes of meshes come from: what was measured, and the store that
// keeps it. With a Survey, a mesh that is another now is meshfile.ErrChanged; without one
// nothing is compared. Without a Store every mesh file is read.
type Source struct {
	Survey survey.Survey
	Store  *store.Store
}

// piece is one mesh to print: a part's cut, or that cut's mirror image.
type piece struct {
	part     release.Part
	number   int // on the chart
	cut      release.Cut
	mirrored bool
}

// ext is the file name's ending: the cut's own, or .stl for a mirrored twin.
func (p piece) ext() string {
	if p.mirrored {
		return ".stl"
	}
	return strings.ToLower(path.Ext(p.cut.Rel))
}

// stem is "01-upper-arm" or "01-upper-arm-mirrored".
func (p piece) stem() string {
	s := fmt.Sprintf("%02d-%s", p.number, plainName(p.part.Name, p.part.Slug))
	if p.mirrored {
		s += "-mirrored"
	}
	return s
}

// pieces lists each part's cuts that pick chooses, each followed by its mirrored
// twin where the part has one, in chart order.
func pieces(r *release.Release, pick func(part int) []release.Cut) []piece {
	var out []piece
	for i, p := range r.Parts {
		for _, c := range pick(i) {
			for _, lot := range printing.Lots(p) {
				out = append(out, piece{part: p, number: i + 1, cut: c, mirrored: lot.Mirrored})
			}
		}
	}
	return out
}

// load has every piece packed, side by side. Where a piece cannot be read its place
// in the first result is nil and in the second holds why; the third is set only
// where ctx ended.
func (from Source) load(ctx context.Context, r *release.Release, list []piece) ([]*meshfile.Packed, []error, error) {
	out, failed := make([]*meshfile.Packed, len(list)), make([]error, len(list))
	err := parallel.Tasks(ctx, len(list), func(i int) {
		packed, err := from.packed(ctx, r, list[i])
		if err != nil {
			failed[i] = fmt.Errorf("pack %s: %w", list[i].cut.Rel, err)
			return
		}
		out[i] = &packed
	})
	return out, failed, err
}

func (from Source) packed(ctx context.Context, r *release.Release, p piece) (out meshfile.Packed, err error) {
	f, err := from.file(p.cut)
	if err == nil {
		defer f.Close()
		out, err = f.Packed(ctx)
	}
	if err != nil {
		return out, fileError(err)
	}
	if cs, ok := from.Survey.Measured(p.cut); ok && out.Fingerprint != cs.Report.Fingerprint {
		return out, fmt.Errorf("%w: its fingerprint is not the one that was found", meshfile.ErrChanged)
	}
	if p.mirrored {
		return f.Mirrored(ctx, fmt.Sprintf("%s %s, mirrored, mm", folderOf(r), p.part.Slug))
	}
	return out, nil
}

// file is the file of a cut as it was measured. Of one that could not be read then there is
// nothing to hold it against: if it can be read now, it is another.
func (from Source) file(c release.Cut) (*meshfile.File, error) {
	if cs := from.Survey.Of(c); cs != nil && cs.SHA256 != "" {
		return meshfile.Of(c.File, cs.SHA256, from.Store), nil
	}
	f, err := meshfile.Look(c.File, from.Store)
	if err == nil && from.Survey != nil {
		f.Close()
		err = meshfile.ErrChanged
	}
	return f, err
}

// fileError says of a file that cannot be opened no more than that, since what the system
// says has this computer's folders in it.
func fileError(err error) error {
	switch pe := (*fs.PathError)(nil); {
	case errors.Is(err, infile.ErrKind):
		return errors.New("it is not a regular file")
	case errors.Is(err, infile.ErrLarge):
		return fmt.Errorf("it is larger than %d MiB", meshfile.MostPacked>>20)
	case errors.As(err, &pe):
		return errors.New("the file cannot be read")
	}
	return err
}

// folderOf is "07-the-lamplighter".
func folderOf(r *release.Release) string { return fmt.Sprintf("%02d-%s", r.Number, r.Slug) }

// Parts makes every mesh of the release a download of its own, mirrored twins
// included, in chart order and each part's cuts in the order any, filament,
// resin, flexible. With an error that is not ctx's, the list holds all but the
// meshes the error names.
func Parts(ctx context.Context, site *release.Site, r *release.Release, from Source) ([]Download, error) {
	list := pieces(r, func(i int) []release.Cut { return r.Parts[i].Cuts })
	meshes, failed, err := from.load(ctx, r, list)
	if err != nil {
		return nil, err
	}
	var out []Download
	for i, p := range list {
		if meshes[i] == nil {
			continue
		}
		data, err := meshes[i].Unpacked()
		if err != nil {
			failed[i] = fmt.Errorf("pack %s: %w", p.cut.Rel, err)
			continue
		}
		d := Download{Kind: KindPart, Part: p.part.Slug, Cut: p.cut.Kind, Mirrored: p.mirrored, Data: data}
		d.Name = folderOf(r) + "-" + p.stem()
		d.Title = oneLine(p.part.Name)
		d.Process = bench.ProcessOf(r.Processes(), string(p.cut.Kind))
		if p.cut.Kind != release.CutAny {
			d.Name += "-" + string(p.cut.Kind)
			d.Title += ", " + string(p.cut.Kind) + " cut"
		}
		if p.mirrored {
			d.Title += ", mirrored"
		}
		d.Name += p.ext()
		out = append(out, d.seal())
	}
	return out, errors.Join(failed...)
}
