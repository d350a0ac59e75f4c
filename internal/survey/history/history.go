// Package history answers how each sealed revision of a release differs from what came
// after it: which parts came, went or changed, and by how much. Its central type is
// Step, from an earlier state to a later one; Of makes those of a site.
//
// Meshes are compared by their geometry as it is packed for sealing, so that an answer
// depends on the two fingerprints and the site's printing tolerance alone, and is kept
// in the store under them. What was lost is said in the step, and costs no build.
package history

import (
	"cmp"
	"context"
	"fmt"
	"path"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure/change"
	"cardback/internal/parallel"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
)

// Kinds of a step beside those of package change.
const (
	Added   change.Kind = "added"
	Removed change.Kind = "removed"
)

// History is how each release's sealed revisions differ from what came after, by
// release number. It holds plain values: whoever reads it opens no mesh.
type History map[int]*Release

// Release is the history of one release. ToWorking and ToNext are empty
// where nothing was sealed.
type Release struct {
	Working   release.Revision // the working files as they would be sealed, without name, date and note
	ToWorking []Step           // from each revision, oldest first, to the working files
	ToNext    []Step           // from each revision but the last to the one after it
}

// Unsealed is the step from the last revision to the working files; nil where
// nothing was sealed or nothing has changed since.
func (h *Release) Unsealed() *Step {
	if n := len(h.ToWorking); n > 0 && !h.ToWorking[n-1].Same() {
		return &h.ToWorking[n-1]
	}
	return nil
}

// Step is how a release differs between an earlier state and a later one.
type Step struct {
	Added    []*bench.Process // of the bench: see bench.Bench
	From, To string           // names of revisions; To is empty for the working files
	Parts    []PartStep       // in the later state's order, then those that it no longer has
	// Tolerance is the site's printing tolerance, mm: meshes that differ by less are
	// nearly the same.
	Tolerance float64
	// The hardware of the two states.
	HardwareWas, HardwareIs []release.SealedHardware
}

// Same reports whether the states are one and the same: parts, names, quantities,
// meshes and hardware. What an item is called on the bench, and the order of
// parts and items, are no matter of the release's state.
func (s Step) Same() bool {
	return sameHardware(s.HardwareWas, s.HardwareIs) && !slices.ContainsFunc(s.Parts, func(p PartStep) bool { return !p.Same() })
}

// sameHardware compares lists that hold each item and cut length once.
func sameHardware(a, b []release.SealedHardware) bool {
	return len(a) == len(b) && !slices.ContainsFunc(a, func(h release.SealedHardware) bool {
		return !slices.ContainsFunc(b, func(k release.SealedHardware) bool { return h.Item == k.Item && h.Cut == k.Cut && h.Count == k.Count })
	})
}

// PartStep is one part in both states: Was is nil for a part that was added, Is
// for one that was removed. A part is the same one where it has the same slug, or
// where one that was renamed has a mesh of the same fingerprint.
type PartStep struct {
	Was, Is *release.SealedPart
	Cuts    []CutStep
}

// Name is what the part is called, now where it still is.
func (p PartStep) Name() string {
	if p.Is != nil {
		return p.Is.Name
	}
	return p.Was.Name
}

// Slug is the part's folder, now where it still is.
func (p PartStep) Slug() string {
	if p.Is != nil {
		return p.Is.Slug
	}
	return p.Was.Slug
}

// Same reports whether nothing about the part has changed.
func (p PartStep) Same() bool {
	if p.Was == nil || p.Is == nil {
		return false
	}
	a, b := *p.Was, *p.Is
	a.Cuts, b.Cuts = nil, nil
	return a.Slug == b.Slug && a.Name == b.Name && a.Quantity == b.Quantity && a.MirroredTwin == b.MirroredTwin &&
		a.Only == b.Only && a.Choice == b.Choice && a.Replaces == b.Replaces && p.SameMeshes()
}

// SameMeshes reports whether the part has the same cuts with the same
// fingerprints.
func (p PartStep) SameMeshes() bool {
	if p.Was == nil || p.Is == nil {
		return false
	}
	return slices.EqualFunc(p.Was.Cuts, p.Is.Cuts, func(a, b release.SealedCut) bool {
		return a.Kind == b.Kind && a.Fingerprint == b.Fingerprint && a.Fingerprint != ""
	})
}

