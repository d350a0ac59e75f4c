package cli

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/literal"
	"cardback/internal/measure"
	"cardback/internal/measure/bore"
	"cardback/internal/measure/shadow"
	"cardback/internal/measure/slice"
	"cardback/internal/measure/thin"
	"cardback/internal/mesh"
	"cardback/internal/verdict"
	"cardback/internal/words"
)

// How many lines of a kind a table shows; --json has all.
const (
	mostAlike  = 4 // findings of one code
	mostThin   = 6
	mostBores  = 12
	mostPlaces = 3 // on one line
)

func measureTable(w io.Writer, v measured, r *measure.Report, pose slice.Pose, lim limits) {
	at := ""
	if v.Scale != nil {
		at = fmt.Sprintf(", at %s %%", words.Plain(*v.Scale*100))
	}
	fmt.Fprintf(w, "%s  (%s)%s\n", literal.Line(v.Path), v.Format, at)
	s := sheet{w}
	size := r.Bounds.Size()
	length := hundredths
	if min(size.X, size.Y, size.Z) < 0.1 {
		length = words.Measure
	}
	s.row("size", "%s × %s × %s mm", length(size.X), length(size.Y), length(size.Z))
	s.row("surface", "%s", surface(r))
	findingRows(s, v.Findings)
	thinRows(s, r, v.Judged)
	boreRows(s, r, v.Judged)
	layerRows(s, v.ContractLayers, pose)
	amountRows(s, v.Amounts, lim)
	if v.Stock != nil {
		s.row(lim.material.Process.Name, "%s g, solid throughout, of %s g/cm³", about(*v.Stock), words.Plain(lim.material.Density))
	}
	s.row("volume", "%s mm³", words.Measure(r.Volume))
	s.row("area", "%s mm²", words.Measure(r.Area))
	s.row("centroid", "%s", point(r.Centroid))
	s.row("from, to", "%s, %s", point(r.Bounds.Min), point(r.Bounds.Max))
	s.row("diameter", "%s mm", words.Measure(r.Diameter))
	s.row("convex hull", "%s mm³, %s mm²", words.Measure(r.HullVolume), words.Measure(r.HullArea))
	s.row("silhouette", "front %s, side %s, top %s mm²", silhouette(r, shadow.Front), silhouette(r, shadow.Side), silhouette(r, shadow.Top))
	s.row("mesh", "%s, %d vertices, %s", words.Count(r.Triangles, "triangle", "triangles"), r.Vertices, words.Count(r.Shells, "shell", "shells"))
	s.row("fingerprint", "%s", r.Fingerprint)
}

func silhouette(r *measure.Report, v shadow.View) string {
	if r.Intricate[v] {
		return "(not known)"
	}
	return words.Measure(r.Silhouette[v])
}

func surface(r *measure.Report) string {
	var parts []string
	switch {
	case r.Closed && r.ConsistentlyOriented && r.Genus != nil:
		parts = append(parts, fmt.Sprintf("closed, consistently oriented, genus %d", *r.Genus))
	case r.Closed:
		parts = append(parts, "closed, not consistently oriented")
	case r.OpenEdges == 0 && r.NonManifoldEdges == 0:
		parts = append(parts, "no triangle has any area")
	case r.OpenEdges == 0:
		parts = append(parts, fmt.Sprintf("no open edges, but %s with three or more triangles", words.Count(r.NonManifoldEdges, "edge", "edges")))
	default:
		parts = append(parts, fmt.Sprintf("not closed: %s, %s", words.Count(r.OpenEdges, "open edge", "open edges"), words.Count(r.NonManifoldEdges, "non-manifold edge", "non-manifold edges")))
	}
	say := func(n int, one, many string) {
		switch {
		case n == 1:
			parts = append(parts, "1 "+one)
		case n > 1:
			parts = append(parts, fmt.Sprintf("%d %s", n, many))
		}
	}
	if c := r.Closing; c != nil {
		parts = append(parts, fmt.Sprintf("with the cracks at %s closed", words.Count(c.OpenEdges, "open edge", "open edges")))
	}
	say(r.Crossings.Count-r.Crossings.Touching, "pair of triangles crosses", "pairs of triangles cross")
	say(r.Crossings.Touching, "pair touches", "pairs touch")
	say(len(r.Nesting.Cavities), "cavity", "cavities")
	say(len(r.Nesting.Inverted), "shell inside out", "shells inside out")
	return strings.Join(parts, "; ")
}

// findingRows prints the findings, faults first.
func findingRows(s sheet, found []measure.Finding) {
	levels := []measure.Level{measure.Fault, measure.Caution, measure.Note}
	found = slices.Clone(found)
	slices.SortStableFunc(found, func(a, b measure.Finding) int {
		return slices.Index(levels, a.Level) - slices.Index(levels, b.Level)
	})
	alike := map[string]int{}
	for _, f := range found {
		alike[f.Code]++
	}
	shown := map[string]int{}
	for _, f := range found {
		shown[f.Code]++
		switch n := shown[f.Code]; {
		case n <= mostAlike:
			text := f.Text
			if f.At != nil {
				text += " Look at" + hard + place(mesh.Vec{X: f.At[0], Y: f.At[1], Z: f.At[2]}) + "."
			}
			s.row(string(f.Level), "%s", text)
		case n == mostAlike+1:
			s.row("", "And %d more like it; --json lists them.", alike[f.Code]-mostAlike)
		}
	}
}

