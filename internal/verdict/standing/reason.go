package standing

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/release"
	"cardback/internal/words"
)

// group is one ground for several parts, before it is put in words.
type group struct {
	ground Ground
	rule   Rule
	states []state
}

// groundsOf lists what some parts' standings rest on, worst first. Parts that
// share a ground share an entry.
func groundsOf(states []state) []Ground {
	var groups []group
	add := func(st state, g Ground, rule Rule) {
		i := slices.IndexFunc(groups, func(o group) bool {
			return o.ground.Standing == g.Standing && o.ground.Code == g.Code && o.ground.Kind == g.Kind && o.ground.Target == g.Target && sameSentence(o.rule, rule)
		})
		if i < 0 {
			groups = append(groups, group{ground: g, rule: rule})
			i = len(groups) - 1
		}
		if !slices.Contains(groups[i].ground.Parts, st.part.Slug) { // one with holes for two rods
			groups[i].ground.Parts = append(groups[i].ground.Parts, st.part.Slug)
			groups[i].states = append(groups[i].states, st)
		}
	}
	for _, st := range states {
		if st.aside && st.standing != NotOffered {
			g := Ground{Standing: st.standing, Code: GroundAside, Kind: OfMaterial, Target: st.in.ID}
			add(st, g, Rule{})
			continue
		}
		for _, r := range st.rules {
			if r.Answer == Missing && st.standing != NotOffered {
				continue
			}
			answer := r.Answer
			if st.ev.log != Unlogged {
				answer = r.Left
			}
			if answer == Passes && r.Answer != Passes {
				continue // a print settled it
			}
			kind, target := targetOf(r)
			add(st, Ground{Standing: answer.unprinted(), Code: string(r.Code), Kind: kind, Target: target, Accepted: r.Accepted}, r)
		}
		if st.standing == NotOffered {
			continue
		}
		g, rule := evidenceGround(st.ev)
		add(st, g, rule)
	}
	slices.SortStableFunc(groups, func(a, b group) int {
		return cmp.Compare(b.ground.Standing.rank(), a.ground.Standing.rank())
	})
	var out []Ground
	for _, g := range groups {
		g.ground.Text = g.sentence()
		if g.ground.Accepted != "" {
			g.ground.Text += " " + AcceptedText(g.ground.Accepted)
		}
		out = append(out, g.ground)
	}
	return out
}

// sameSentence reports whether two parts' rules can share a sentence. Of thin
// places only the sentence about one part gives numbers.
func sameSentence(a, b Rule) bool {
	return a.Code == b.Code && a.Accepted == b.Accepted && (a.About == b.About && a.Also == b.Also || a.Code == RuleThin)
}

// targetOf is what would change a rule's answer.
func targetOf(r Rule) (GroundKind, string) {
	switch r.Code {
	case RuleCut, RuleFlexibleCut, RuleReadable:
		return OfCut, r.Target
	case RuleStiff:
		return OfCut, string(release.CutFlexible)
	case RuleFlexible:
		if r.Answer == Care {
			return OfSettings, ""
		}
		return OfCut, string(release.CutFlexible)
	case RuleSnaps:
		if r.Answer == Care {
			return OfSettings, ""
		}
		return OfCut, r.Target
	case RulePlate, RulePosture:
		return OfPlate, r.Target
	case RuleThin:
		return OfFinding, "thin" // walls or pins
	}
	return OfFinding, r.Target
}

func evidenceGround(ev evidence) (Ground, Rule) {
	line := func(p *release.Print) string { return strconv.Itoa(p.Line) }
	switch {
	case ev.log == LogGood:
		return Ground{Standing: Proven, Code: GroundPrint, Kind: OfPrint, Target: line(ev.print)}, Rule{}
	case ev.log == LogUsable:
		return Ground{Standing: WithCare, Code: GroundPrint, Kind: OfPrint, Target: line(ev.print)}, Rule{}
	case ev.log == LogFailed:
		return Ground{Standing: NotSuited, Code: GroundPrint, Kind: OfPrint, Target: line(ev.print)}, Rule{}
	case ev.before == NeverProven:
		return Ground{Standing: Expected, Code: GroundUnprinted, Kind: OfLog}, Rule{}
	}
	g := Ground{Standing: NeedsReprint, Code: GroundChanged, Kind: OfRevision, Target: ev.revision}
	if ev.before == OnlyMoved {
		g.Standing, g.Code = Expected, GroundMoved
	}
	if ev.before == BelowTolerance {
		g.Standing, g.Code = Expected, GroundNearly
	}
	if ev.revision == "" {
		g.Kind, g.Target = OfPrint, line(ev.was)
	}
	return g, Rule{About: ev.wasProven()}
}

