package plates

import (
	"context"
	"encoding/json"
	"fmt"

	"cardback/internal/infile"
	"cardback/internal/measure/shadow"
	"cardback/internal/meshfile"
	"cardback/internal/parallel"
	"cardback/internal/rotation"
	"cardback/internal/store"
	"cardback/internal/survey"
)

// outlines finds the outlines of all pieces, a few at a time. A mesh of which
// there is none is missing.
func (l *laying) outlines(ctx context.Context) error {
	found := make([]shadow.Outline, len(l.set.Pieces))
	failed := make([]error, len(l.set.Pieces))
	err := parallel.Each(ctx, len(l.set.Pieces), func(ctx context.Context, i int) (err error) {
		p := l.set.Pieces[i]
		if p.Mirrored {
			return nil // follows its original
		}
		defer func() {
			if fault := recover(); fault != nil {
				failed[i] = fmt.Errorf("a fault of the program while its outline was made: %v", fault)
			}
		}()
		found[i], failed[i], err = outline(ctx, p, l.found.Of(p.Cut), l.st)
		return err
	})
	if err != nil {
		return err
	}
	var kept []Piece
	for i, p := range l.set.Pieces {
		if p.Mirrored {
			found[i], failed[i] = mirroredOutline(found[i-1]), failed[i-1]
		}
		switch {
		case failed[i] == nil:
			p.Outline = found[i]
			kept = append(kept, p)
		case !p.Mirrored:
			l.set.Missing = append(l.set.Missing, p.Part.Name+": "+failed[i].Error())
		}
	}
	l.set.Pieces = kept
	return nil
}

// outline is the shadow of a piece that is not mirrored, seen from above, from
// the store or from the mesh. Why tells what is wrong with the mesh.
func outline(ctx context.Context, p Piece, cs *survey.CutSurvey, st *store.Store) (got shadow.Outline, why, err error) {
	pose, err := json.Marshal(p.Rotation)
	if err != nil || st.Get(&got, "outline", cs.SHA256, string(pose)) {
		return got, nil, err
	}
	f := meshfile.Of(p.Cut.File, cs.SHA256, st)
	defer f.Close()
	m, _, err := f.Mesh(ctx)
	if err == nil {
		err = m.CheckReach()
	}
	if err == nil {
		for i, v := range m.Vertices {
			m.Vertices[i] = rotation.Apply(p.Rotation, v)
		}
		got, _, err = shadow.OrHull(ctx, m, shadow.Top)
	}
	switch {
	case ctx.Err() != nil:
		return nil, nil, ctx.Err()
	case err != nil:
		return nil, infile.Cause(err), nil
	}
	return got, nil, st.Put(got, "outline", cs.SHA256, string(pose))
}

// mirroredOutline is the outline of the mirror image in x = 0; rings keep their
// sense.
func mirroredOutline(o shadow.Outline) shadow.Outline {
	var out shadow.Outline
	for _, r := range o {
		ring := make(shadow.Ring, len(r))
		for i, p := range r {
			ring[len(r)-1-i] = shadow.Point{X: 0 - p.X, Y: p.Y}
		}
		out = append(out, ring)
	}
	return out
}