// thinRows prints the thinnest places; where limits were given, those under
// them.
func thinRows(s sheet, r *measure.Report, j *judgement) {
	var rows [][]string
	switch {
	case j == nil || j.Wall == nil && j.Pin == nil:
		for _, p := range r.Thin.Places {
			rows = append(rows, []string{p.Noun(), hundredths(p.Thickness) + " mm", "over " + tenths(p.Extent) + " mm", "at" + hard + place(p.At)})
		}
		if len(rows) == 0 {
			s.row("thinnest", "%s under %s mm", nothing(r), words.Plain(r.Thin.Limit))
		} else {
			s.columns("thinnest", "lrrl", rows[:min(len(rows), mostThin)])
		}
	default:
		for _, p := range j.TooThin {
			at := mesh.Vec{X: p.At[0], Y: p.At[1], Z: p.At[2]}
			rows = append(rows, []string{p.noun, words.Beside(p.Thickness, p.Limit, 2) + " mm", "under " + words.Plain(p.Limit), "over " + tenths(p.Extent) + " mm", "at" + hard + place(at)})
		}
		if len(rows) == 0 {
			s.row("too thin", "%s: %s", nothing(r), limitsText(j))
		} else {
			s.columns("too thin", "lrlrl", rows[:min(len(rows), mostThin)])
		}
		for _, k := range j.Unknown {
			s.row("", "Of %ss, only those under %s mm were looked for.", k, words.Plain(r.Thin.Limit))
		}
	}
	if n := len(rows) - mostThin; n > 0 {
		s.row("", "and %s; --json lists them", words.Count(n, "more place", "more places"))
	}
	if through := r.Thin.Ray; len(through) == len(thin.Levels) { // a ball's is next to nothing along every sharp edge
		s.row("thickness", "%s of the surface under %s mm, half under %s mm", words.Percent(thin.Levels[1], 2), words.Beside(through[1], 0, 2), words.Beside(through[3], 0, 2))
	}
}

// nothing says what was not found, and how small a thing could have been missed.
func nothing(r *measure.Report) string {
	least := verdict.LeastSeen(r.Thin, 1)
	if least == "" {
		return "nothing that could be measured"
	}
	return "nothing of more than " + least
}

func limitsText(j *judgement) string {
	var parts []string
	if j.Wall != nil {
		parts = append(parts, fmt.Sprintf("walls may be %s mm", words.Plain(*j.Wall)))
	}
	if j.Pin != nil {
		parts = append(parts, fmt.Sprintf("pins %s mm", words.Plain(*j.Pin)))
	}
	return strings.Join(parts, ", ")
}

// group is rows that read the same but for their place.
type group struct {
	cells []string
	n     int
	at    mesh.Vec
}

// grouped counts rows alike, in the order of the first of each.
func grouped(n int, row func(i int) (cells []string, at mesh.Vec)) []group {
	var out []group
	index := map[string]int{}
	for i := range n {
		cells, at := row(i)
		key := strings.Join(cells, "\x00")
		if k, seen := index[key]; seen {
			out[k].n++
			continue
		}
		index[key] = len(out)
		out = append(out, group{cells, 1, at})
	}
	return out
}

// groupRows prints groups with their numbers, and the place of single ones.
func groupRows(s sheet, label, align string, groups []group, places bool) {
	var rows [][]string
	for _, g := range groups[:min(len(groups), mostBores)] {
		row := append([]string{fmt.Sprint(g.n)}, g.cells...)
		if places {
			at := ""
			if g.n == 1 {
				at = "at" + hard + place(g.at)
			}
			row = append(row, at)
		}
		rows = append(rows, row)
	}
	s.columns(label, align, rows)
	if len(groups) > mostBores {
		rest := 0
		for _, g := range groups[mostBores:] {
			rest += g.n
		}
		s.row("", "and %d more; --json lists them", rest)
	}
}

func boreRows(s sheet, r *measure.Report, j *judgement) {
	holes := r.Bores.Holes
	if len(holes) == 0 {
		none := "none"
		if r.Bores.Partial {
			none = "none found; not all were looked for"
		}
		s.row("holes", "%s", none)
	} else {
		groupRows(s, "holes", "rrrlrl", grouped(len(holes), func(i int) ([]string, mesh.Vec) {
			h := holes[i]
			return []string{"Ø" + hundredths(h.Diameter), "free " + hundredths(h.Free), opening(h), tenths(h.Depth) + " deep"}, h.Centre
		}), true)
	}
	if j != nil && j.Rod != nil && len(holes) > 0 {
		tightest := make([]int, len(holes)) // first
		for i := range tightest {
			tightest[i] = i
		}
		slices.SortStableFunc(tightest, func(a, b int) int { return cmp.Compare(j.Rods[a].Spare, j.Rods[b].Spare) })
		groupRows(s, "rod "+words.Plain(*j.Rod), "rrl", grouped(len(holes), func(i int) ([]string, mesh.Vec) {
			k := tightest[i]
			return []string{"Ø" + hundredths(holes[k].Diameter), j.Rods[k].Text}, mesh.Vec{}
		}), false)
	}
	if pins := r.Bores.Pins; len(pins) > 0 {
		groupRows(s, "pins", "rrrl", grouped(len(pins), func(i int) ([]string, mesh.Vec) {
			return []string{"Ø" + hundredths(pins[i].Diameter), tenths(pins[i].Length) + " long"}, pins[i].Centre
		}), true)
	}
}

