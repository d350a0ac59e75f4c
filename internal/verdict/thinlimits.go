package verdict

import (
	"fmt"

	"cardback/internal/measure"
	"cardback/internal/measure/thin"
	"cardback/internal/mesh"
	"cardback/internal/words"
)

// ThinPlace is a stretch of a solid below a limit, in mm at the printed scale;
// At stays as drawn, where the drawing can mark it.
type ThinPlace struct {
	Kind      thin.Kind
	Noun      string // what to call it: see thin.Place
	Thickness float64
	Limit     float64
	Extent    float64
	Run       float64 // as thin.Place has it
	Joins     bool
	At        mesh.Vec
	Sentence  string
}

const (
	// A thin place carries something when it joins thicker solid at both ends over
	// joinsFrom, in mm, or stands out by itself by standsFrom: a membrane or a web that
	// is shorter is bridged by what is beside it, and a fin or a tip that stands out by
	// less is a detail, without which the part is still what it is. Judgement of ours, no
	// source: two and five times a wall of a millimetre.
	joinsFrom, standsFrom = 2, 5
)

// carries reports whether something of the part hangs on the place: see joinsFrom.
func (t ThinPlace) carries() bool {
	return t.Joins && t.Run >= joinsFrom || t.Run >= standsFrom
}

// Grave reports whether the place is so far under its limit, or such a pin, that it
// wants care; else it is as near as published guides differ, and worth a look.
func (t ThinPlace) Grave() bool {
	return t.Thickness < t.Limit*wellUnder && (t.Kind == thin.Wall || t.Extent >= t.Thickness*stubby)
}

// TooThin lists the places of r that are thinner than wallMin as walls or pinMin
// as pins when they are printed at scale (1 is full size), thinnest first. Where
// a limit is over what r looked for (r.Limit·scale) places between the two are
// not known, and not listed: see ThinKnown.
func TooThin(r thin.Report, wallMin, pinMin, scale float64) []ThinPlace {
	var out []ThinPlace
	for _, p := range r.Places {
		limit := wallMin
		if p.Kind == thin.Pin {
			limit = pinMin
		}
		t := ThinPlace{Kind: p.Kind, Noun: p.Noun(), Thickness: p.Thickness * scale, Limit: limit, Extent: p.Extent * scale, Run: p.Run * scale, Joins: p.Joins, At: p.At}
		if !(t.Thickness < limit-measure.LengthSlack) {
			continue
		}
		t.Sentence = fmt.Sprintf("The %s at %s is %s mm thick over %s mm, under the limit of %s mm for %ss: %s.",
			t.Noun, measure.Where(p.At), words.Beside(t.Thickness, limit, 2), words.Fixed(t.Extent, 1), words.Plain(limit), p.Kind, thinHarm(p.Kind))
		out = append(out, t)
	}
	return out
}

// ThinKnown reports whether r looked for places up to limit when printed at
// scale.
func ThinKnown(r thin.Report, limit, scale float64) bool {
	return r.Limit*scale >= limit-measure.LengthSlack
}

// LeastSeen is the size from which on nothing thinner than what is listed was missed, at
// the printed scale: "0.5 mm²", rounded up. It is empty where nothing was measured.
func LeastSeen(r thin.Report, scale float64) string {
	if r.Least == 0 {
		return ""
	}
	return words.AtMost(r.Least*scale*scale, 1) + "\u00a0mm²"
}

// thinHarm is what happens at the printer.
func thinHarm(k thin.Kind) string {
	if k == thin.Pin {
		return "it may not form, or break off"
	}
	return "it may come out with holes, or not at all"
}

// millilitres writes the volume of a hollow, which is mostly a drop.
func millilitres(mm3 float64) string {
	if mm3 < 100 {
		return words.Fixed(mm3, 0) + " mm³"
	}
	return words.Fixed(mm3/1000, 1) + " ml"
}
