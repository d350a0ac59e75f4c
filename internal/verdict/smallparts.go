package verdict

import (
	"fmt"
	"math"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/fit/gauge"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict/hardware"
	"cardback/internal/words"
)

// SmallPart is a part that lies wholly in the small-parts cylinder of 16 CFR
// 1501.4, or of which that could not be ruled out.
type SmallPart struct {
	Part   release.Part
	Cut    release.Cut  // the first of its cuts that does
	Gauged gauge.Result // how it lies there, where that was found
	// Loose says that it is a separate piece of the cut's mesh that fits.
	Loose bool
}

// SmallParts is what of a release fits the gauge. To be in none of the lists is
// no promise of safety: it is a matter of size alone, and parts break.
type SmallParts struct {
	Fits      []SmallPart // in chart order; each part once
	Undecided []SmallPart
	// Hardware are the pieces bought or cut that fit, or may: see hardwareFits.
	Hardware []hardware.Bought
}

// Any reports whether the caution for small parts applies.
func (sp SmallParts) Any() bool { return len(sp.Fits)+len(sp.Undecided)+len(sp.Hardware) > 0 }

// smallPartsOf sorts a release's parts by the gauge. A mirrored twin fits where
// the part does, because the gauge is its own mirror image. What is already a
// caution in one cut is a caution: nobody knows which cut is printed.
func smallPartsOf(r release.Release, s survey.Survey, items []hardware.Bought) SmallParts {
	made("small parts", r.Number)
	var out SmallParts
	for _, p := range r.Parts {
		var doubt *SmallPart
		found := false
		for _, c := range p.Cuts {
			cs, ok := s.Measured(c)
			if !ok || cs.Report == nil {
				continue
			}
			one := SmallPart{Part: p, Cut: c, Gauged: cs.Gauge, Loose: cs.Loose}
			if cs.Gauge.Verdict == gauge.Inside {
				out.Fits = append(out.Fits, one)
				found = true
				break
			}
			if cs.Gauge.Verdict != gauge.Outside && doubt == nil {
				doubt = &one
			}
		}
		if !found && doubt != nil {
			out.Undecided = append(out.Undecided, *doubt)
		}
	}
	for _, b := range items {
		if small := hardwareFits(b); small.Count > 0 {
			out.Hardware = append(out.Hardware, small)
		}
	}
	return out
}

// longestInGauge is the greatest distance between two points of the small-parts
// cylinder, in mm: from its rim to the deepest point of its floor.
var longestInGauge = math.Hypot(2*gauge.Radius, gauge.MidDepth+gauge.Radius)

// hardwareFits keeps of an item the pieces that fit the gauge, or may. A disc, screw,
// bearing, spring or straight rod is taken for a cylinder, and ruled out only where it is wider than the
// gauge or longer from rim to rim than any two of its points are apart: a rod
// within the last few millimetres of that is counted though it may not fit. Rod and
// wire of no stated length are counted, since they are cut short as a rule.
// Adhesive is no piece, and cord, as fabric and string, is left out by the rule itself.
func hardwareFits(b hardware.Bought) hardware.Bought {
	may := func(length float64) bool {
		return b.Item.Diameter <= 2*gauge.Radius && math.Hypot(b.Item.Diameter, length) <= longestInGauge
	}
	out := hardware.Bought{Item: b.Item}
	switch b.Item.Kind {
	case bench.Magnet, bench.Bearing:
		if may(b.Item.Thickness) {
			out.Count = b.Count
		}
	case bench.Screw, bench.Spring:
		if may(b.Item.Length) {
			out.Count = b.Count
		}
	case bench.Rod, bench.Wire:
		for _, p := range b.Pieces {
			if may(p.Cut) {
				out.Count += p.Count
				out.Pieces = append(out.Pieces, p)
			}
		}
		if len(b.Pieces) == 0 {
			out.Count = b.Count
		}
	}
	return out
}

// Sentence says what fits: the ground of the caution. It is empty where nothing does.
func (sp SmallParts) Sentence() string {
	var names []string
	for _, p := range sp.Fits {
		names = append(names, p.Part.Name)
	}
	var out string
	switch n := len(names); {
	case n == 0:
	case n <= mostInGround:
		out = fmt.Sprintf("%s the small-parts gauge whole: %s.", words.Count(n, "part fits", "parts fit"), words.List(names))
	default:
		out = fmt.Sprintf("%s the small-parts gauge whole: %s and %d more.", words.Count(n, "part fits", "parts fit"), strings.Join(names[:mostInGround], ", "), n-mostInGround)
	}
	say := func(text string) {
		if out != "" {
			out += " "
		}
		out += text
	}
	if n := len(sp.Undecided); n > 0 {
		names = names[:0]
		for _, p := range sp.Undecided {
			names = append(names, p.Part.Name)
		}
		say(fmt.Sprintf("Of %s it could not be ruled out.", words.List(names)))
	}
	if len(sp.Hardware) > 0 {
		var items []string
		for _, b := range sp.Hardware {
			items = append(items, fmt.Sprintf("%s (%d)", b.Item.Name, b.Count))
		}
		if out == "" {
			out = fmt.Sprintf("Pieces of hardware fit the small-parts gauge: %s.", strings.Join(items, "; "))
		} else {
			say(fmt.Sprintf("So do pieces of hardware: %s.", strings.Join(items, "; ")))
		}
	}
	return out
}

// mostInGround is how many names a ground lists before it counts.
const mostInGround = 6
