package history

import (
	"context"
	"errors"
	"math"
	"path"
	"path/filepath"
	"strconv"

	"cardback/internal/infile"
	"cardback/internal/measure/change"
	"cardback/internal/mesh"
	"cardback/internal/meshfile"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/survey"
)

// geometry says where meshes are kept, by fingerprint: in a working file of the
// release, or sealed.
type geometry struct {
	root    string // the content folder
	working map[string]*survey.CutSurvey
	sealed  map[string]release.SealedCut
	folder  string // the release's, relative to root, with the system's separators
}

func geometryOf(site *release.Site, r release.Release, s survey.Survey) *geometry {
	g := &geometry{root: site.Root, working: map[string]*survey.CutSurvey{}, sealed: map[string]release.SealedCut{}}
	g.folder, _ = filepath.Rel(site.Root, r.Dir) // release.Load makes both absolute; without it nothing is found
	for _, p := range r.Parts {
		for _, c := range p.Cuts {
			if cs, ok := s.Measured(c); ok {
				if fp := cs.Report.Fingerprint; g.working[fp] == nil {
					g.working[fp] = cs
				}
			}
		}
	}
	for _, rev := range r.Revisions {
		for _, p := range rev.Parts {
			for _, c := range p.Cuts {
				if _, ok := g.sealed[c.Fingerprint]; !ok {
					g.sealed[c.Fingerprint] = c
				}
			}
		}
	}
	return g
}

// mostSealed bounds the bytes of a sealed mesh that are read: a packed mesh
// should never be larger than a binary STL, of 50 bytes a triangle, but for a head.
func mostSealed(c release.SealedCut) int64 {
	const head, all = 4096, 1 << 29
	return int64(min(50*float64(c.Triangles)+head, all))
}

// Reasons why two meshes were not compared.
var (
	errMissing = errors.New("the sealed geometry is missing")
	errDamaged = errors.New("the sealed geometry is damaged")
	errEarlier = errors.New("the sealed geometry is in the form of an earlier program, which this one does not read")
	errGone    = errors.New("the working mesh cannot be read")
	errEmpty   = errors.New("a mesh without triangles has no shape to compare")
	errNumbers = errors.New("the coordinates are too large to compare")
)

// check makes sure that the mesh can be had, and says why not.
func (g *geometry) check(fingerprint string, st *store.Store) error {
	if fingerprint == "" {
		return errGone
	}
	if g.working[fingerprint] != nil {
		return nil // it was measured just now
	}
	f, err := g.packed(fingerprint, st)
	if err == nil {
		f.Close()
	}
	return err
}

// earlierForm stands in the store where a fingerprint would.
const earlierForm = "earlier form"

// packed returns the file of a sealed mesh, which is known to hold it. The caller closes it.
func (g *geometry) packed(fingerprint string, st *store.Store) (*meshfile.File, error) {
	c, ok := g.sealed[fingerprint]
	if !ok || c.Geometry == "" {
		return nil, errMissing
	}
	f, err := meshfile.LookBelow(g.root, path.Join(filepath.ToSlash(g.folder), c.Geometry), mostSealed(c), st)
	if errors.Is(err, infile.ErrLarge) {
		return nil, errDamaged
	}
	if err != nil {
		return nil, errMissing
	}
	var holds string
	if !st.Get(&holds, "sealed", f.SHA256) {
		data, err := f.Bytes()
		if err != nil {
			f.Close()
			return nil, errMissing
		}
		switch m, err := mesh.Unpack(data); {
		case err == nil:
			holds = m.Fingerprint()
		case errors.Is(err, mesh.ErrEarlierForm):
			holds = earlierForm
		}
		err = st.Put(holds, "sealed", f.SHA256)
		if err == nil && holds == fingerprint {
			err = f.KeepBytes() // while it is open: it may be compared
		}
		if err != nil {
			f.Close()
			return nil, err
		}
	}
	if holds != fingerprint {
		f.Close()
		if holds == earlierForm {
			return nil, errEarlier
		}
		return nil, errDamaged
	}
	return f, nil
}

