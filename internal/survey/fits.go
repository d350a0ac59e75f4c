package survey

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/fit/frontier"
	"cardback/internal/mesh"
	"cardback/internal/printing"
	"cardback/internal/rotation"
	"cardback/internal/store"
)

// stance names how a process lays a part, for the store: two processes may share one.
func stance(p printing.Part) string {
	return fmt.Sprintf("%v %v %s", p.Declared(), p.Pose.Tilt, p.Pose.About)
}

// hull is the hull's points in an order of their own, so that what is found for them is
// that of the shape, whatever its file.
func (cs *CutSurvey) hull() []mesh.Vec {
	hull := slices.Clone(cs.Report.Hull)
	slices.SortFunc(hull, func(a, b mesh.Vec) int {
		return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y), cmp.Compare(a.Z, b.Z))
	})
	return hull
}

// FitOn tries the cut of part p alone on a plate: as it is recommended to stand before
// anything else, where anybody recommends it. The answer is kept in the store by the
// fingerprint, so that the same shape in another file is not tried again. The error is
// for cancellation and for a store that cannot be written.
func (cs *CutSurvey) FitOn(ctx context.Context, plate fit.Plate, p printing.Part, st *store.Store) (res fit.Result, err error) {
	text, err := json.Marshal(plate)
	if err != nil {
		return res, err
	}
	key := []string{"fit", cs.Report.Fingerprint, string(text), stance(p)}
	if st.Get(&res, key...) {
		return res, nil
	}
	if p.Declared() {
		res = fit.FitDeclared(ctx, cs.hull(), plate, p.Rotation())
	} else {
		res = fit.Fit(ctx, cs.hull(), plate)
	}
	if err := ctx.Err(); err != nil {
		return res, err
	}
	return res, st.Put(res, key...)
}

// fits tries the part on every plate of the processes it may be printed by, and finds
// the frontier of each process that prints it.
func (cs *CutSurvey) fits(ctx context.Context, j job, plates []bench.Plate, st *store.Store) error {
	cs.Fits = map[string]fit.Result{}
	for _, p := range plates {
		if !cs.Cut.Kind.IsFor(p.Process) {
			continue
		}
		res, err := cs.FitOn(ctx, FitPlate(p), j.laid(p.Process), st)
		if err != nil {
			return err
		}
		cs.Fits[p.ID] = res
	}
	cs.Frontiers = map[*bench.Process]*frontier.Frontier{}
	found := map[string]*frontier.Frontier{} // by stance
	for _, p := range j.printed() {
		f, have := found[stance(p)]
		if !have {
			var err error
			if f, err = cs.frontier(ctx, p, st); err != nil {
				return err
			}
			found[stance(p)] = f
		}
		if f != nil {
			cs.Frontiers[p.Process] = f
		}
	}
	return nil
}

// frontier is that of the part standing as recommended: what fit calls as
// supplied and turned is in that orientation, and tipped is any other. It is nil
// for coordinates that are no lengths.
func (cs *CutSurvey) frontier(ctx context.Context, p printing.Part, st *store.Store) (*frontier.Frontier, error) {
	key := []string{"frontier", cs.Report.Fingerprint, fmt.Sprint(p.Pose.Tilt, p.Pose.About)}
	var got *frontier.Frontier
	if st.Get(&got, key...) && got != nil {
		return got, nil
	}
	stood := cs.hull()
	if p.Pose.Tilt != 0 {
		rot := p.Rotation()
		for i, v := range stood {
			stood[i] = rotation.Apply(rot, v)
		}
	}
	got, err := frontier.New(ctx, stood)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		return nil, nil // the fits say what is wrong with the coordinates
	}
	return got, st.Put(got, key...)
}
