package verdict

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/thin"
	"cardback/internal/notes"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict/hardware"
	"cardback/internal/words"
)

// CautionCode names a caution for programs; it does not change with its words.
type CautionCode string

const (
	OwnCaution       CautionCode = "own"  // what the designer wrote
	ItemCaution      CautionCode = "item" // what the bench says of a bought item
	SmallPartCaution CautionCode = "small-parts"
	MagnetCaution    CautionCode = "magnets"
	SharpCaution     CautionCode = "sharp"
	CuttingCaution   CautionCode = "cutting"
	AdhesiveCaution  CautionCode = "adhesives"
	SandingCaution   CautionCode = "sanding"
	PaintCaution     CautionCode = "paint"
	HeatCaution      CautionCode = "heat"
	DisplayCaution   CautionCode = "display"
)

// Caution is one caution of a release.
type Caution struct {
	Code  CautionCode
	About string // its heading
	Text  string
	// Brief is the same in a few words, for the step where it matters; empty where there is
	// no such step.
	Brief string
	// Why is the ground: what of this release brings the caution, as a sentence. It
	// is empty for what a person wrote, which is a ground by itself.
	Why   string
	words [][]string    // of a process's: a step where it matters has one of every list
	At    []*notes.Step // the steps of the assembly where it matters, in the order of the notes
}

// Where says at which steps a caution matters; empty where there is none.
func (c Caution) Where() string {
	var n []string
	for _, s := range c.Steps() {
		n = append(n, fmt.Sprint(s))
	}
	switch len(n) {
	case 0:
		return ""
	case 1:
		return "At step " + n[0] + " of the assembly."
	}
	return "At steps " + words.List(n) + " of the assembly."
}

// cautionsOf gathers what a release calls for: what its designer wrote first, then
// what its measures, its hardware and its materials bring, then what the bench says of the
// items, and last that it is no toy. Each but the first and the last comes only where the
// release gives a ground for it.
//
// None says that something is safe, and each defers to what outranks it: the maker's
// safety data sheet, local law, and licensed practice.
func cautionsOf(site *release.Site, r release.Release, s survey.Survey, items []hardware.Bought, small SmallParts) []Caution {
	made("cautions", r.Number)
	var out []Caution
	for _, text := range r.Cautions {
		out = append(out, Caution{Code: OwnCaution, About: "This release", Text: text})
	}
	worst := worstStocks(r)
	add := func(code CautionCode, why string) {
		if why != "" {
			c := usual(code)
			c.Why, c.Text = why, worst.Replace(c.Text)
			out = append(out, c)
		}
	}
	add(SmallPartCaution, small.Sentence())
	add(MagnetCaution, magnetWhy(items))
	add(SharpCaution, sharpWhy(r, s))
	out = append(out, processCautions(r)...)
	add(CuttingCaution, itemsWhy(items, bench.Rod, bench.Wire))
	add(AdhesiveCaution, itemsWhy(items, bench.Adhesive))
	if len(r.Parts) > 0 {
		add(SandingCaution, "Prints are trimmed and smoothed by hand.")
	}
	add(PaintCaution, paintWhy(r))
	add(HeatCaution, heatWhy(site, r))
	for _, b := range items {
		if b.Item.Caution != "" {
			out = append(out, Caution{Code: ItemCaution, About: b.Item.Name, Text: b.Item.Caution})
		}
	}
	out = append(out, usual(DisplayCaution))
	place(out, r.Notes.Steps(), sharpParts(r, s))
	return out
}

// processCautions are those that the ways of printing bring, the ones with work at a step
// of the assembly first.
func processCautions(r release.Release) []Caution {
	var out []Caution
	for _, proc := range r.Processes() {
		why := offeredWhy(r, proc)
		if why == "" {
			continue
		}
		for _, c := range proc.Cautions {
			out = append(out, Caution{Code: CautionCode(c.ID), About: c.About, Text: c.Text, Brief: c.Brief, Why: why, words: append([][]string{}, c.Steps...)})
		}
	}
	slices.SortStableFunc(out, func(a, b Caution) int {
		return cmp.Compare(min(1, len(b.Brief)), min(1, len(a.Brief)))
	})
	return out
}

