package needs

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/words"
)

// What a printer that lays a flow takes where its plate states a flow and not
// these: a few minutes of heating, some moves for each layer of each piece, and a layer
// that cools for a while (common practice, no source).
const usualWarmUp, usualMove, usualLeast = 240, 3, 10

// time is by the pace of the process. By layers, each takes the same, whatever is on it,
// and the first ones take longer. By flow, a printer heats, then lays its flow, and
// moves for each layer of each piece; and no layer may take less than it needs to cool.
// The last is reckoned with the mean layer, so it is a lower bound on the sum over
// layers, of which those of a thin tip wait and those of a wide foot do not.
func (b *needing) time() {
	n := &b.need
	plate := n.Plate
	switch {
	case n.Process.Pace == bench.ByLayer && plate.LayerSeconds > 0 && n.Layers > 0:
		first := min(plate.FirstLayers, n.Layers)
		n.Seconds = float64(float64(n.Layers-first)*plate.LayerSeconds) + float64(float64(first)*plate.FirstLayerSeconds)
		work := ""
		if n.Process.LayerWork != "" {
			work = n.Process.LayerWork + ","
		}
		if first > 0 {
			b.assume("%s s for each layer, %s and %s s for each of the first %d.", words.Plain(plate.LayerSeconds), work, words.Plain(plate.FirstLayerSeconds), plate.FirstLayers)
		} else {
			b.assume("%s s for each layer; the first few take longer and are not told apart.", words.Plain(plate.LayerSeconds))
		}
	case n.Process.Pace == bench.ByFlow && plate.Flow > 0 && n.Layers > 0:
		n.Seconds = b.flowSeconds()
	default:
		return // no ground, no time
	}
	b.assume("The time may be from %s to %s times as much: %s.", words.Plain(n.Process.PaceFrom), words.Plain(n.Process.PaceTo), n.Process.PaceWhy)
	n.SecondsLeast, n.SecondsMost = float64(n.Seconds*n.Process.PaceFrom), float64(n.Seconds*n.Process.PaceTo)
}

func (b *needing) flowSeconds() float64 {
	n := &b.need
	plate := n.Plate
	stated := func(v, usual float64) (float64, string) {
		if v > 0 {
			return v, ""
		}
		return usual, " (usual; the bench states none)"
	}
	layer, visits := 0.0, 0.0
	for _, p := range b.pieces {
		layer = max(layer, p.layer)
		visits += float64(p.count) * float64(p.layers)
	}
	flow := plate.Flow
	if layer > 0 && layer < bench.FlowLayer {
		flow = float64(plate.Flow*layer) / bench.FlowLayer
	}
	warm, warmWhy := stated(plate.WarmUpSeconds, usualWarmUp)
	move, moveWhy := stated(plate.MoveSeconds, usualMove)
	least, leastWhy := stated(plate.LeastLayerSeconds, usualLeast)
	b.assume("%s mm³ laid in a second, in layers of %s mm.", words.Fixed(flow, 1), words.Plain(layer))
	b.assume("%s s of moves for each layer of each piece%s.", words.Plain(move), moveWhy)
	b.assume("A layer takes %s s at least, so that it cools%s.", words.Plain(least), leastWhy)
	b.assume("Heating takes %s s%s.", words.Plain(warm), warmWhy)
	return warm + max(float64(least*float64(n.Layers)), n.Used/flow+float64(move*visits))
}

// filled says how prints are filled.
func (b *needing) filled() {
	var shares []string
	which := map[string][]string{}
	stated := false
	lines, width := measure.UsualFilling.Lines, measure.UsualFilling.LineWidth
	for _, p := range b.pieces {
		share := words.Plain(math.Round(p.Infill*1000)/10) + " %"
		if !slices.Contains(shares, share) {
			shares = append(shares, share)
		}
		if !slices.Contains(which[share], p.name) {
			which[share] = append(which[share], p.name)
		}
		stated = stated || p.stated
		lines, width = p.Lines, p.LineWidth
	}
	most := shares[0] // of most parts, the first of equal ones
	for _, s := range shares {
		if len(which[s]) > len(which[most]) {
			most = s
		}
	}
	text := most + " infill"
	for _, s := range shares {
		if s != most {
			text += fmt.Sprintf(", %s in %s", s, words.List(which[s]))
		}
	}
	if stated && len(shares) == 1 && len(percentInWords.FindAllString(b.infill(), -1)) > 1 {
		b.assume("The release states several infills, and the highest that may be meant is counted.")
	}
	why := "as is usual; the release states no infill"
	if stated {
		why = "as the release states"
	}
	b.assume("Filled with %s of %s mm and %s, %s, from %s of %s mm.", words.Count(lines, "line", "lines"), words.Plain(width), text, why, b.need.Process, words.Plain(measure.FilamentDiameter))
}

// infill is what the release's settings for the process say of it.
func (b *needing) infill() string {
	if b.r == nil {
		return ""
	}
	return printing.Settings(*b.r, b.need.Process).Infill
}

var percentInWords = regexp.MustCompile(`(\d{1,3}(?:\.\d+)?) ?%`)

// fillingOf is how a part is filled by the release's settings for a process, and whether
// they state an infill. Where they give several, one that stands beside a part's name is
// that part's, and of the others the highest is everybody's, so that no print takes more
// than what is told.
func fillingOf(r *release.Release, p release.Part, proc *bench.Process) (f measure.Filling, stated bool) {
	f = measure.UsualFilling
	if r == nil {
		return f, false
	}
	i := slices.IndexFunc(r.Print, func(s release.PrintSettings) bool { return s.Process == proc })
	if i < 0 {
		return f, false
	}
	if w := r.Print[i].Walls; w > 0 {
		f.Lines = w
	}
	others, all := -1.0, -1.0
	for _, clause := range strings.FieldsFunc(r.Print[i].Infill, func(c rune) bool { return c == ',' || c == ';' }) {
		m := percentInWords.FindStringSubmatch(clause)
		if m == nil {
			continue
		}
		share, err := strconv.ParseFloat(m[1], 64)
		if err != nil || share > 100 {
			continue
		}
		named := false
		for _, q := range r.Parts {
			if names(clause, q.Name) {
				named = true
				if q.Slug == p.Slug {
					f.Infill = share / 100
					return f, true
				}
			}
		}
		all = max(all, share)
		if !named {
			others = max(others, share)
		}
	}
	switch {
	case others >= 0:
		f.Infill = others / 100
	case all >= 0:
		f.Infill = all / 100
	}
	return f, all >= 0
}

// everyday are words of parts' names that tell no part from another.
var everyday = []string{"the", "and", "with", "part", "parts", "piece", "pieces", "whole", "upper", "lower", "left", "right", "front", "back", "middle", "fore", "after", "infill"}

// names reports whether a clause speaks of a part: it has a word of its name, in the
// singular or the plural.
func names(clause, name string) bool {
	words := func(s string) []string {
		return strings.FieldsFunc(strings.ToLower(s), func(c rune) bool { return !unicode.IsLetter(c) })
	}
	said := words(clause)
	return slices.ContainsFunc(words(name), func(w string) bool {
		return len(w) > 2 && !slices.Contains(everyday, w) && (slices.Contains(said, w) || slices.Contains(said, w+"s"))
	})
}

func releaseOf(site *release.Site, number int) *release.Release {
	for i := range site.Releases {
		if site.Releases[i].Number == number {
			return &site.Releases[i]
		}
	}
	return nil
}
