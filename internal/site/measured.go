package site

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict"
	"cardback/internal/verdict/seats"
	"cardback/internal/words"
)

// ThinRow is the thinnest of one cut against the limits of the materials that it
// is meant for.
type ThinRow struct {
	Number      int
	Name, Cut   string
	Wall, Pin   string
	Word, Class string
	Under       string // the limits that it is under, in words
}

// HoleRow is one item in the holes of some cuts: cuts with the same answer share
// a row.
type HoleRow struct {
	Item, Href, Cut string
	Parts           string // "3 Forearm, 2 holes; 5 Hand, 1 hole"
	Free            string // what the narrowest hole passes
	Answers         []HoleAnswer
	key             string
}

// HoleAnswer is the answer for the materials of one process.
type HoleAnswer struct{ Materials, Word, Class, Text string }

// LayerRow is one part as a process prints it. Error is set where it cannot be
// sliced.
type LayerRow struct {
	Number           int
	Name, Cut, Pose  string
	Layers, Height   string
	Peak, Flat       string // Flat is empty where the part is not tilted
	Jump, Overhang   string
	Islands, Hollows string
	Error            string
}

// eachCut calls f for every cut of r that was measured.
func (b *builder) eachCut(r release.Release, f func(number int, p release.Part, cs *survey.CutSurvey)) {
	for i, p := range r.Parts {
		for _, c := range p.Cuts {
			if cs, ok := b.in.Survey.Measured(c); ok && cs.Report != nil {
				f(i+1, p, cs)
			}
		}
	}
}

// What the table of thin places says of a mesh: too thin is what a standing heeds, and
// a little thin what it passes over.
const tooThin, aLittleThin = "too thin", "a little thin"

func (b *builder) thinRows(r release.Release) []ThinRow {
	var out []ThinRow
	b.eachCut(r, func(n int, p release.Part, cs *survey.CutSurvey) {
		t := cs.Report.Thin
		row := ThinRow{
			Number: n, Name: p.Name, Cut: cutName(p, cs.Cut),
			Wall: thinnest(t.Wall, t.Limit), Pin: thinnest(t.Pin, t.Limit),
			Word: "thick enough", Class: "yes",
		}
		of := b.in.Of(r.Number).Cut(cs.Cut)
		if len(of.Meant) == 0 {
			row.Word, row.Class = "not judged", "none"
		}
		switch {
		case len(of.Grave) > 0:
			row.Word, row.Class = tooThin, "caution"
			row.Under = "for " + bench.Named(of.Grave)
		case len(of.Near) > 0:
			row.Word, row.Class = aLittleThin, "split"
			row.Under = "for " + bench.Named(of.Near)
		}
		out = append(out, row)
	})
	return out
}

// thinLimit is the thickness up to which thin places were looked for.
func (b *builder) thinLimit(r release.Release) string {
	limit := 0.0
	b.eachCut(r, func(_ int, _ release.Part, cs *survey.CutSurvey) { limit = cs.Report.Thin.Limit })
	return plain(limit)
}

// thinnest is a length of a thin report, nil where nothing is as thin as the
// limit.
func thinnest(v *float64, limit float64) string {
	if v == nil {
		return "over" + thin + trimmed(limit, 1)
	}
	return number(*v, 2)
}

// cutName is the cut's kind where a part has several, or one that is not for
// every process.
func cutName(p release.Part, c release.Cut) string {
	if len(p.Cuts) == 1 && c.Kind == release.CutAny {
		return ""
	}
	return string(c.Kind) + " cut"
}

// ThinTable is the thinnest of every mesh of a release.
type ThinTable struct {
	Rows    []ThinRow
	Limit   string // the thickness up to which thin places were looked for
	Least   string // the size from which on nothing thinner was missed in any mesh; empty if there is none
	Summary string
}

func (b *builder) thinTable(r release.Release) ThinTable {
	t := ThinTable{Rows: b.thinRows(r), Limit: b.thinLimit(r)}
	least := 0.0
	b.eachCut(r, func(_ int, _ release.Part, cs *survey.CutSurvey) {
		if l := cs.Report.Thin.Least; l > least {
			least, t.Least = l, verdict.LeastSeen(cs.Report.Thin, 1)
		}
	})
	under, near := 0, 0
	for _, row := range t.Rows {
		switch row.Word {
		case tooThin:
			under++
		case aLittleThin:
			near++
		}
	}
	of := plural(len(t.Rows), "mesh", "meshes")
	switch {
	case len(t.Rows) == 0:
	case under+near == 0:
		t.Summary = "Thinnest walls and pins: all are thick enough for their materials"
	case under == 0:
		t.Summary = fmt.Sprintf("Thinnest walls and pins: in %d of %s a little thin for a material", near, of)
	default:
		t.Summary = fmt.Sprintf("Thinnest walls and pins: in %d of %s too thin for a material", under, of)
		if near > 0 {
			t.Summary += fmt.Sprintf(", and in %d a little thin", near)
		}
	}
	return t
}