func opening(h bore.Hole) string {
	if h.Through {
		return "through"
	}
	return "blind"
}

func layerRows(s sheet, c measure.ContractLayers, pose slice.Pose) {
	if c.Layers == nil {
		s.row("layers", "none: it is too tall for layers of %s mm, and may be in another unit", words.Plain(c.Layer))
		return
	}
	if *c.Layers == 0 {
		s.row("layers", "none: it has no height")
		return
	}
	s.row("layers", "%d of %s mm, %s, %s mm high", *c.Layers, words.Plain(c.Layer), pose, words.Measure(*c.Height))
	if c.Peak == nil {
		s.row("peak layer", "unknown: the surface does not close, or has a wall too many")
	} else {
		height := func(k int) string { return words.Plain((float64(k) + 0.5) * c.Layer) }
		peak := fmt.Sprintf("%s mm², %s mm up", words.Measure(*c.Peak), height(*c.PeakLayer))
		if c.About != nil && *c.FlatPeak > 0 {
			peak += fmt.Sprintf("; %s of the %s mm² as supplied", words.Percent(*c.Peak / *c.FlatPeak, 2), words.Measure(*c.FlatPeak))
		}
		s.row("peak layer", "%s", peak)
		if *c.Jump > 0 {
			s.row("worst jump", "%s mm² more than the layer before, %s mm up", words.Measure(*c.Jump), height(*c.JumpLayer))
		}
	}
	s.row("overhang", "%s mm² leans out more than %s° from the vertical", words.Measure(*c.Overhang), words.Plain(c.Limit))
	if c.Peak == nil {
		return
	}
	if *c.Islands > 0 {
		var at []string
		for _, i := range c.IslandPlaces {
			at = append(at, place(mesh.Vec{X: i.At[0], Y: i.At[1], Z: i.At[2]}))
		}
		begin := "begin"
		if *c.Islands == 1 {
			begin = "begins"
		}
		s.row("islands", "%d %s in mid-air, at %s", *c.Islands, begin, few(at))
	} else {
		s.row("islands", "none")
	}
	if len(c.Hollows) == 0 {
		s.row("hollows", "none")
	}
	label := "hollows"
	for _, k := range []struct {
		kind, one, many string
		n               int
	}{
		{"cup", "cup that opens downwards", "cups that open downwards", *c.Cups},
		{"well", "well that opens upwards", "wells that open upwards", *c.Wells},
		{"trapped", "hollow closed all round", "hollows closed all round", *c.Trapped},
	} {
		var at []string
		largest := 0.0
		for _, h := range c.Hollows {
			if h.Kind == k.kind {
				at = append(at, place(mesh.Vec{X: h.At[0], Y: h.At[1], Z: h.At[2]}))
				largest = max(largest, h.Volume)
			}
		}
		switch {
		case k.n == 1:
			s.row(label, "1 %s, of %s mm³, at %s", k.one, words.Measure(largest), at[0])
		case k.n > 1:
			s.row(label, "%d %s, of up to %s mm³, at %s", k.n, k.many, words.Measure(largest), few(at))
		default:
			continue
		}
		label = ""
	}
}

// few is the first places of a list, in a line.
func few(places []string) string {
	text := strings.Join(places[:min(len(places), mostPlaces)], ", ")
	if len(places) > mostPlaces {
		text += ", …"
	}
	return text
}

// amountRows prints what the solid takes, with what was assumed: of the material's
// process, or of all that come with the program, the liquids first.
func amountRows(s sheet, a *measure.ContractAmounts, lim limits) {
	if a == nil {
		return
	}
	for _, by := range []bench.Measure{bench.ByVolume, bench.ByLength} {
		for _, p := range lim.processes() {
			switch {
			case p.Measured != by:
			case by == bench.ByVolume:
				s.row(p.Name, "%s ml of liquid for %s g cured; at %s shrinkage and %s g/cm³", about(a.LiquidResin), about(a.ResinGrams), words.Percent(a.Shrinkage, 1), words.Plain(a.ResinDensity))
			case by == bench.ByLength:
				s.row(p.Name, "about %s m, %s g (from %s to %s m); with %s of %s mm, %s infill, %s mm %s of %s g/cm³",
					about(a.Filament), about(a.FilamentGrams), about(a.FilamentLow), about(a.FilamentFull),
					words.Count(a.Lines, "line", "lines"), words.Plain(a.LineWidth), words.Percent(a.Infill, 2), words.Plain(a.Diameter), p, words.Plain(a.FilamentDensity))
			}
		}
	}
}