// In is the step of the cut that is printed in that way; ok is false where the
// part is printed so in neither state.
func (p PartStep) In(use Use) (step CutStep, ok bool) {
	i := slices.IndexFunc(p.Cuts, func(c CutStep) bool { return slices.Contains(c.Uses, use) })
	if i < 0 {
		return CutStep{}, false
	}
	return p.Cuts[i], true
}

// Use is a way of printing a part that has a say in which cut is taken.
type Use struct {
	Process  *bench.Process
	Flexible bool
}

// Uses lists those of some processes.
func Uses(list []*bench.Process) []Use {
	var out []Use
	for _, p := range list {
		out = append(out, Use{p, false}, Use{p, true})
	}
	return out
}

func (u Use) stiffness() bench.Stiffness {
	if u.Flexible {
		return bench.Flexible
	}
	return bench.Rigid
}

// CutStep is how what is printed of a part in some ways has changed. Was and Is
// may be of different kinds, as where a cut for all processes was replaced by one
// for each. Was is nil where there was none, Is where there is none any more.
type CutStep struct {
	Was, Is *release.SealedCut
	Uses    []Use // empty for a cut that no way of printing takes, since others are nearer to it
	Kind    change.Kind
	// Change is nil where the meshes were not compared: where Kind is Added or
	// Removed or the fingerprints agree, and where Why says what stood in the way.
	// Kind is then Changed, since the fingerprints differ.
	Change *change.Change
	Why    string // "the sealed geometry is missing"; mostly empty
	// Overlay is nil unless what was printed is to be printed again and the meshes
	// were compared.
	Overlay *Overlay
}

// Working is r's working files in the form that is sealed. A cut whose mesh could
// not be read has no fingerprint.
func Working(r release.Release, s survey.Survey) release.Revision {
	rev := release.Revision{Hardware: release.MergeHardware(r.Hardware)}
	for _, p := range r.Parts {
		q := release.SealedPart{
			Slug: p.Slug, Name: p.Name, Quantity: p.Quantity, MirroredTwin: p.MirroredTwin,
			Only: p.Only, Choice: p.Choice, Replaces: p.Replaces,
		}
		for _, c := range p.Cuts {
			sealed := release.SealedCut{Kind: c.Kind}
			if cs, ok := s.Measured(c); ok {
				size := cs.Report.Bounds.Size()
				sealed.Fingerprint, sealed.Triangles = cs.Report.Fingerprint, cs.Report.Triangles
				sealed.Volume, sealed.Area = cs.Report.Volume, cs.Report.Area
				sealed.Size = [3]float64{size.X, size.Y, size.Z}
				sealed.Geometry = sealedGeometry(sealed.Fingerprint)
			}
			q.Cuts = append(q.Cuts, sealed)
		}
		rev.Parts = append(rev.Parts, q)
	}
	return rev.Tidy()
}

// sealedGeometry is where a mesh is kept, relative to the release's folder. Cuts
// and revisions with the same mesh share the file.
func sealedGeometry(fingerprint string) string {
	const digits = 16 // 64 bits: enough to keep a release's meshes apart
	return path.Join(release.SealedFolder, fingerprint[:min(digits, len(fingerprint))]+".mesh")
}

// Of compares every sealed revision of the site with the one after it and
// with the working files. What was compared once is kept in the store, by the pair
// of fingerprints. A sealed mesh that is missing or damaged is told in its step;
// the error is for cancellation and for a store that cannot be written. step,
// where not nil, is called after each pair of meshes, from several goroutines.
func Of(ctx context.Context, site *release.Site, s survey.Survey, st *store.Store, step func(done string)) (History, error) {
	out := History{}
	var pairs []pair
	for _, r := range site.Releases {
		h := &Release{Working: Working(r, s)}
		for i, rev := range r.Revisions {
			h.ToWorking = append(h.ToWorking, stepBetween(r, rev, h.Working))
			if i > 0 {
				h.ToNext = append(h.ToNext, stepBetween(r, r.Revisions[i-1], rev))
			}
		}
		for _, steps := range [][]Step{h.ToWorking, h.ToNext} {
			for i := range steps {
				steps[i].Tolerance = site.PrintTolerance
			}
		}
		out[r.Number] = h
		kept := geometryOf(site, r, s)
		for _, steps := range [][]Step{h.ToWorking, h.ToNext} {
			for i := range steps {
				pairs = append(pairs, steps[i].pairs(kept)...)
			}
		}
	}
	return out, compareAll(ctx, pairs, st, step)
}

