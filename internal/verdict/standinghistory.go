package verdict

import (
	"cardback/internal/measure/change"
	"cardback/internal/survey"
)

// SameShapes is what a site's history knows of meshes that only moved, turned or
// were cut into other triangles on the way from a sealed revision to the working
// files. A mirror image is another shape: what was printed is the other hand.
func SameShapes(h survey.History) SameShape {
	type step struct{ was, now string }
	same := map[step]bool{}
	for _, r := range h {
		for _, s := range r.ToWorking {
			for _, p := range s.Parts {
				for _, c := range p.Cuts {
					if c.Was != nil && c.Is != nil && (c.Kind == change.SameShape || c.Kind == change.Moved) {
						same[step{c.Was.Fingerprint, c.Is.Fingerprint}] = true
					}
				}
			}
		}
	}
	return func(was, now string) bool { return same[step{was, now}] }
}