// unpacked is the mesh in a sealed file.
func unpacked(f *meshfile.File) (*mesh.Mesh, error) {
	data, err := f.Bytes()
	if err != nil {
		return nil, err
	}
	return mesh.Unpack(data)
}

// mesh reads a mesh. Whether it comes from a working file or from sealed bytes,
// the same fingerprint gives the same mesh to the last bit, in the order in which
// a packed mesh is: so what is found does not depend on which of the two there was.
func (g *geometry) mesh(ctx context.Context, fingerprint string, st *store.Store) (*mesh.Mesh, error) {
	if cs := g.working[fingerprint]; cs != nil {
		f := meshfile.Of(cs.Cut.File, cs.SHA256, st)
		defer f.Close()
		m, _, err := f.Mesh(ctx)
		if err == nil {
			err = m.CheckReach()
		}
		if err != nil || m.Fingerprint() != fingerprint {
			return nil, errGone
		}
		if m, err = mesh.Unpack(mesh.Pack(m)); err != nil {
			return nil, errNumbers
		}
		return m, nil
	}
	f, err := g.packed(fingerprint, st)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	m, err := unpacked(f)
	if err != nil {
		return nil, errDamaged
	}
	return m, nil
}

// compared is what the store keeps for two meshes.
type compared struct {
	Change  change.Change
	Overlay *Overlay
}

// compare says how the pair's meshes differ, or why that cannot be said. The
// error is for cancellation and the store.
func (p pair) compare(ctx context.Context, st *store.Store) (found *compared, why string, err error) {
	for _, fp := range []string{p.is, p.was} {
		if err := p.kept.check(fp, st); err != nil {
			return nil, reasonFor(err), ctxOr(ctx, err)
		}
	}
	key := []string{"change", p.was, p.is, strconv.FormatFloat(p.tolerance, 'g', -1, 64)}
	if st.Get(&found, key...) && found != nil {
		return found, "", nil
	}
	var meshes [2]*mesh.Mesh
	for i, fp := range []string{p.was, p.is} {
		m, err := p.kept.mesh(ctx, fp, st)
		if err != nil {
			return nil, reasonFor(err), ctxOr(ctx, err)
		}
		if len(m.Triangles) == 0 {
			return nil, errEmpty.Error(), nil
		}
		meshes[i] = m
	}
	c, err := change.Compare(ctx, meshes[0], meshes[1], p.tolerance)
	if err != nil {
		return nil, "", err
	}
	if !sensible(c) {
		return nil, errNumbers.Error(), nil
	}
	found = &compared{Change: c}
	if found.Overlay, err = overlayOf(ctx, meshes[0], meshes[1], &c); err != nil {
		return nil, "", err
	}
	return found, "", st.Put(found, key...)
}

// reasonFor is the sentence for a mesh that cannot be had.
func reasonFor(err error) string {
	if err == nil {
		return ""
	}
	for _, known := range []error{errMissing, errDamaged, errEarlier, errGone, errNumbers} {
		if errors.Is(err, known) {
			return known.Error()
		}
	}
	return ""
}

// ctxOr is the cancellation, or an error that is not about the mesh.
func ctxOr(ctx context.Context, err error) error {
	if ctx.Err() != nil {
		return ctx.Err()
	}
	if reasonFor(err) == "" {
		return err
	}
	return nil
}

// sensible reports whether all that is shown of a change are numbers: of
// coordinates near the end of what a 32-bit number holds, squares are not.
func sensible(c change.Change) bool {
	for _, v := range []float64{c.OldToNew.Largest, c.OldToNew.AtMost, c.OldToNew.Mean, c.NewToOld.Largest, c.NewToOld.AtMost, c.NewToOld.Mean,
		c.Old.Volume, c.Old.Area, c.New.Volume, c.New.Area, c.Motion.Scale, c.Motion.Shift.Norm()} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}