func (b *builder) holeRows(r release.Release) []HoleRow {
	var out []HoleRow
	b.eachCut(r, func(n int, p release.Part, cs *survey.CutSurvey) {
		for _, f := range b.in.Of(r.Number).Cut(cs.Cut).Items {
			row := HoleRow{Item: tied(f.Item.Name), Href: itemPath(f.Item.ID), Cut: cutName(p, cs.Cut)}
			row.Parts = strconv.Itoa(n) + "\u00a0" + p.Name
			if len(f.Holes) == 0 {
				row.Free = "–"
				row.Answers = []HoleAnswer{{Word: "no hole found", Class: "caution", Text: "Nothing round near this size; an open channel is not measured."}}
			} else {
				if len(f.Holes) > 1 {
					row.Parts += " (" + count(len(f.Holes)) + ")"
				}
				row.Free = number(f.Holes[0].Free, 2) + thin + "mm"
			}
			for _, by := range f.By {
				row.Answers = append(row.Answers, holeAnswer(f, by))
			}
			row.key = fmt.Sprint(f.Item.ID, row.Cut, row.Free, row.Answers)
			if i := slices.IndexFunc(out, func(o HoleRow) bool { return o.key == row.key }); i >= 0 {
				out[i].Parts += ", " + row.Parts
				continue
			}
			out = append(out, row)
		}
	})
	return out
}

func holeAnswer(f seats.Fit, by seats.ByAllowance) HoleAnswer {
	a := HoleAnswer{Materials: bench.Named(by.Materials)}
	n := by.Narrowest
	switch {
	case f.Item.Kind == bench.Screw && !n.Passes:
		a.Word, a.Class, a.Text = "bites", "yes", "the screw cuts its own thread"
	case f.Item.Kind == bench.Rod && by.Wobbles:
		a.Word, a.Class, a.Text = "wobbles", "caution", number(n.Spare, 2)+thin+"mm over the rod and its allowance"
	case n.Free:
		a.Word, a.Class, a.Text = "passes", "yes", words.Spare(n.Spare, 2)+thin+"mm to spare"
		if n.Spare == 0 {
			a.Text = "the allowance and no more"
		}
	case n.Passes:
		a.Word, a.Class, a.Text = "tight", "split", "clear with a "+plain(n.Drill)+" drill"
	default:
		a.Word, a.Class, a.Text = "does not pass", "no", "drill to "+plain(n.Drill)
	}
	return a
}

// largestLayer names the part with the largest layer, which matters where layers are pulled
// off a film.
func largestLayer(r release.Release, in survey.Survey, proc *bench.Process) string {
	if !proc.Film {
		return ""
	}
	best, text := 0.0, ""
	for i, p := range r.Parts {
		for _, c := range p.Cuts {
			cs, ok := in.Measured(c)
			if !ok || !printing.PartOf(r, p, proc).Prints(c) || cs.Layers[proc] == nil || !cs.Layers[proc].Encloses || cs.Layers[proc].Peak <= best {
				continue
			}
			best = cs.Layers[proc].Peak
			text = "largest " + number(best, 0) + thin + "mm², " + strconv.Itoa(i+1) + "\u00a0" + p.Name
		}
	}
	return text
}

// tiltGain says for which part a tilt makes the most of a difference in a process;
// empty where it halves no part's largest layer.
func tiltGain(r release.Release, in survey.Survey, proc *bench.Process) string {
	best, text := 2.0, ""
	for i, p := range r.Parts {
		for _, c := range p.Cuts {
			cs, ok := in.Measured(c)
			if !ok || cs.Layers[proc] == nil {
				continue
			}
			l := cs.Layers[proc]
			if !l.Encloses || l.Pose.Tilt == 0 || l.Peak <= 0 || l.FlatPeak < best*l.Peak {
				continue
			}
			best = l.FlatPeak / l.Peak
			text = fmt.Sprintf("The tilt does most for %d\u00a0%s: its largest layer is %s\u202fmm², and would be %s\u202fmm² as supplied.", i+1, p.Name, number(l.Peak, 0), number(l.FlatPeak, 0))
		}
	}
	return text
}

// layerRows are the parts that proc prints, as the release's settings lay them.
func (b *builder) layerRows(r release.Release, proc *bench.Process) []LayerRow {
	var out []LayerRow
	b.eachCut(r, func(n int, p release.Part, cs *survey.CutSurvey) {
		if !printing.PartOf(r, p, proc).Prints(cs.Cut) {
			return
		}
		row := LayerRow{Number: n, Name: p.Name, Cut: cutName(p, cs.Cut)}
		l := cs.Layers[proc]
		switch {
		case l == nil:
			row.Error = "This mesh was not sliced: it is too tall for its layers."
		case !l.Encloses:
			row.Error = "This mesh does not close, so its layers have no area."
		default:
			row.Pose = "as supplied"
			if l.Pose.Tilt != 0 {
				row.Pose = degrees(l.Pose.Tilt) + " about " + l.Pose.About
				row.Flat = number(l.FlatPeak, 0)
			}
			row.Layers, row.Height = count(l.Count), number(l.Height, 1)
			row.Peak, row.Jump, row.Overhang = number(l.Peak, 0), number(l.Jump, 0), number(l.Overhang, 0)
			row.Islands = count(l.IslandCount)
			row.Hollows = hollows(proc, l)
		}
		out = append(out, row)
	})
	return out
}

// hollows counts those that matter in a process.
func hollows(proc *bench.Process, l *survey.Layers) string {
	var out []string
	for _, h := range []struct {
		matter    bool
		n         int
		one, many string
	}{{proc.Cup != "", l.CupCount, "cup", "cups"}, {proc.Film, l.WellCount, "well", "wells"}, {proc.Left != "", l.TrappedCount, "trapped", "trapped"}} {
		if h.matter && h.n > 0 {
			out = append(out, plural(h.n, h.one, h.many))
		}
	}
	if len(out) == 0 {
		return "none"
	}
	return strings.Join(out, ", ")
}