// worstStocks puts the stocks that are worst in a respect, of those that r can be printed
// in, where a caution's text has a place for them.
func worstStocks(r release.Release) *strings.Replacer {
	var points, dust []string
	for _, proc := range r.Processes() {
		if offeredWhy(r, proc) == "" {
			continue
		}
		if proc.Points != "" {
			points = append(points, proc.Points)
		}
		if proc.Dust != "" {
			dust = append(dust, proc.Dust)
		}
	}
	aboveAll := func(in string, stocks []string) string {
		if len(stocks) == 0 {
			return ""
		}
		return ", " + in + words.List(stocks) + " above all,"
	}
	return strings.NewReplacer("{points}", aboveAll("in ", points), "{dust}", aboveAll("", dust))
}

// hardwareCautions are the cautions that one bought item brings: the bench's own words
// and those of its kind.
func hardwareCautions(h bench.Hardware) []Caution {
	var out []Caution
	if h.Caution != "" {
		out = append(out, Caution{Code: ItemCaution, About: h.Name, Text: h.Caution})
	}
	switch h.Kind {
	case bench.Rod, bench.Wire:
		out = append(out, usual(CuttingCaution))
	case bench.Adhesive:
		out = append(out, usual(AdhesiveCaution))
	case bench.Magnet:
		c := usual(MagnetCaution)
		c.Why = magnetWhy([]hardware.Bought{{Item: h, Count: 1}})
		out = append(out, c)
	}
	return out
}

// offeredWhy says that some part of r can be printed by proc.
func offeredWhy(r release.Release, proc *bench.Process) string {
	n := 0
	for _, p := range printing.Of(r, proc).Parts {
		if len(p.Meshes()) > 0 {
			n++
		}
	}
	switch {
	case n == 0:
		return ""
	case n == len(r.Parts):
		return fmt.Sprintf("It can be printed in %s.", proc)
	}
	return fmt.Sprintf("%d of its %d parts can be printed in %s.", n, len(r.Parts), proc)
}

