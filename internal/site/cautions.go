package site

import (
	"slices"

	"cardback/internal/release"
	"cardback/internal/verdict"
)

// Caution is one caution as package verdict words it, with its ground and the
// steps of the assembly where it matters.
type Caution = verdict.Caution

func (b *builder) cautions(r release.Release) []Caution {
	return verdict.Cautions(b.in.Site, r, b.in.Survey)
}

// hardwareUses is the release's hardware list, followed by what its parts take
// of items that the list does not name.
func hardwareUses(r release.Release) []release.HardwareUse {
	out := slices.Clone(r.Hardware)
	for _, p := range r.Parts {
		for _, u := range p.Takes {
			if !slices.ContainsFunc(r.Hardware, func(v release.HardwareUse) bool { return v.Item.ID == u.Item.ID }) {
				if u.Where == "" {
					u.Where = p.Name
				}
				out = append(out, u)
			}
		}
	}
	return out
}
