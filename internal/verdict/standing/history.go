package standing

import (
	"cardback/internal/measure/change"
	"cardback/internal/survey/history"
)

// SameShapes is what a site's history knows of meshes that only moved, turned, were
// cut into other triangles or differ by less than the printing tolerance, on the way
// from a sealed revision to the working files. Each revision is held against the
// working files themselves, so small differences cannot add up unseen. A mirror image
// is another shape: what was printed is the other hand.
func SameShapes(h history.History) SameShape {
	type step struct{ was, now string }
	same := map[step]Before{}
	for _, r := range h {
		for _, s := range r.ToWorking {
			for _, p := range s.Parts {
				for _, c := range p.Cuts {
					if c.Was == nil || c.Is == nil {
						continue
					}
					switch at := (step{c.Was.Fingerprint, c.Is.Fingerprint}); c.Kind {
					case change.SameShape, change.Moved:
						same[at] = OnlyMoved
					case change.Nearly:
						same[at] = BelowTolerance
					}
				}
			}
		}
	}
	return func(was, now string) Before {
		if how, ok := same[step{was, now}]; ok {
			return how
		}
		return ChangedSince
	}
}