// Between compares two states of r; to without a name is the working files, see
// Working.
func Between(ctx context.Context, site *release.Site, r release.Release, from, to release.Revision, s survey.Survey, st *store.Store) (Step, error) {
	out := stepBetween(r, from, to)
	out.Tolerance = site.PrintTolerance
	return out, compareAll(ctx, out.pairs(geometryOf(site, r, s)), st, nil)
}

// stepBetween finds which parts and cuts belong together. Meshes are not compared
// yet: where fingerprints differ, Kind is Changed.
func stepBetween(r release.Release, from, to release.Revision) Step {
	uses := Uses(r.Processes())
	out := Step{Added: r.Added, From: from.Name, To: to.Name, HardwareWas: from.Hardware, HardwareIs: to.Hardware}
	was := matchParts(from.Parts, to.Parts)
	gone := make([]bool, len(from.Parts))
	for i := range gone {
		gone[i] = true
	}
	for i := range to.Parts {
		p := PartStep{Is: &to.Parts[i]}
		if was[i] >= 0 {
			p.Was = &from.Parts[was[i]]
			gone[was[i]] = false
		}
		p.Cuts = cutSteps(p.Was, p.Is, uses)
		out.Parts = append(out.Parts, p)
	}
	for i := range from.Parts {
		if gone[i] {
			out.Parts = append(out.Parts, PartStep{Was: &from.Parts[i], Cuts: cutSteps(&from.Parts[i], nil, uses)})
		}
	}
	return out
}

// matchParts gives for each part of to the index of the same part in from, −1
// where it is new: by slug first, then of those that are left by a mesh they
// share, in order.
func matchParts(from, to []release.SealedPart) []int {
	out := make([]int, len(to))
	taken := make([]bool, len(from))
	find := func(i int, same func(release.SealedPart) bool) {
		for k := range from {
			if !taken[k] && same(from[k]) {
				out[i], taken[k] = k, true
				return
			}
		}
	}
	for i, p := range to {
		out[i] = -1
		find(i, func(q release.SealedPart) bool { return q.Slug == p.Slug })
	}
	for i, p := range to {
		if out[i] < 0 {
			find(i, func(q release.SealedPart) bool { return shareMesh(p, q) })
		}
	}
	return out
}

func shareMesh(p, q release.SealedPart) bool {
	return slices.ContainsFunc(p.Cuts, func(a release.SealedCut) bool {
		return a.Fingerprint != "" && slices.ContainsFunc(q.Cuts, func(b release.SealedCut) bool { return a.Fingerprint == b.Fingerprint })
	})
}

// cutSteps pairs what each way of printing takes of the part in both states, and
// then the cuts that none takes, by kind. Either part may be nil.
func cutSteps(was, is *release.SealedPart, uses []Use) []CutStep {
	var out []CutStep
	add := func(a, b *release.SealedCut, use ...Use) {
		i := slices.IndexFunc(out, func(c CutStep) bool { return kindOf(c.Was) == kindOf(a) && kindOf(c.Is) == kindOf(b) })
		if i < 0 {
			i = len(out)
			out = append(out, CutStep{Was: a, Is: b, Kind: kindOfStep(a, b)})
		}
		out[i].Uses = append(out[i].Uses, use...)
	}
	for _, u := range uses {
		if a, b := printedOf(was, u), printedOf(is, u); a != nil || b != nil {
			add(a, b, u)
		}
	}
	cut := func(p *release.SealedPart, kind release.CutKind) *release.SealedCut {
		if p == nil {
			return nil
		}
		if c, ok := p.Cut(kind); ok {
			return &c
		}
		return nil
	}
	var kinds []release.CutKind
	for _, p := range []*release.SealedPart{was, is} {
		if p != nil {
			for _, c := range p.Cuts {
				kinds = append(kinds, c.Kind)
			}
		}
	}
	slices.SortFunc(kinds, release.CompareCuts)
	for _, kind := range slices.Compact(kinds) {
		a, b := cut(was, kind), cut(is, kind)
		if a != nil && slices.ContainsFunc(out, func(c CutStep) bool { return kindOf(c.Was) == kind }) {
			a = nil
		}
		if b != nil && slices.ContainsFunc(out, func(c CutStep) bool { return kindOf(c.Is) == kind }) {
			b = nil
		}
		if a != nil || b != nil {
			add(a, b)
		}
	}
	slices.SortStableFunc(out, func(a, b CutStep) int {
		return cmp.Or(compareCuts(a.Is, b.Is), compareCuts(a.Was, b.Was))
	})
	return out
}

