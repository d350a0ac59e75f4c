package history

import (
	"context"
	"fmt"
	"math"
	"path"
	"path/filepath"

	"cardback/internal/measure"
	"cardback/internal/meshfile"
	"cardback/internal/release"
	"cardback/internal/store"
	"cardback/internal/words"
)

// LostMesh is a sealed mesh whose file no longer holds it.
type LostMesh struct {
	Release  int
	Revision string // the first that has it
	Part     string // its name then
	Cut      release.CutKind
	File     string // relative to the content root
	Why      string // "the sealed geometry is missing"; empty where it is there
	// Differs says how what the revision states of the mesh is not the mesh's: "volume 5
	// mm³, and the mesh has 4 mm³". Mostly empty.
	Differs string
}

// CheckSealed reads every mesh that the site's revisions keep: one that is lost is
// missed only when its part changes, and then it is too late to keep it again. What a
// revision states of a mesh is held against the mesh, since the file is text that
// anybody may edit. The error is for cancellation and the store.
func CheckSealed(ctx context.Context, site *release.Site, st *store.Store) ([]LostMesh, error) {
	var out []LostMesh
	for _, r := range site.Releases {
		kept := geometryOf(site, r, nil)
		lost := map[string]bool{}
		for _, rev := range r.Revisions {
			for _, p := range rev.Parts {
				for _, c := range p.Cuts {
					if lost[c.Fingerprint] {
						continue
					}
					if err := ctx.Err(); err != nil {
						return nil, err
					}
					found := LostMesh{Release: r.Number, Revision: rev.Name, Part: p.Name, Cut: c.Kind, File: path.Join(filepath.ToSlash(kept.folder), c.Geometry)}
					f, err := kept.packed(c.Fingerprint, st)
					switch why := reasonFor(err); {
					case err == nil:
						has, err := measuresOf(ctx, f, c.Fingerprint, st)
						f.Close()
						if err != nil {
							return nil, err
						}
						if found.Differs = has.against(c); found.Differs != "" {
							found.File = path.Join(filepath.ToSlash(kept.folder), release.RevisionsFile)
							out = append(out, found)
						}
					case why == "":
						return nil, err
					default:
						lost[c.Fingerprint] = true
						found.Why = why
						out = append(out, found)
					}
				}
			}
		}
	}
	return out, nil
}

// sealedMeasures are what a revision states of a mesh, measured again.
type sealedMeasures struct {
	Triangles    int
	Volume, Area float64
	Size         [3]float64
}

func measuresOf(ctx context.Context, f *meshfile.File, fingerprint string, st *store.Store) (sealedMeasures, error) {
	var got sealedMeasures
	if st.Get(&got, "sealed-measures", fingerprint) {
		return got, nil
	}
	m, err := unpacked(f)
	if err != nil {
		return got, err
	}
	got.Triangles = len(m.Triangles)
	if got.Volume, got.Area, err = measure.VolumeAndArea(ctx, m); err != nil {
		return got, err
	}
	size := m.Bounds().Size()
	got.Size = [3]float64{size.X, size.Y, size.Z}
	return got, st.Put(got, "sealed-measures", fingerprint)
}

// sealedRounding is how far a measure that a revision states may be from the mesh's:
// it is written to 10⁻⁴ (release.roundMeasure), and cracks that no printer shows are
// closed before a mesh is measured, by moving the surface by at most crackReach.
const (
	sealedRounding = 1e-4
	crackReach     = 1e-3
)

// against says which measure of c is not the mesh's.
func (has sealedMeasures) against(c release.SealedCut) string {
	for _, v := range []struct {
		name, unit  string
		stated, has float64
		within      float64
	}{
		{"a volume", "mm³", c.Volume, has.Volume, sealedRounding + float64(crackReach*has.Area)},
		{"an area", "mm²", c.Area, has.Area, sealedRounding + float64(crackReach*has.Area)},
		{"a width", "mm", c.Size[0], has.Size[0], sealedRounding + crackReach},
		{"a depth", "mm", c.Size[1], has.Size[1], sealedRounding + crackReach},
		{"a height", "mm", c.Size[2], has.Size[2], sealedRounding + crackReach},
	} {
		// A part in 10¹² covers the rounding of what is larger than 10⁸ in writing.
		if !(math.Abs(v.stated-v.has) <= v.within+float64(1e-12*math.Abs(v.has))) {
			return fmt.Sprintf("%s of %s %s, and the mesh has %s %s", v.name, words.Significant(v.stated, 10), v.unit, words.Significant(v.has, 10), v.unit)
		}
	}
	if c.Triangles != has.Triangles {
		return fmt.Sprintf("%d triangles, and the mesh has %d", c.Triangles, has.Triangles)
	}
	return ""
}
