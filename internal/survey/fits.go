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

// fits tries the part on every plate of the processes it may be printed by, as
// recommended before anything else, and finds the frontier of each process.
// Everything is kept by the fingerprint, so that the same shape in another file
// is not tried again. The hull's points are taken in an order of their own, so
// that the answer is that of the shape too.
func (cs *CutSurvey) fits(ctx context.Context, j job, plates []bench.Plate, st *store.Store) error {
	hull := slices.Clone(cs.Report.Hull)
	slices.SortFunc(hull, func(a, b mesh.Vec) int {
		return cmp.Or(cmp.Compare(a.X, b.X), cmp.Compare(a.Y, b.Y), cmp.Compare(a.Z, b.Z))
	})
	shape := cs.Report.Fingerprint
	cs.Fits = map[string]fit.Result{}
	for _, p := range plates {
		if !cs.Cut.Kind.IsFor(p.Process) {
			continue
		}
		fp, laid := FitPlate(p), j.laid(p.Process)
		plate, err := json.Marshal(fp)
		if err != nil {
			return err
		}
		var res fit.Result
		if key := []string{"fit", shape, string(plate), stance(laid)}; !st.Get(&res, key...) {
			if laid.Declared() {
				res = fit.FitDeclared(ctx, hull, fp, laid.Rotation())
			} else {
				res = fit.Fit(ctx, hull, fp)
			}
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := st.Put(res, key...); err != nil {
				return err
			}
		}
		cs.Fits[p.ID] = res
	}
	cs.Frontiers = map[*bench.Process]*frontier.Frontier{}
	found := map[string]*frontier.Frontier{} // by stance
	for _, p := range j.printed() {
		f, have := found[stance(p)]
		if !have {
			var err error
			if f, err = frontierOf(ctx, hull, shape, p, st); err != nil {
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

// frontierOf is that of the part standing as recommended: what fit calls as
// supplied and turned is in that orientation, and tipped is any other. It is nil
// for coordinates that are no lengths.
func frontierOf(ctx context.Context, hull []mesh.Vec, shape string, p printing.Part, st *store.Store) (*frontier.Frontier, error) {
	key := []string{"frontier", shape, fmt.Sprint(p.Pose.Tilt, p.Pose.About)}
	var got *frontier.Frontier
	if st.Get(&got, key...) && got != nil {
		return got, nil
	}
	stood := hull
	if p.Pose.Tilt != 0 {
		stood = make([]mesh.Vec, len(hull))
		rot := p.Rotation()
		for i, v := range hull {
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
