package survey

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"math"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure/slice"
	"cardback/internal/measure/stack"
	"cardback/internal/mesh"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/store"
)

// A part is a flat one when its largest layer as supplied is over flatArea, in
// mm², and as wide as flatRatio times its height at least. Such a layer comes off
// a printer's film with a jerk; a steep tilt makes it small. The limits
// are common practice, no source; the tilt is what turned a distorted flat print
// into a clean one.
const (
	flatArea  = 400
	flatRatio = 4
	steepTilt = 40 // degrees
)

// mostPlaces bounds how many islands and hollows of each kind are kept; all are
// counted.
const mostPlaces = 20

// Layers is a cut as one process prints it: what package slice found at the
// release's settings, without the long lists of a value for each layer. Lengths
// are mm. Places are in the mesh's own frame, as supplied; only a hollow's Rim is a
// height as tilted.
type Layers struct {
	Pose      slice.Pose
	Layer     float64 // height of one
	Limit     float64 // overhang, degrees from the vertical
	Count     int
	Height    float64
	Peak      float64 // mm², the largest layer; PeakLayer is its number from 0
	PeakLayer int
	FlatPeak  float64 // mm², as supplied
	Jump      float64 // mm², the largest growth from a layer to the next
	JumpRatio float64
	JumpLayer int
	Overhang  float64 // mm²
	// Encloses is false for a mesh that encloses nothing: of it only Count, Height
	// and Overhang are known.
	Encloses bool

	// Islands and the hollows hold up to twenty places each, the largest first;
	// the counts are of all.
	stack.Report
	IslandCount, CupCount, WellCount, TrappedCount int

	// Steep is a trial at a steep tilt, for a flat part that is pulled off a film and printed
	// as supplied; nil for all others.
	Steep *Trial
}

// Trial is one further pose in the numbers that are compared.
type Trial struct {
	Pose slice.Pose
	Peak float64
}

// slicing is how a part is sliced where a process prints it by these settings.
func slicing(p printing.Part, settings release.PrintSettings) slice.Options {
	o := slice.Options{Layer: p.Process.Layer, Limit: slice.DefaultLimit, Pose: p.Pose}
	if settings.Layer > 0 {
		o.Layer = settings.Layer
	}
	return o
}

// layersOf slices a cut, or takes from the store what was sliced before. load
// reads the mesh when it is wanted. The answer is nil for a mesh so tall that no
// printer has as many layers: a finding says that its unit may be wrong.
func layersOf(ctx context.Context, proc *bench.Process, options slice.Options, sha string, st *store.Store, load func() (*mesh.Mesh, error)) (*Layers, error) {
	settings, err := json.Marshal(options)
	if err != nil {
		return nil, err
	}
	key := []string{"layers", sha, proc.ID, string(settings)}
	var got *Layers
	if st.Get(&got, key...) && got != nil {
		return got, nil
	}
	m, err := load()
	if err != nil {
		return nil, err
	}
	cut, err := slice.Cut(ctx, m, options)
	if errors.Is(err, slice.ErrTooManyLayers) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	got = summary(cut)
	if flat := options.Pose == (slice.Pose{}) && got.Peak > flatArea && got.Height*flatRatio < math.Sqrt(got.Peak); flat && proc.Film {
		for _, about := range []string{"x", "y"} {
			o := options
			o.Pose = slice.Pose{Tilt: steepTilt, About: about}
			steep, err := slice.Cut(ctx, m, o)
			if err != nil {
				return nil, err
			}
			if got.Steep == nil || steep.Peak < got.Steep.Peak {
				got.Steep = &Trial{Pose: o.Pose, Peak: steep.Peak}
			}
		}
	}
	return got, st.Put(got, key...)
}

// summary keeps what pages show.
func summary(l *slice.Layers) *Layers {
	out := &Layers{
		Pose: l.Options.Pose, Layer: l.Options.Layer, Limit: l.Options.Limit,
		Count: len(l.Areas), Height: l.Height, Peak: l.Peak, PeakLayer: l.PeakLayer, FlatPeak: l.FlatPeak,
		Jump: l.Jump, JumpRatio: l.JumpRatio, JumpLayer: l.JumpLayer, Overhang: l.Overhang, Encloses: l.Encloses,
		IslandCount: len(l.Islands), CupCount: len(l.Cups), WellCount: len(l.Wells), TrappedCount: len(l.Trapped),
	}
	out.Islands = largest(l.Islands, func(i stack.Island) float64 { return i.Area })
	volume := func(h stack.Hollow) float64 { return h.Volume }
	out.Cups, out.Wells, out.Trapped = largest(l.Cups, volume), largest(l.Wells, volume), largest(l.Trapped, volume)
	for i := range out.Islands {
		out.Islands[i].At = asSupplied(l.Options.Pose, out.Islands[i].At)
	}
	for _, hollows := range [][]stack.Hollow{out.Cups, out.Wells, out.Trapped} {
		for i := range hollows {
			hollows[i].At = asSupplied(l.Options.Pose, hollows[i].At)
		}
	}
	return out
}

// asSupplied turns a point of a tilted mesh back.
func asSupplied(p slice.Pose, at mesh.Vec) mesh.Vec {
	back := slice.Pose{Tilt: -p.Tilt, About: p.About}
	return back.Apply(&mesh.Mesh{Vertices: []mesh.Vec{at}}).Vertices[0]
}

// largest is the first places of list by size, ties in the order given.
func largest[T any](list []T, size func(T) float64) []T {
	out := slices.Clone(list)
	slices.SortStableFunc(out, func(a, b T) int { return cmp.Compare(size(b), size(a)) })
	return out[:min(len(out), mostPlaces):min(len(out), mostPlaces)]
}
