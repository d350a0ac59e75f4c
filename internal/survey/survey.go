// Package survey measures a whole site: every cut's mesh is read once, measured,
// tried on every plate of its process, sliced as the release prints it and drawn,
// and what was found is handed on as plain values. Nothing after it opens a mesh to learn a number.
//
// Results are kept in a store, keyed by the file's bytes or the mesh's fingerprint,
// by the plate, the orientation and the settings for slicing, so that a mesh is
// measured once in its life. Meshes are worked on side by side, a
// few at a time; the result does not depend on how many.
package survey

import (
	"context"
	"errors"
	"fmt"
	"os"

	"cardback/internal/bench"
	"cardback/internal/draw"
	"cardback/internal/fit"
	"cardback/internal/fit/frontier"
	"cardback/internal/fit/gauge"
	"cardback/internal/infile"
	"cardback/internal/measure"
	"cardback/internal/measure/shadow"
	"cardback/internal/measure/stand"
	"cardback/internal/memory"
	"cardback/internal/mend"
	"cardback/internal/mesh"
	"cardback/internal/meshfile"
	"cardback/internal/parallel"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/store"
)

// CutSurvey is everything measured from one cut's mesh. Err is set, and the
// measures are missing, where the file could not be read.
type CutSurvey struct {
	Cut    release.Cut
	Bytes  int64  // size of the file
	SHA256 string // of the file's bytes
	Info   mesh.Info
	Report *measure.Report
	Fits   map[string]fit.Result // by plate id; plates of processes the cut may be printed by
	// Frontiers are of processes the cut is printed by, and of the part standing as
	// the process is meant to lay it (printing.Part.Pose): what they call as supplied is
	// as recommended.
	Frontiers map[*bench.Process]*frontier.Frontier
	Layers    map[*bench.Process]*Layers // of processes the cut is printed by
	Drawing   [3]*draw.Drawing           // by shadow.View
	// Gauge is the part in the small-parts cylinder. Loose says that it is not the
	// whole mesh that fits, but one of the separate pieces in it.
	Gauge gauge.Result
	Loose bool
	// Stands is how the mesh stands as it lies in the file: of a release's Pose and
	// of a release that is printing.OnePiece; nil for all others, and where it encloses nothing. Of a
	// Pose there are no other measures.
	Stands *stand.Report
	Err    error
}

// Tall is the mesh's extent along z in mm, zero where it was not measured.
func (cs *CutSurvey) Tall() float64 {
	switch {
	case cs.Report != nil:
		return cs.Report.Bounds.Size().Z
	case cs.Drawing[shadow.Front] != nil:
		return cs.Drawing[shadow.Front].Height
	}
	return 0
}

// Survey is a whole site measured: by the cut's path relative to the content
// root (release.Cut.Rel).
type Survey map[string]*CutSurvey

// Of returns the survey of a cut, nil where there is none.
func (s Survey) Of(c release.Cut) *CutSurvey { return s[c.Rel] }

// Measured returns the survey of a cut whose mesh could be read; ok is false
// where there is none.
func (s Survey) Measured(c release.Cut) (cs *CutSurvey, ok bool) {
	cs = s[c.Rel]
	return cs, cs != nil && cs.Err == nil
}

