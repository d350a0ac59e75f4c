package plates

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"math"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/layout"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/rotation"
	"cardback/internal/store"
	"cardback/internal/survey"
)

// Spacing is kept between pieces on a plate where nothing else is asked for, in
// mm: room for the feet of supports in resin and for a brim in filament (common
// practice, no source).
const Spacing = 2.0

// Wishes are what is asked of a set.
type Wishes struct {
	Spacing float64  // mm
	Choices []string // slugs of parts to take of their choices
}

// Usual is what is wished where nothing else is.
var Usual = Wishes{Spacing: Spacing}

// Lay lays what a full print of r by the plate's process needs on plates of that kind:
// every part in its quantity, mirrored twins too. Of each choice the wished part is
// taken, else the one that the chart names first, of those that can be read. A part that
// has pieces is laid whole or in pieces as printing.Slot.Take picks, and in pieces where
// neither fits. Each piece stands as it is recommended to, if it fits so, and else as it
// fits.
//
// s is the survey of the site. A mesh is read again only where st has no outline
// of it in that orientation; st may be nil. The error is for a wish for a part that is
// none of a choice, for cancellation, for a plate that package layout refuses, and for a
// store that cannot be written.
func Lay(ctx context.Context, r release.Release, plate bench.Plate, s survey.Survey, st *store.Store, w Wishes) (*Set, error) {
	l := laying{set: &Set{Release: r.Number, Process: plate.Process, Plate: plate, Spacing: w.Spacing}, found: s, st: st}
	taken, err := l.choose(printing.Of(r, plate.Process).Slots, w.Choices)
	if err != nil {
		return nil, err
	}
	for _, slot := range taken {
		if err := l.add(ctx, slot); err != nil {
			return nil, err
		}
	}
	if err := l.outlines(ctx); err != nil {
		return nil, err
	}
	return l.set, l.lay(ctx)
}

// laying is a set in the making.
type laying struct {
	set   *Set
	found survey.Survey
	st    *store.Store
}

// choose takes one whole for each slot: of a choice the wished one, else the first that
// can be read, else the first. The slots come back with the ways of that whole alone, in
// chart order.
func (l *laying) choose(slots []printing.Slot, wished []string) ([]printing.Slot, error) {
	var out []printing.Slot
	for _, s := range slots {
		wholes := s.Wholes()
		at := slices.IndexFunc(wholes, func(p printing.Part) bool { return slices.Contains(wished, p.Slug) })
		if at < 0 {
			at = max(0, slices.IndexFunc(wholes, func(p printing.Part) bool {
				_, readable := s.Only(p.Slug).First(func(q printing.Part) bool { return l.measured(q) != nil })
				return readable
			}))
		}
		taken := wholes[at]
		out = append(out, s.Only(taken.Slug))
		if s.Choice != "" {
			l.set.Choices = append(l.set.Choices, Choice{Group: s.Choice, Taken: taken, Others: slices.Delete(wholes, at, at+1)})
		}
	}
	for _, slug := range wished {
		if !slices.ContainsFunc(l.set.Choices, func(c Choice) bool { return c.Taken.Slug == slug }) {
			return nil, fmt.Errorf("lay out plates: %q is not a part to choose, or another of its choice is wished for as well", slug)
		}
	}
	slices.SortStableFunc(out, func(a, b printing.Slot) int { return cmp.Compare(a.Drawn().Number, b.Drawn().Number) })
	return out, nil
}

// measured is the survey of the mesh that is laid of p; nil where it was not read.
func (l *laying) measured(p printing.Part) *survey.CutSurvey {
	if c, ok := p.Cut(); ok {
		if cs, ok := l.found.Measured(c); ok {
			return cs
		}
	}
	return nil
}