// wasProven says when an earlier mesh was proven.
func (ev evidence) wasProven() string {
	if ev.revision == "" {
		return "on " + words.Day(ev.was.Date)
	}
	return "in revision " + ev.revision
}

// subjects names the group's parts, or counts them.
func (g group) subjects() string {
	if len(g.states) > MostNamed {
		return fmt.Sprintf("%d parts", len(g.states))
	}
	return partNames(g.states)
}

// verb is one for one part and many for more.
func (g group) verb(one, many string) string {
	if len(g.states) == 1 {
		return one
	}
	return many
}

func (g group) sentence() string {
	names := g.subjects()
	about := g.rule.About
	switch RuleCode(g.ground.Code) {
	case RuleCut:
		return fmt.Sprintf("There is no %s cut of %s.", about, names)
	case RuleFlexibleCut:
		return fmt.Sprintf("There is no flexible cut of %s.", names)
	case RuleReadable:
		return fmt.Sprintf("The mesh of %s could not be read.", names)
	case RuleSolid:
		return fmt.Sprintf("The mesh of %s encloses nothing that prints.", names)
	case RuleSound:
		return fmt.Sprintf("The mesh of %s has a fault: what prints depends on the program that reads it.", names)
	case RuleSnaps:
		if g.rule.Answer == Care {
			return fmt.Sprintf("The snap joints of %s hold only in the blend that the release states, %s.", names, about)
		}
		return fmt.Sprintf("The snap joints of %s break in a rigid %s.", names, about)
	case RuleFlexible:
		if g.rule.Answer == Care {
			return fmt.Sprintf("%s %s to bend: print %s in the blend that the release states, %s.", names, g.verb("has", "have"), g.verb("it", "them"), about)
		}
		return fmt.Sprintf("%s %s to bend: print %s in a flexible material.", names, g.verb("has", "have"), g.verb("it", "them"))
	case RuleStiff:
		return fmt.Sprintf("The joints of %s were not drawn for a material that bends: holes give way and rods slip out.", names)
	case RulePlate:
		switch {
		case g.rule.Answer == Fails:
			return fmt.Sprintf("At full size %s %s no plate of the bench for this process.", names, g.verb("fits", "fit"))
		case g.rule.Also == "":
			return fmt.Sprintf("Whether %s can fit the design standard, %s, is undecided.", names, about)
		}
		return fmt.Sprintf("%s %s too large for the design standard, %s, and %s %s.", names, g.verb("is", "are"), about, g.verb("fits", "fit"), g.rule.Also)
	case RulePosture:
		return fmt.Sprintf("%s %s the design standard only in another orientation than the one recommended.", names, g.verb("fits", "fit"))
	case RuleThin:
		how := "Too thin in places"
		if g.rule.Answer == Fails {
			how = "Far too thin in places"
		}
		if len(g.states) == 1 {
			return fmt.Sprintf("%s: %s, with %s.", how, names, about)
		}
		return fmt.Sprintf("%s for this material: %s.", how, names)
	case RuleHole:
		return fmt.Sprintf("Drill %s for the %s, which does not pass as drawn.", names, about)
	case RuleFlat:
		return fmt.Sprintf("Tilt %s %s: lying flat, large layers come off the film with a jerk.", names, about)
	case RuleTrapped:
		return fmt.Sprintf("%s stays inside %s: open %s.", words.Capital(about), names, g.rule.Also)
	case RuleWell:
		return fmt.Sprintf("Vent %s or lay %s another way: a hollow opens away from the plate and sucks at the film.", names, g.verb("it", "them"))
	}
	switch g.ground.Code {
	case GroundAside:
		return g.asideSentence(names)
	case GroundPrint:
		return g.printSentence(names)
	case GroundChanged:
		return fmt.Sprintf("%s %s changed since %s proven %s.", names, g.verb("has", "have"), g.verb("it was", "they were"), about)
	case GroundMoved:
		return fmt.Sprintf("%s %s shape since %s proven %s, but %s no logged print.", names, g.verb("has kept its", "have kept their"), g.verb("it was", "they were"), about, g.verb("this mesh has", "these meshes have"))
	case GroundNearly:
		return fmt.Sprintf("%s %s from what was proven %s by less than the printing tolerance, but %s no logged print.", names, g.verb("differs", "differ"), about, g.verb("this mesh has", "these meshes have"))
	}
	return fmt.Sprintf("No print of %s is logged yet.", names)
}

