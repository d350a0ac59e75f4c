package survey

import (
	"context"
	"path"
	"path/filepath"

	"cardback/internal/release"
	"cardback/internal/store"
)

// LostMesh is a sealed mesh whose file no longer holds it.
type LostMesh struct {
	Release  int
	Revision string // the first that has it
	Part     string // its name then
	Cut      release.CutKind
	File     string // relative to the content root
	Why      string // "the sealed geometry is missing"
}

// CheckSealed reads every mesh that the site's revisions keep, each once: one
// that is lost is missed only when its part changes, and then it is too late to
// keep it again. The error is for cancellation and the store.
func CheckSealed(ctx context.Context, site *release.Site, st *store.Store) ([]LostMesh, error) {
	var out []LostMesh
	for _, r := range site.Releases {
		kept := geometryOf(site, r, nil)
		seen := map[string]bool{}
		for _, rev := range r.Revisions {
			for _, p := range rev.Parts {
				for _, c := range p.Cuts {
					if seen[c.Fingerprint] {
						continue
					}
					seen[c.Fingerprint] = true
					if err := ctx.Err(); err != nil {
						return nil, err
					}
					_, err := kept.packed(c.Fingerprint, st)
					switch why := reasonFor(err); {
					case err == nil:
					case why == "":
						return nil, err
					default:
						out = append(out, LostMesh{r.Number, rev.Name, p.Name, c.Kind, path.Join(filepath.ToSlash(kept.folder), c.Geometry), why})
					}
				}
			}
		}
	}
	return out, nil
}