// add puts what fills a slot into the set: a whole, or its pieces.
func (l *laying) add(ctx context.Context, slot printing.Slot) error {
	standing := map[string]*Piece{}
	for _, w := range slot.Ways {
		for _, p := range w.Parts {
			piece, err := l.piece(ctx, p)
			if err != nil {
				return err
			}
			standing[p.Slug] = piece
		}
	}
	way, ok := slot.Take(func(p printing.Part) fit.Result {
		if piece := standing[p.Slug]; piece != nil {
			return piece.Fit
		}
		return fit.Result{}
	})
	if !ok {
		way = slot.Ways[len(slot.Ways)-1] // in pieces, where there are some
	}
	if way.Split {
		split := Split{Way: way}
		if whole := standing[way.Whole.Slug]; whole != nil {
			split.Fit = whole.Fit
		}
		l.set.Splits = append(l.set.Splits, split)
	}
	for _, p := range way.Parts {
		l.put(p, standing[p.Slug])
	}
	return nil
}

// put adds a piece and its twin, or says what is missing.
func (l *laying) put(p printing.Part, piece *Piece) {
	if piece == nil {
		why := "no mesh for " + l.set.Process.String()
		if _, ok := p.Cut(); ok {
			why = "its mesh cannot be read"
		}
		l.set.Missing = append(l.set.Missing, p.Name+": "+why)
		return
	}
	for _, lot := range printing.Lots(p.Part) {
		one := *piece
		if one.Lot = lot; lot.Mirrored {
			one.Rotation = mirroredRotation(piece.Rotation)
		}
		l.set.Pieces = append(l.set.Pieces, one)
	}
}

// piece is a part as it stands, without its outline; nil where it has no mesh.
func (l *laying) piece(ctx context.Context, p printing.Part) (*Piece, error) {
	cs := l.measured(p)
	if cs == nil {
		return nil, nil
	}
	out := &Piece{Part: p, Cut: cs.Cut, SHA256: cs.SHA256, Rotation: p.Rotation(), Kept: true}
	var err error
	if out.Fit, err = cs.FitOn(ctx, survey.FitPlate(l.set.Plate), p, l.st); err != nil {
		return nil, err
	}
	if out.Fit.Otherwise() || out.Fit.Verdict == fit.Tipped {
		out.Rotation, out.Kept = out.Fit.Rotation, false
	}
	high := math.Inf(-1)
	out.Low = math.Inf(1)
	for _, v := range cs.Report.Hull {
		z := rotation.Apply(out.Rotation, v).Z
		out.Low, high = min(out.Low, z), max(high, z)
	}
	if len(cs.Report.Hull) == 0 {
		out.Low, high = 0, 0
	}
	out.Height = high - out.Low
	return out, nil
}

// mirroredRotation is the orientation of a mirror image that mirrors m: mirrored
// in x = 0 after m is mirrored before what this gives.
func mirroredRotation(m [9]float64) [9]float64 {
	for _, k := range [...]int{1, 2, 3, 6} {
		m[k] = 0 - m[k] // never −0
	}
	return m
}

// lay lays the pieces, or takes from the store how the same were laid before.
func (l *laying) lay(ctx context.Context) error {
	s := l.set
	pieces := make([]layout.Piece, len(s.Pieces))
	for i, p := range s.Pieces {
		pieces[i] = layout.Piece{Name: p.Name(), Number: p.Number, Outline: p.Outline, Height: p.Height, Copies: p.Copies}
	}
	o := layout.Options{Plate: survey.FitPlate(s.Plate), Spacing: s.Spacing}
	text, err := json.Marshal([]any{pieces, o})
	if err != nil {
		return err
	}
	sum := sha256.Sum256(text)
	key := []string{"layout", hex.EncodeToString(sum[:])}
	if !l.st.Get(&s.Layout, key...) || s.Layout == nil {
		if s.Layout, err = layout.Lay(ctx, pieces, o); err != nil {
			return err
		}
		if err := l.st.Put(s.Layout, key...); err != nil {
			return err
		}
	}
	for i, u := range s.Layout.Unplaced {
		if f := s.Pieces[u.Piece].Fit; !f.Verdict.Fits() {
			s.Layout.Unplaced[i].Reason = f.Reason // of all orientations, not of turns alone
		}
	}
	return nil
}
