package survey

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
	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/meshfile"
	"cardback/internal/parallel"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/rotation"
	"cardback/internal/store"
	"cardback/internal/words"
)

// Spacing is kept between pieces on a plate where nothing else is asked for, in
// mm: room for the feet of supports in resin and for a brim in filament (common
// practice, no source).
const Spacing = 2.0

// PlatePiece is a part, or its mirrored twin, as it stands on a plate before
// package layout turns and moves it. A point of the mesh, mirrored first where
// Mirrored says so, comes there by Rotation and a shift of −Low along Z.
type PlatePiece struct {
	printing.Part
	Cut      release.Cut
	SHA256   string     // of the cut's file
	Rotation [9]float64 // row-major
	printing.Lot
	Outline shadow.Outline // its shadow seen from above, exact
	Height  float64        // mm
	Low     float64        // the least Z after Rotation, mm
	// Kept is false where the recommended pose does not fit this plate and
	// another one does, which Rotation is then.
	Kept bool
	Fit  fit.Result // of the part alone on the plate, not of its mirrored twin
}

// Name is the part's, with a word for a mirrored twin.
func (p PlatePiece) Name() string {
	if p.Mirrored {
		return p.Part.Name + ", mirrored"
	}
	return p.Part.Name
}

// Placement is where a point of the mesh comes, mirrored first where Mirrored
// says so, when p is placed at at: it is turned by the row-major rotation and moved
// by shift. The plate's lower left corner is the origin and its surface Z = 0, to
// within layout.Tolerance.
func (p PlatePiece) Placement(at layout.Placed) (rotation [9]float64, shift mesh.Vec) {
	sin, cos := turn(at)
	rotation = p.Rotation
	for k := range 3 {
		x, y := p.Rotation[k], p.Rotation[3+k]
		rotation[k] = 0 + float64(cos*x) - float64(sin*y) // 0 +: never −0
		rotation[3+k] = 0 + float64(sin*x) + float64(cos*y)
	}
	return rotation, mesh.Vec{X: at.X, Y: at.Y, Z: 0 - p.Low}
}

// turn is the sine and cosine of a placed piece's turn, exact for right angles.
func turn(at layout.Placed) (sin, cos float64) {
	sin, cos = math.Sincos(at.TurnDeg * math.Pi / 180)
	if quarter := at.TurnDeg / 90; quarter == math.Trunc(quarter) {
		return math.Round(sin), math.Round(cos)
	}
	return sin, cos
}

// OutlineAt is the outline where it lies on the plate when p is placed at at.
func (p PlatePiece) OutlineAt(at layout.Placed) shadow.Outline {
	sin, cos := turn(at)
	out := make(shadow.Outline, len(p.Outline))
	for i, r := range p.Outline {
		out[i] = make(shadow.Ring, len(r))
		for k, q := range r {
			out[i][k] = shadow.Point{X: float64(q.X*cos) - float64(q.Y*sin) + at.X, Y: float64(q.X*sin) + float64(q.Y*cos) + at.Y}
		}
	}
	return out
}

// PlateSplit is a whole part of which the pieces are laid, since it does not fit,
// or not in the orientation recommended for it.
type PlateSplit struct {
	printing.Way
	Fit fit.Result // why not, or how; empty where the whole has no readable mesh
}

// Short reports whether some of the pieces that are printed in a whole's place are not
// laid either.
func (s *PlateSet) Short(split PlateSplit) bool {
	return slices.ContainsFunc(s.Layout.Unplaced, func(u layout.Unplaced) bool {
		return slices.ContainsFunc(split.Parts, func(p printing.Part) bool { return p.Slug == s.Pieces[u.Piece].Part.Slug })
	})
}

// PlateChoice is the part that was taken of a choice.
type PlateChoice struct {
	Group  string
	Taken  printing.Part
	Others []printing.Part
}

// PlateSet is one full print of a release laid on plates of one kind.
type PlateSet struct {
	Release int // its number
	Process *bench.Process
	Plate   bench.Plate
	Spacing float64
	Pieces  []PlatePiece
	Layout  *layout.Layout // its pieces are numbered as Pieces
	Splits  []PlateSplit
	Choices []PlateChoice
	Missing []string // parts that cannot be laid, each with why: "Tail: no mesh for resin"
}

// Sentence tells how many plates there are, what is known about fewer, and first how
// many parts are on none: what is said of plates is of the rest.
func (s *PlateSet) Sentence() string {
	left := len(s.Missing) + len(s.Layout.Unplaced)
	switch {
	case left == 0:
		return s.Layout.Sentence()
	case len(s.Layout.Plates) == 0:
		return "no plates: nothing can be laid"
	}
	return words.Count(left, "part", "parts") + " left out; the rest on " + s.Layout.Sentence()
}

// PlateWishes change what LayPlates does.
type PlateWishes struct {
	Spacing float64  // mm
	Choices []string // slugs of parts to take of their choices
}

// LayPlates lays what a full print of r by the plate's process needs on plates
// of that kind: every part in its quantity, mirrored twins too. Of each choice
// the part that the chart names first is taken, of those that can be read. A
// part that has pieces is laid whole or in pieces as printing.Slot.Take picks, and in
// pieces where neither fits. Each piece stands as it is recommended to, if it fits
// so, and else as it fits.
//
// s is the survey of the site. A mesh is read again only where st has no outline
// of it in that orientation; it may be nil. The error is for cancellation, for a
// plate that package layout refuses, and for a store that cannot be written.
func LayPlates(ctx context.Context, site *release.Site, r release.Release, plate bench.Plate, s Survey, st *store.Store) (*PlateSet, error) {
	return LayPlatesAs(ctx, r, plate, s, st, PlateWishes{Spacing: Spacing})
}