// Run surveys every cut of the site and every standing pose. A mesh that cannot be read is recorded in
// its CutSurvey and does not stop the rest; the error is for cancellation and
// for a store that cannot be written. step, where not nil, is called after each
// cut, from several goroutines.
func Run(ctx context.Context, site *release.Site, st *store.Store, step func(done string)) (Survey, error) {
	jobs := jobsOf(site)
	found := make([]*CutSurvey, len(jobs))
	rooms := memory.NewRooms()
	err := parallel.Each(ctx, len(jobs), func(ctx context.Context, i int) error {
		j := jobs[i]
		leave, err := rooms.Take(ctx, needOf(j.cut))
		if err != nil {
			return err
		}
		defer leave()
		found[i], err = guarded(j.cut, func() (*CutSurvey, error) { return cut(ctx, j, site.Bench.Plates, st) })
		if err != nil {
			return fmt.Errorf("survey %s: %w", j.cut.Rel, err)
		}
		if step != nil && j.cut.Kind != release.CutPose {
			step(j.cut.Rel)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	out := make(Survey, len(jobs))
	for i, j := range jobs {
		out[j.cut.Rel] = found[i]
	}
	return out, nil
}

// guarded is the survey of one cut, or, where the program fails at it, one that says so:
// a fault costs the mesh that it came up at, and no other.
func guarded(c release.Cut, survey func() (*CutSurvey, error)) (cs *CutSurvey, err error) {
	defer func() {
		if p := recover(); p != nil {
			cs, err = &CutSurvey{Cut: c, Err: fmt.Errorf("a fault of the program while this mesh was measured: %v", p)}, nil
		}
	}()
	return survey()
}

// needOf is about what a cut's mesh takes in memory while it is measured.
func needOf(c release.Cut) int64 {
	st, err := os.Stat(c.File)
	if err != nil {
		return 0 // told when it is opened
	}
	return memory.OfMesh(c.File, st.Size())
}

// job is one cut to survey and how it is printed.
type job struct {
	cut    release.Cut
	part   string         // slug of the part that it is of
	plans  printing.Plans // of the release
	figure bool           // the cut is the whole figure: see printing.OnePiece
}

// laid is the part in a process.
func (j job) laid(proc *bench.Process) printing.Part {
	p, _ := j.plans.By(proc).Part(j.part)
	return p
}

// printed is the part in each process that prints the cut.
func (j job) printed() []printing.Part { return j.plans.Printing(j.part, j.cut) }

func jobsOf(site *release.Site) []job {
	var out []job
	for _, r := range site.Releases {
		plans := printing.All(r)
		_, figure := printing.OnePiece(r)
		if r.Pose != nil {
			out = append(out, job{cut: *r.Pose})
		}
		for _, p := range r.Parts {
			for _, c := range p.Cuts {
				out = append(out, job{c, p.Slug, plans, figure})
			}
		}
	}
	return out
}

// measured is what the store keeps for a file: all that depends on its bytes.
type measured struct {
	Info    mesh.Info
	Report  *measure.Report
	Drawing [3]*draw.Drawing
}

func cut(ctx context.Context, j job, plates []bench.Plate, st *store.Store) (*CutSurvey, error) {
	c := j.cut
	if c.Kind == release.CutPose {
		return posed(ctx, c, st)
	}
	cs, read := opened(c, st)
	if cs.Err != nil {
		return cs, nil
	}
	defer read.file.Close()
	var err error
	var got measured
	if !st.Get(&got, "measured", cs.SHA256) || got.Report == nil {
		if got, err = measureFile(ctx, read); err != nil {
			if ctx.Err() != nil {
				return nil, ctx.Err()
			}
			cs.Err = infile.Cause(err)
			return cs, nil
		}
		if err := st.Put(got, "measured", cs.SHA256); err != nil {
			return nil, err
		}
	}
	cs.Info, cs.Report, cs.Drawing = got.Info, got.Report, got.Drawing

	if err := cs.fits(ctx, j, plates, st); err != nil {
		return nil, err
	}
	load := func() (*mesh.Mesh, error) { return read.surface(ctx) }
	if err := cs.gauge(ctx, load, st); err != nil {
		return nil, err
	}
	if j.figure {
		if cs.Stands, err = standingOf(ctx, cs.SHA256, load, st); err != nil {
			return nil, err
		}
	}
	cs.Layers = map[*bench.Process]*Layers{}
	for _, p := range j.printed() {
		o := slicing(p, j.plans.By(p.Process).Settings)
		l, err := layersOf(ctx, p.Process, o, cs.SHA256, st, load)
		if err != nil {
			return nil, err
		}
		if l != nil {
			cs.Layers[p.Process] = l
		}
	}
	return cs, read.keep(ctx)
}

// FitPlate is the build volume of a bench plate, as package fit takes it.
func FitPlate(p bench.Plate) fit.Plate {
	return fit.Plate{Width: p.Width, Depth: p.Depth, Height: p.Height, Margin: p.Margin, Round: p.Round}
}

// opened begins the survey of a mesh file with its size and hash. Where it cannot be
// opened or read, Err says why and there is nothing to close.
func opened(c release.Cut, st *store.Store) (*CutSurvey, *reader) {
	f, err := meshfile.Look(c.File, st)
	cs := &CutSurvey{Cut: c, Bytes: f.Size, SHA256: f.SHA256, Err: infile.Cause(err)}
	if err != nil {
		cs.SHA256 = ""
		return cs, nil
	}
	return cs, &reader{file: f}
}

// reader reads a mesh file when it is first wanted, and once: the mesh of the bytes
// that were hashed, or none.
type reader struct {
	file   *meshfile.File
	closed *mesh.Mesh // see surface
}

// surface is the mesh as it is measured: with cracks closed that no printer shows.
func (r *reader) surface(ctx context.Context) (*mesh.Mesh, error) {
	if r.closed != nil {
		return r.closed, nil
	}
	m, _, err := r.mesh(ctx)
	if err != nil {
		return nil, err
	}
	r.closed, _, err = mend.Surface(ctx, m)
	return r.closed, err
}

func (r *reader) mesh(ctx context.Context) (*mesh.Mesh, mesh.Info, error) {
	m, info, err := r.file.Mesh(ctx)
	if err == nil {
		err = m.CheckReach()
	}
	return m, info, err
}

// keep has the store keep what an archive wants of the file while it is open. A file that
// changes meanwhile is found out by whoever asks for it later.
func (r *reader) keep(ctx context.Context) error {
	r.closed = nil
	if err := r.file.Keep(ctx); errors.Is(err, meshfile.ErrChanged) || ctx.Err() == nil {
		return nil
	}
	return ctx.Err()
}

func measureFile(ctx context.Context, read *reader) (measured, error) {
	var out measured
	m, info, err := read.mesh(ctx)
	if err != nil {
		return out, err
	}
	out.Info = info
	if out.Report, err = measure.Measure(ctx, m); err != nil {
		return out, err
	}
	// Drawn as measured: the two sides of a crack are one line.
	if m, err = read.surface(ctx); err != nil {
		return out, err
	}
	for _, v := range shadow.Views {
		if out.Drawing[v], err = draw.Draw(ctx, m, v); err != nil {
			return out, err
		}
	}
	return out, nil
}