// itemsWhy names the bought items of some kinds.
func itemsWhy(items []hardware.Bought, kinds ...bench.HardwareKind) string {
	var names []string
	for _, b := range items {
		if slices.Contains(kinds, b.Item.Kind) {
			names = append(names, b.Item.Name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf("It takes %s.", strings.Join(names, "; ")) // names have commas in them
}

// fluxLimit is the flux index, in kG²mm², from which a loose magnet that fits the
// small-parts gauge is hazardous by 16 CFR 1262; the same in EN 71-1 (from
// memory).
const fluxLimit = 50

// discField is the field at which a disc is estimated, in tesla: the remanence
// of a common strong grade (common practice, no source; grades run from 1.17 to 1.45).
const discField = 1.30

// fluxIndexOf estimates the flux index of a disc magnet magnetised along its axis,
// in kG²mm², from its diameter and thickness in mm and its remanence in tesla: the
// square of the field on its axis, at the 0.38 mm from its face where a probe measures (Canada
// SOR/2011-17, schedule 10), times the area of its face. The field is the textbook's for
// a uniform cylinder. It is a screening estimate: the real greatest field may lie off the axis.
func fluxIndexOf(diameter, thickness, remanence float64) float64 {
	const probe = 0.38
	r := diameter / 2
	field := remanence / 2 * ((thickness+probe)/math.Hypot(r, thickness+probe) - probe/math.Hypot(r, probe))
	kilogauss := 10 * field
	return kilogauss * kilogauss * math.Pi * r * r
}

func magnetWhy(items []hardware.Bought) string {
	var out []string
	for _, b := range items {
		if b.Item.Kind != bench.Magnet {
			continue
		}
		text := fmt.Sprintf("It takes %s", b.Item.Name)
		if b.Count > 1 {
			text = fmt.Sprintf("It takes %d of %s", b.Count, b.Item.Name)
		}
		if small := hardwareFits(b); small.Count > 0 {
			text += ", which fits the small-parts gauge"
		}
		limit := "what is loose and fits the gauge must stay under 50 in toys and amusements (16 CFR 1262)"
		switch {
		case b.Item.FluxIndex > 0:
			text += fmt.Sprintf(". Its maker states a flux index of %s kG²mm²; %s", words.Plain(b.Item.FluxIndex), limit)
		case b.Item.Diameter > 0 && b.Item.Thickness > 0:
			index := fluxIndexOf(b.Item.Diameter, b.Item.Thickness, discField)
			and := "; " + limit
			if index < fluxLimit {
				and += ", and stronger grades reach more"
			}
			text += fmt.Sprintf(". A strong disc of its size has a flux index of about %s kG²mm²%s", words.Fixed(index, 0), and)
		}
		out = append(out, text+".")
	}
	return strings.Join(out, " ")
}

// sharpPin is the thickness, in mm, under which a pin or a needle's end counts as
// a tip that may be sharp: what enters the slot of the point gauge of 16 CFR 1500.48,
// 0.040 in (from memory). Whether it is sharp, that gauge would tell; a mesh does not.
const sharpPin = 0.040 * 25.4

// sharpParts names the parts with a slender pin or needle under sharpPin, in chart
// order: at least twice as long as thick, or it is a bump. One that tapers to a point
// is no pin that has to stand, and as sharp.
func sharpParts(r release.Release, s survey.Survey) []string {
	var out []string
	for _, p := range r.Parts {
		if slices.ContainsFunc(p.Cuts, func(c release.Cut) bool {
			cs, ok := s.Measured(c)
			return ok && cs.Report != nil && slices.ContainsFunc(slices.Concat(cs.Report.Thin.Places, cs.Report.Thin.Edges), func(t thin.Place) bool {
				return (t.Kind == thin.Pin || t.Kind == thin.Point) && t.Thickness < sharpPin-measure.LengthSlack && t.Extent >= t.Thickness*stubby
			})
		}) {
			out = append(out, p.Name)
		}
	}
	return out
}

func sharpWhy(r release.Release, s survey.Survey) string {
	names := sharpParts(r, s)
	switch n := len(names); {
	case n == 0:
		return ""
	case n == 1:
		return fmt.Sprintf("%s has a pin or tip under %s mm thick.", names[0], words.Fixed(sharpPin, 2))
	case n > mostInGround:
		return fmt.Sprintf("%d parts have pins or tips under %s mm thick: %s and %d more.", n, words.Fixed(sharpPin, 2), strings.Join(names[:mostInGround], ", "), n-mostInGround)
	}
	return fmt.Sprintf("%s have pins or tips under %s mm thick.", words.List(names), words.Fixed(sharpPin, 2))
}

// paintWhy looks for paint that is sprayed, or has solvent in it, in the notes.
func paintWhy(r release.Release) string {
	for _, sec := range r.Notes.Sections() {
		if wordsIn(sec.Words()).any("spray", "sprayed", "airbrush", "varnish", "varnished", "lacquer", "lacquered", "thinner") {
			title := sec.Title
			if title == "" {
				return "Its notes speak of spray paint or varnish."
			}
			return fmt.Sprintf("Its notes speak of spray paint or varnish, under %q.", title)
		}
	}
	return ""
}

// dashboard is how hot a dashboard becomes, in °C, after an hour in the sun on a day
// of 38 °C (a study in the journal Temperature, 2018: 69.4 °C); a material that softens
// above it by hotterBy needs no caution. The seat came to 50.6 and the cabin to 46.7.
const dashboard, hotterBy = 69.4, 10

// heatWhy names what softens in a hot car: of the materials that r can be printed
// in, those that are stated to soften so low and those of which it is not stated. Flexible
// stocks are left out: they have no shape of their own to lose.
func heatWhy(site *release.Site, r release.Release) string {
	var low []string
	unknown := []*bench.Process{}
	for _, m := range site.Bench.Materials {
		if m.Stiffness == bench.Flexible || offeredWhy(r, m.Process) == "" {
			continue
		}
		switch {
		case m.Softens == 0:
			if !slices.Contains(unknown, m.Process) {
				unknown = append(unknown, m.Process)
			}
		case m.Softens < dashboard+hotterBy:
			low = append(low, fmt.Sprintf("%s from %s °C", bench.Named([]bench.Material{m}), words.Plain(m.Softens)))
		}
	}
	var out []string
	if len(low) > 0 {
		out = append(out, fmt.Sprintf("It can be printed in what softens so low: %s.", words.List(low)))
	}
	for _, proc := range unknown {
		out = append(out, proc.Softens)
	}
	return strings.Join(out, " ")
}
