// Package mend closes cracks and sets right what is wrong with a surface in ways
// that change nothing a printer could show.
//
// Surface gives the surface to measure: the file's own, or, where its only fault
// is cracks finer than Unseen, the same with the cracks closed. All cracks close or
// none do, and that they are closed is proved by counting every edge anew. Mend
// does what it can for a mesh that is to be written out again: it drops triangles
// that add nothing, closes cracks within a distance of the caller's choice and
// turns shells the right way out, and says what is left.
//
// No corner moves and no side bends by more than the stated distance; no triangle
// is added over a gap. A hole, however small beside the part, stays a hole.
//
// Work is bounded on any input, and every answer is the same to the last bit on any
// number of processors.
package mend

import (
	"context"

	"cardback/internal/measure/sound"
	"cardback/internal/mesh"
)

// Unseen, in mm, is far below what any printer shows: a tenth of the thinnest
// layer that resin is printed in (0.01 mm) and a twentieth of the finest pixel of a
// mask (22 µm: published for such printers, check values 5). A gap of 0.01 mm, which
// a slice may show, is ten times as wide.
const Unseen = 1e-3

// unseenShare bounds what is unseen as a share of the greatest extent, so that a
// mesh in metres or inches is not welded by what would be millimetres of the part:
// files are written with five significant digits at the fewest (as in sound.Crack).
const unseenShare = 1e-4

// Within is the distance in mm at which cracks of m are closed for measuring: the
// lesser of Unseen and a ten-thousandth of the greatest extent.
func Within(m *mesh.Mesh) float64 {
	size := m.Bounds().Size()
	return min(Unseen, unseenShare*max(size.X, size.Y, size.Z))
}

// Closing says how cracks were closed.
type Closing struct {
	OpenEdges int        // edges with one triangle before
	Within    float64    // mm, the distance allowed
	Farthest  float64    // mm, the most that a corner moved or a side bent
	Joined    int        // corners that became one with another
	Cut       int        // times that a side was cut at a corner lying on it
	Flattened int        // triangles narrower than Within that had to go
	Places    []mesh.Vec // corners joined or lying on a side, up to sound.MostPlaces
	// Spent says that looking ended at its bound.
	Spent bool
}

// Surface is m where it has no open edge, or not all of them close; else m with
// every crack closed, and how. The error is the context's.
func Surface(ctx context.Context, m *mesh.Mesh) (*mesh.Mesh, *Closing, error) {
	closed, err := m.Closed(ctx)
	if err != nil || closed {
		return m, nil, err
	}
	before, err := sound.BalanceOf(ctx, m)
	if err != nil || len(before.Open) == 0 {
		return m, nil, err
	}
	within := Within(m)
	bare, open := m, before.Open
	if out, changed := ears(m, open, within, &Closing{}); changed {
		bare = out
		left, err := sound.BalanceOf(ctx, bare)
		if err != nil {
			return m, nil, err
		}
		open = left.Open
	}
	if hopeful, err := mayClose(ctx, bare, open, within); err != nil || !hopeful {
		return m, nil, err
	}
	out, how, after, err := closest(ctx, m, before, within)
	if err != nil || !evened(out, before, after) {
		return m, nil, err
	}
	return out, &how, nil
}

// evened reports whether all that was open is even now, and what is uneven was so
// before.
func evened(out *mesh.Mesh, before, after sound.Balance) bool {
	return len(out.Triangles) > 0 && len(after.Open) == 0 && after.Uneven <= before.Uneven-len(before.Open) && after.Inconsistent <= before.Inconsistent
}

// closest joins within the least of some distances at which all closes, so that what
// differs by a rounding of 32 bits is not moved by a micrometre; else within the
// whole distance.
func closest(ctx context.Context, m *mesh.Mesh, before sound.Balance, within float64) (out *mesh.Mesh, how Closing, after sound.Balance, err error) {
	for _, share := range [...]float64{1e-3, 1e-2, 1e-1, 1} {
		out, how, after, err = join(ctx, m, before, within*share)
		if err != nil || how.Spent || evened(out, before, after) {
			break
		}
	}
	return out, how, after, err
}

// join closes what it can of m within a distance, and counts the edges of what
// comes out.
func join(ctx context.Context, m *mesh.Mesh, before sound.Balance, within float64) (*mesh.Mesh, Closing, sound.Balance, error) {
	how := Closing{OpenEdges: len(before.Open), Within: within}
	out, err := weld(ctx, m, before.Open, within, &how)
	if err != nil {
		return nil, how, before, err
	}
	after, err := sound.BalanceOf(ctx, out)
	for range mostRounds {
		if err != nil || len(after.Open) == 0 || how.Spent {
			break
		}
		var bared, cutUp bool
		if out, bared = ears(out, after.Open, within, &how); bared {
			if after, err = sound.BalanceOf(ctx, out); err != nil {
				break
			}
		}
		if out, cutUp, err = cut(ctx, out, after.Open, within, &how); err != nil || !bared && !cutUp {
			break
		}
		after, err = sound.BalanceOf(ctx, out)
	}
	return out, how, after, err
}

// mostRounds is how often sides are cut at corners: a cut may bare the next corner
// where narrow triangles had to go.
const mostRounds = 6
