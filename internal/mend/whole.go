package mend

import (
	"context"

	"cardback/internal/measure/sound"
	"cardback/internal/mesh"
)

// Did says what Mend did and what it could not.
type Did struct {
	Repeated int // triangles left out for a corner given twice
	NoArea   int // for corners on one line
	Doubled  int // for another one on the same corners that faces the same way
	Backs    int // pairs left out that lay back to back on the same corners
	Closing      // Joined, Cut and Flattened are of the cracks that closed and of those that did not
	Turned   int // triangles turned over
	Shells   int // whole shells among them

	OpenLeft  int  // edges with one triangle
	NoAreaIn  int  // triangles without area that stay, because leaving them out would open the surface
	OneSided  int  // stretches of surface with one side alone
	Facing    int  // edges at which two neighbours still face opposite ways
	Unwelded  bool // looking for cracks ended at its bound, so that none was closed
	Triangles int  // of the mended mesh
}

// Changed reports whether anything was done.
func (d *Did) Changed() bool {
	return d.Repeated+d.NoArea+d.Doubled+d.Backs+d.Joined+d.Cut+d.Flattened+d.Turned > 0
}

// Mend drops triangles that add nothing, closes cracks whose sides are within a
// distance in mm, and turns shells the right way out: closed ones outward, and what
// was a hollow of a shell that is turned stays one. It never fills a hole, unites
// shells or removes crossings. The result has no triangle with a repeated vertex and
// no vertex that none uses; it may be empty. The error is the context's.
func Mend(ctx context.Context, m *mesh.Mesh, within float64) (*mesh.Mesh, Did, error) {
	var did Did
	m, did.Repeated = dropRepeated(m)
	m, did.Doubled, did.Backs = dropDoubles(m)
	before, err := sound.BalanceOf(ctx, m)
	if err != nil {
		return nil, did, err
	}
	out, how, after, err := closest(ctx, m, before, within)
	if err != nil {
		return nil, did, err
	}
	// Leaving out what has no area bares cracks that close by cutting; where they do
	// not, it was better left in.
	if slim, n := dropNoArea(m); n > 0 {
		bare, err := sound.BalanceOf(ctx, slim)
		if err != nil {
			return nil, did, err
		}
		out2, how2, after2, err := closest(ctx, slim, bare, within)
		if err != nil {
			return nil, did, err
		}
		if len(after2.Open) <= len(after.Open) && after2.Uneven <= after.Uneven {
			out, how, after, did.NoArea = out2, how2, after2, n
		} else {
			did.NoAreaIn = n
		}
	}
	how.OpenEdges, how.Within = len(before.Open), within
	did.Closing, did.Unwelded = how, how.Spent
	out, repeated := dropRepeated(out)
	did.Repeated += repeated
	out, doubled, backs := dropDoubles(out) // what only now lies on the same corners
	did.Doubled += doubled
	did.Backs += backs
	laid := out.Triangles
	out, oneSided, err := agree(ctx, out)
	if err != nil {
		return nil, did, err
	}
	out, shells, err := outward(ctx, out)
	if err != nil {
		return nil, did, err
	}
	did.OneSided, did.Shells = oneSided, shells
	for i, t := range out.Triangles {
		if t != laid[i] {
			did.Turned++
		}
	}
	out = compact(out)
	left, err := sound.BalanceOf(ctx, out)
	if err != nil {
		return nil, did, err
	}
	did.OpenLeft, did.Facing, did.Triangles = len(left.Open), left.Inconsistent, len(out.Triangles)
	return out, did, nil
}