func (g group) asideSentence(names string) string {
	switch st := g.states[0]; {
	case st.in.ID == "":
		return fmt.Sprintf("Print %s in a flexible material, of which the bench has none.", names)
	case g.ground.Standing == Proven || g.ground.Standing == Expected:
		return fmt.Sprintf("Print %s in a flexible material.", names)
	case g.ground.Standing == NeedsReprint:
		return fmt.Sprintf("Print %s in a flexible material, where %s a reprint.", names, g.verb("it needs", "they need"))
	default:
		return fmt.Sprintf("Print %s in a flexible material, where %s %s.", names, g.verb("it is", "they are"), g.ground.Standing)
	}
}

// printSentence says what came of the print that decides.
func (g group) printSentence(names string) string {
	ev := g.states[0].ev
	when := words.Day(ev.print.Date)
	if stock := release.Present(ev.print.Stock); len(stock) > 1 {
		when += " in " + release.BlendText(stock)
	}
	switch ev.log {
	case LogGood:
		if n := ev.prints; n > 1 && len(g.states) == 1 {
			return fmt.Sprintf("%s printed well on %s, and in %d of %d prints in all.", names, when, ev.good, n)
		}
		return fmt.Sprintf("%s printed well on %s.", names, when)
	case LogUsable:
		return fmt.Sprintf("%s came out usable on %s%s", names, when, remark(ev.print))
	default:
		return fmt.Sprintf("%s failed on %s%s", names, when, remark(ev.print))
	}
}

// remark ends a sentence with the first one of the print's remark, where that is
// short enough to stand in a table.
func remark(p *release.Print) string {
	const longest = 90 // letters
	text := strings.TrimSpace(p.Remark)
	if i := strings.IndexAny(text, ".!?;\n"); i >= 0 && (i == len(text)-1 || strings.ContainsAny(text[i+1:i+2], " \n") || text[i] == '\n') {
		text = text[:i]
	}
	if text == "" || len([]rune(text)) > longest {
		return "."
	}
	return ": " + text + "."
}

// mostSentences is how many grounds a reason spells out.
const mostSentences = 2

// reason says why some parts together have a standing.
func reason(s Standing, states []state, grounds []Ground, mentions []string) string {
	var out, further []string
	for _, g := range grounds {
		switch {
		case g.Code == string(RulePosture) || g.Code == GroundAside:
			further = append(further, g.Text)
		case s.rank() >= WithCare.rank() && (g.Standing == s || s == NeedsReprint && g.Standing == WithCare):
			out = append(out, g.Text)
		}
	}
	if n := len(out) - mostSentences; n > 0 {
		out = append(out[:mostSentences], words.Count(n, "more reason applies.", "more reasons apply."))
	}
	switch s {
	case Expected:
		out = append(out, unprinted(states))
		for _, g := range grounds {
			if g.Code == GroundMoved || g.Code == GroundNearly || g.Accepted != "" {
				out = append(out, g.Text)
			}
		}
	case WithCare:
		if !slices.ContainsFunc(states, func(st state) bool { return st.ev.log != LogGood }) {
			out = append(out, printedWell(states, grounds))
		}
	case Proven:
		out = append(out, printedWell(states, grounds))
	case NotOffered:
		return strings.Join(out, " ") // nothing else matters then
	}
	return strings.Join(append(append(out, mentions...), further...), " ")
}

// unprinted says which of some parts that are expected or proven nobody has
// logged a print of. Those that only moved are told of by their own grounds.
func unprinted(states []state) string {
	pass := "Passes"
	remarks := 0
	for _, st := range states {
		remarks += st.remarks
	}
	if remarks > 0 {
		pass += ", with " + words.Count(remarks, "note", "notes")
	}
	var g group
	for _, st := range states {
		if st.ev.log == Unlogged && st.ev.before == NeverProven {
			g.states = append(g.states, st)
		}
	}
	switch n := len(g.states); {
	case n == 0:
		return pass + "."
	case n == len(states) && n > 1:
		return pass + "; nobody has logged a print."
	case n > MostNamed:
		return fmt.Sprintf("%s; %d of the %d parts have no logged print.", pass, n, len(states))
	}
	return fmt.Sprintf("%s; no print is logged of %s.", pass, g.subjects())
}

// printedWell sums up the prints that prove.
func printedWell(states []state, grounds []Ground) string {
	prints := 0
	for _, g := range grounds {
		if g.Code == GroundPrint {
			prints++
			if len(states) == 1 {
				return g.Text
			}
		}
	}
	newest := states[0].ev
	for _, st := range states {
		if newer(st.ev.print, newest.print) {
			newest = st.ev
		}
	}
	if prints == 1 && !slices.ContainsFunc(states, func(st state) bool { return st.aside }) {
		when := words.Day(newest.print.Date)
		if stock := release.Present(newest.print.Stock); len(stock) > 1 {
			when += " in " + release.BlendText(stock)
		}
		return "All parts printed well on " + when + "."
	}
	return "Every part has printed well, the last on " + words.Day(newest.print.Date) + "."
}
