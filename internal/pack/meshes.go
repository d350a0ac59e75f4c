package pack

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"path"
	"runtime"
	"strings"

	"golang.org/x/sync/errgroup"

	"cardback/internal/bench"
	"cardback/internal/infile"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/survey"
)

// maxMesh is the largest mesh file packed, in bytes: some ten million triangles
// of binary STL. Archives are put together in memory.
const maxMesh = 512 << 20

// piece is one mesh to print: a part's cut, or that cut's mirror image.
type piece struct {
	part     release.Part
	number   int // on the chart
	cut      release.Cut
	mirrored bool
}

// loaded is a piece's bytes and what its mesh is.
type loaded struct {
	data        []byte
	fingerprint string
	triangles   int
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
func pieces(r *release.Release, pick func(release.Part) []release.Cut) []piece {
	var out []piece
	for i, p := range r.Parts {
		for _, c := range pick(p) {
			out = append(out, piece{part: p, number: i + 1, cut: c})
			if p.MirroredTwin {
				out = append(out, piece{part: p, number: i + 1, cut: c, mirrored: true})
			}
		}
	}
	return out
}

// load reads every piece, side by side. Where a piece cannot be read its place
// in the first result is nil and in the second holds why; the third is set only
// where ctx ended.
func load(ctx context.Context, r *release.Release, list []piece, found survey.Survey) ([]*loaded, []error, error) {
	out, failed := make([]*loaded, len(list)), make([]error, len(list))
	g, gctx := errgroup.WithContext(ctx)
	g.SetLimit(runtime.GOMAXPROCS(0))
	for i, p := range list {
		g.Go(func() error {
			l, err := loadPiece(gctx, r, p, found)
			if gctx.Err() != nil {
				return gctx.Err()
			}
			if err != nil {
				failed[i] = fmt.Errorf("pack %s: %w", p.cut.Rel, err)
				return nil
			}
			out[i] = l
			return nil
		})
	}
	return out, failed, g.Wait()
}

func loadPiece(ctx context.Context, r *release.Release, p piece, found survey.Survey) (*loaded, error) {
	data, err := readMesh(p.cut.File)
	if err != nil {
		return nil, err
	}
	if err := asMeasured(p, data, found); err != nil {
		return nil, err
	}
	m, _, err := mesh.Read(ctx, bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, err
	}
	if cs, ok := found.Measured(p.cut); ok && m.Fingerprint() != cs.Report.Fingerprint {
		return nil, fmt.Errorf("%w: its fingerprint is not the one that was found", ErrChanged)
	}
	if p.mirrored {
		m = m.Mirrored()
		var b bytes.Buffer
		header := fmt.Sprintf("%s %s, mirrored, mm", folderOf(r), p.part.Slug)
		if err := mesh.WriteSTL(&b, m, header); err != nil {
			return nil, fmt.Errorf("write its mirrored twin: %w", err)
		}
		data = b.Bytes()
		// The fingerprint is that of the mesh as written, in 32-bit coordinates.
		if m, _, err = mesh.Read(ctx, bytes.NewReader(data), int64(len(data))); err != nil {
			return nil, fmt.Errorf("read back its mirrored twin: %w", err)
		}
	}
	return &loaded{data: data, fingerprint: m.Fingerprint(), triangles: len(m.Triangles)}, nil
}

// asMeasured holds a piece's bytes against those that were measured. Of one that could not be read
// then there is nothing to hold it against but that it was another file.
func asMeasured(p piece, data []byte, found survey.Survey) error {
	cs := found.Of(p.cut)
	if found == nil || cs != nil && cs.SHA256 == sumOf(data) {
		return nil
	}
	if cs != nil && cs.Err != nil && cs.SHA256 == "" && cs.Bytes == int64(len(data)) {
		return cs.Err // it was refused by its size and head, before it was read
	}
	return ErrChanged
}

// readMesh reads a mesh file's bytes once, so that what is measured for the
// README is what is packed.
func readMesh(name string) ([]byte, error) {
	data, err := infile.Read(name, maxMesh)
	switch {
	case errors.Is(err, infile.ErrKind):
		return nil, errors.New("it is not a regular file")
	case errors.Is(err, infile.ErrLarge):
		return nil, fmt.Errorf("it is larger than %d MiB", maxMesh>>20)
	case err != nil:
		return nil, errors.New("the file cannot be read")
	}
	return data, nil
}

// folderOf is "07-the-lamplighter".
func folderOf(r *release.Release) string { return fmt.Sprintf("%02d-%s", r.Number, r.Slug) }

// Parts makes every mesh of the release a download of its own, mirrored twins
// included, in chart order and each part's cuts in the order any, filament,
// resin, flexible. With an error that is not ctx's, the list holds all but the
// meshes the error names.
//
// found is what was measured, as for Archive.
func Parts(ctx context.Context, site *release.Site, r *release.Release, found survey.Survey) ([]Download, error) {
	list := pieces(r, func(p release.Part) []release.Cut { return p.Cuts })
	meshes, failed, err := load(ctx, r, list, found)
	if err != nil {
		return nil, err
	}
	var out []Download
	for i, p := range list {
		if meshes[i] == nil {
			continue
		}
		d := Download{Kind: KindPart, Part: p.part.Slug, Cut: p.cut.Kind, Mirrored: p.mirrored, Data: meshes[i].data}
		d.Name = folderOf(r) + "-" + p.stem()
		d.Title = oneLine(p.part.Name)
		switch p.cut.Kind {
		case release.CutFilament, release.CutResin:
			d.Process = bench.ProcessOf(string(p.cut.Kind))
		}
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
