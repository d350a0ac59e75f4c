package site

import (
	"slices"

	"cardback/internal/bench"
	"cardback/internal/release"
)

// Caution is one caution with what it is about.
type Caution struct{ About, Text string }

// The standing cautions, in our own words. They are common practice and name no
// source: each defers to the maker's safety data sheet and to local rules,
// which outrank it.
var (
	resinCaution    = Caution{"Uncured resin", "Liquid resin irritates skin and can make it allergic for good, and its wash can burn. Wear nitrile gloves and eye protection, air the room, keep it off bare skin, and cure drips and wipes in daylight before they go in the bin. Resin and used wash never go down a drain. The maker's safety data sheet and your local waste rules decide."}
	solventCaution  = Caution{"Washing solvent", "Alcohol and other washing solvents burn, and their vapour travels. Keep flames, sparks and hot tools away, keep the lid on, and store as the safety data sheet and your local rules say."}
	filamentCaution = Caution{"Filament printers", "Nozzle and bed are hot enough to burn, and melting plastic gives off fumes and fine dust. Air the room, keep children away from a running machine, and do not leave it alone. The material's safety data sheet says what else it needs."}
	sandingCaution  = Caution{"Sanding and trimming", "Dust of printed plastic, cured resin above all, does not belong in lungs. Sand wet, wear a mask rated for fine dust and eye protection, and cut away from your fingers."}
	cuttingCaution  = Caution{"Cutting rod and wire", "Cut ends fly and are sharp. Wear eye protection, hold both sides of the cut, and file every end round before it goes into a joint."}
	adhesiveCaution = Caution{"Adhesives", "Fast glue bonds skin in seconds and its fumes sting; two-part glue can make skin allergic. Work in moving air with gloves on, and keep the safety data sheet's advice for spills and eyes at hand. If glue reaches an eye, rinse with water and get medical help."}
	magnetCaution   = Caution{"Magnets", "Two swallowed magnets can clamp together inside the body and do grave harm. Keep loose magnets away from children, glue each one in so that it cannot come out, and if one may have been swallowed get medical help at once. Keep them away from implanted medical devices."}
	displayCaution  = Caution{"A display piece", "This is a model for display. It has not been tested as a toy under any standard, it has small parts that can choke a child, and joints and rods can come out. Do not give it to children under 14 or to anyone who puts things in their mouth. If you want to sell or give away copies as toys, the law where you live decides what testing that needs."}
)

// cautionsFor gathers a release's cautions: its own first, then those of the
// hardware it uses, then those of the processes and tasks it involves.
func cautionsFor(r release.Release) []Caution {
	var out []Caution
	for _, text := range r.Cautions {
		out = append(out, Caution{"This release", text})
	}
	uses := hardwareUses(r)
	var kinds []bench.HardwareKind
	for _, u := range uses {
		kinds = append(kinds, u.Item.Kind)
		if u.Item.Caution != "" {
			c := Caution{u.Item.Name, u.Item.Caution}
			if !slices.Contains(out, c) {
				out = append(out, c)
			}
		}
	}
	has := func(ks ...bench.HardwareKind) bool {
		return slices.ContainsFunc(ks, func(k bench.HardwareKind) bool { return slices.Contains(kinds, k) })
	}
	if offers(r, bench.Resin) {
		out = append(out, resinCaution, solventCaution)
	}
	if offers(r, bench.Filament) {
		out = append(out, filamentCaution)
	}
	out = append(out, sandingCaution)
	if has(bench.Rod, bench.Wire) {
		out = append(out, cuttingCaution)
	}
	if has(bench.Adhesive) {
		out = append(out, adhesiveCaution)
	}
	if has(bench.Magnet) {
		out = append(out, magnetCaution)
	}
	return append(out, displayCaution)
}

// offers reports whether any part of r can be printed by proc.
func offers(r release.Release, proc bench.Process) bool {
	return slices.ContainsFunc(r.Parts, func(p release.Part) bool {
		for _, s := range []bench.Stiffness{bench.Rigid, bench.Flexible} {
			if _, ok := p.CutFor(proc, s); ok {
				return true
			}
		}
		return false
	})
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