// printedOf is the cut of a part that is printed in that way; nil where there is none.
func printedOf(p *release.SealedPart, u Use) *release.SealedCut {
	if p == nil {
		return nil
	}
	part := printing.Sealed([]release.SealedPart{*p}, u.Process).Parts[0]
	if cut, ok := part.CutIn(u.stiffness()); ok && part.Needed {
		if c, ok := p.Cut(cut.Kind); ok {
			return &c
		}
	}
	return nil
}

func kindOf(c *release.SealedCut) release.CutKind {
	if c == nil {
		return ""
	}
	return c.Kind
}

// compareCuts sorts cuts by kind; none comes last.
func compareCuts(a, b *release.SealedCut) int {
	switch {
	case a == nil && b == nil:
		return 0
	case a == nil:
		return 1
	case b == nil:
		return -1
	}
	return release.CompareCuts(a.Kind, b.Kind)
}

func kindOfStep(a, b *release.SealedCut) change.Kind {
	switch {
	case a == nil:
		return Added
	case b == nil:
		return Removed
	case a.Fingerprint == b.Fingerprint && a.Fingerprint != "":
		return change.Unchanged
	}
	return change.Changed
}

// pair is a step whose meshes are to be compared.
type pair struct {
	cut       *CutStep
	kept      *geometry
	was, is   string // fingerprints
	tolerance float64
	describe  string // for progress and errors
}

func (s *Step) pairs(kept *geometry) []pair {
	var out []pair
	for i := range s.Parts {
		p := &s.Parts[i]
		for k := range p.Cuts {
			c := &p.Cuts[k]
			if c.Kind == change.Changed {
				out = append(out, pair{cut: c, kept: kept, was: c.Was.Fingerprint, is: c.Is.Fingerprint, tolerance: s.Tolerance, describe: p.Slug()})
			}
		}
	}
	return out
}

// compareAll compares the pairs side by side, each two meshes once.
func compareAll(ctx context.Context, pairs []pair, st *store.Store, step func(done string)) error {
	type meshes struct{ was, is string }
	same := map[meshes][]int{} // indices of pairs; a fingerprint is the same geometry anywhere
	var order []meshes
	for i, p := range pairs {
		key := meshes{p.was, p.is}
		if len(same[key]) == 0 {
			order = append(order, key)
		}
		same[key] = append(same[key], i)
	}
	return parallel.Each(ctx, len(order), func(ctx context.Context, at int) error {
		alike := same[order[at]]
		// Another release may hold what one has lost: the first that has both.
		var found *compared
		whys := make([]string, len(alike))
		for n, i := range alike {
			var err error
			if found, whys[n], err = guardedCompare(func() (*compared, string, error) { return pairs[i].compare(ctx, st) }); err != nil {
				return fmt.Errorf("compare %s: %w", pairs[i].describe, err)
			}
			if found != nil {
				break
			}
		}
		for n, i := range alike {
			c := pairs[i].cut
			if found == nil {
				c.Why = whys[n]
				continue
			}
			c.Kind, c.Change, c.Overlay = found.Change.Kind, &found.Change, found.Overlay
		}
		if step != nil {
			step(pairs[alike[0]].describe)
		}
		return nil
	})
}

// guardedCompare is a comparison, or, where the program fails at it, why there is none.
func guardedCompare(compare func() (*compared, string, error)) (found *compared, why string, err error) {
	defer func() {
		if p := recover(); p != nil {
			found, why, err = nil, fmt.Sprintf("a fault of the program while they were compared: %v", p), nil
		}
	}()
	return compare()
}