// LayPlatesAs is LayPlates with wishes. It is an error to wish for a part that
// is none of a choice.
func LayPlatesAs(ctx context.Context, r release.Release, plate bench.Plate, s Survey, st *store.Store, w PlateWishes) (*PlateSet, error) {
	l := platesOf{set: &PlateSet{Release: r.Number, Process: plate.Process, Plate: plate, Spacing: w.Spacing}, survey: s, st: st}
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

// platesOf is one set of plates in the making.
type platesOf struct {
	set    *PlateSet
	survey Survey
	st     *store.Store
}

// choose takes one whole for each slot: of a choice the wished one, else the first that
// can be read, else the first. The slots come back with the ways of that whole alone, in
// chart order.
func (l *platesOf) choose(slots []printing.Slot, wished []string) ([]printing.Slot, error) {
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
			l.set.Choices = append(l.set.Choices, PlateChoice{Group: s.Choice, Taken: taken, Others: slices.Delete(wholes, at, at+1)})
		}
	}
	for _, slug := range wished {
		if !slices.ContainsFunc(l.set.Choices, func(c PlateChoice) bool { return c.Taken.Slug == slug }) {
			return nil, fmt.Errorf("lay out plates: %q is not a part to choose, or another of its choice is wished for as well", slug)
		}
	}
	slices.SortStableFunc(out, func(a, b printing.Slot) int { return cmp.Compare(a.Drawn().Number, b.Drawn().Number) })
	return out, nil
}

// measured is the survey of the mesh that is laid of p; nil where it was not read.
func (l *platesOf) measured(p printing.Part) *CutSurvey {
	if c, ok := p.Cut(); ok {
		if cs, ok := l.survey.Measured(c); ok {
			return cs
		}
	}
	return nil
}

// add puts what fills a slot into the set: a whole, or its pieces.
func (l *platesOf) add(ctx context.Context, slot printing.Slot) error {
	standing := map[string]*PlatePiece{}
	for _, w := range slot.Ways {
		for _, p := range w.Parts {
			piece, err := l.piece(ctx, p)
			if err != nil {
				return err
			}
			standing[p.Slug] = piece
		}
	}
	way, ok := slot.Take(func(p printing.Part) fit.Result { return standing[p.Slug].answer() })
	if !ok {
		way = slot.Ways[len(slot.Ways)-1] // in pieces, where there are some
	}
	if way.Split {
		split := PlateSplit{Way: way}
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

// answer is how the piece fits alone, as CutSurvey.Fits has it: what is laid as
// supplied for want of a word has no recommended orientation to keep. It is empty where
// there is no mesh of the piece.
func (p *PlatePiece) answer() fit.Result {
	if p == nil {
		return fit.Result{}
	}
	res := p.Fit
	res.Declared = res.Declared && p.Declared()
	return res
}

// put adds a piece and its twin, or says what is missing.
func (l *platesOf) put(p printing.Part, piece *PlatePiece) {
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
func (l *platesOf) piece(ctx context.Context, p printing.Part) (*PlatePiece, error) {
	cs := l.measured(p)
	if cs == nil {
		return nil, nil
	}
	declared := poseRotation(p.Pose)
	out := &PlatePiece{Part: p, Cut: cs.Cut, SHA256: cs.SHA256, Rotation: declared, Kept: true}
	var err error
	if out.Fit, err = fitDeclared(ctx, cs, FitPlate(l.set.Plate), declared, l.st); err != nil {
		return nil, err
	}
	if out.Fit.Verdict.Fits() && !out.Fit.Keeps {
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

// fitDeclared is fit.FitDeclared of a cut, kept in the store.
func fitDeclared(ctx context.Context, cs *CutSurvey, plate fit.Plate, declared [9]float64, st *store.Store) (fit.Result, error) {
	var res fit.Result
	key, err := json.Marshal([]any{plate, declared})
	if err != nil || st.Get(&res, "fit declared", cs.SHA256, string(key)) {
		return res, err
	}
	res = fit.FitDeclared(ctx, cs.Report.Hull, plate, declared)
	if err := ctx.Err(); err != nil {
		return res, err
	}
	return res, st.Put(res, "fit declared", cs.SHA256, string(key))
}

// mirroredRotation is the orientation of a mirror image that mirrors m: mirrored
// in x = 0 after m is mirrored before what this gives.
func mirroredRotation(m [9]float64) [9]float64 {
	for _, k := range [...]int{1, 2, 3, 6} {
		m[k] = 0 - m[k] // never −0
	}
	return m
}

// outlines finds the outlines of all pieces, a few at a time. A mesh of which
// there is none is missing.
func (l *platesOf) outlines(ctx context.Context) error {
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
		found[i], failed[i], err = outline(ctx, p, l.survey.Of(p.Cut), l.st)
		return err
	})
	if err != nil {
		return err
	}
	var kept []PlatePiece
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
func outline(ctx context.Context, p PlatePiece, cs *CutSurvey, st *store.Store) (got shadow.Outline, why, err error) {
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
		return nil, withoutPath(err), nil
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

// lay lays the pieces, or takes from the store how the same were laid before.
func (l *platesOf) lay(ctx context.Context) error {
	s := l.set
	pieces := make([]layout.Piece, len(s.Pieces))
	for i, p := range s.Pieces {
		pieces[i] = layout.Piece{Name: p.Name(), Number: p.Number, Outline: p.Outline, Height: p.Height, Copies: p.Copies}
	}
	o := layout.Options{Plate: FitPlate(s.Plate), Spacing: s.Spacing}
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
