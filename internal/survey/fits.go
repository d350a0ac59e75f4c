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
	"cardback/internal/measure/slice"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/rotation"
	"cardback/internal/store"
)

// Declared reports whether anybody recommends an orientation for p in proc: its
// own notes or the release's. What is laid as supplied for want of a word is not
// recommended so.
func Declared(r release.Release, p release.Part, proc *bench.Process) bool {
	return p.OrientedFor(proc) || RecommendedPose(r, p, proc) != slice.Pose{}
}

// stance is how one process lays a cut.
type stance struct {
	pose     slice.Pose
	declared bool
}

// rotation brings the part from its file's orientation into the stance.
func (s stance) rotation() [9]float64 { return rotation.Tilted(s.pose.Tilt, s.pose.About == "y") }

// key names the stance.
func (s stance) key() string { return fmt.Sprintf("%v %v %s", s.declared, s.pose.Tilt, s.pose.About) }

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
		fp, stands := FitPlate(p), j.stands[p.Process]
		plate, err := json.Marshal(fp)
		if err != nil {
			return err
		}
		var res fit.Result
		if key := []string{"fit", shape, string(plate), stands.key()}; !st.Get(&res, key...) {
			if stands.declared {
				res = fit.FitDeclared(ctx, hull, fp, stands.rotation())
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
	found := map[string]*frontier.Frontier{} // by stance: two processes may share one
	for _, w := range j.printing {
		proc := w.process
		stands := j.stands[proc]
		f, have := found[stands.key()]
		if !have {
			var err error
			if f, err = frontierOf(ctx, hull, shape, stands, st); err != nil {
				return err
			}
			found[stands.key()] = f
		}
		if f != nil {
			cs.Frontiers[proc] = f
		}
	}
	return nil
}

// frontierOf is that of the part standing as recommended: what fit calls as
// supplied and turned is in that orientation, and tipped is any other. It is nil
// for coordinates that are no lengths.
func frontierOf(ctx context.Context, hull []mesh.Vec, shape string, s stance, st *store.Store) (*frontier.Frontier, error) {
	key := []string{"frontier", shape, fmt.Sprint(s.pose.Tilt, s.pose.About)}
	var got *frontier.Frontier
	if st.Get(&got, key...) && got != nil {
		return got, nil
	}
	stood := hull
	if s.pose.Tilt != 0 {
		stood = make([]mesh.Vec, len(hull))
		rot := s.rotation()
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
