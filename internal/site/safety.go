package site

import (
	"cardback/internal/release"
	"cardback/internal/verdict"
)

// Safety is what a release's page says of harm, of how it stands and of its licence.
type Safety struct {
	Cautions []CautionRow
	Small    bool            // some part is small, or may be
	Stance   *verdict.Stance // nil where nothing is said of it
	Credits  []CreditRow
}

// CautionRow is one caution as package verdict words it, with its ground and the
// steps of the assembly where it matters.
type CautionRow struct {
	verdict.Caution
	Method string // the address of how its ground is found; empty for most
}

// CreditRow is an adapted work, and whether the release's licence may stand on it.
type CreditRow struct {
	verdict.CreditedWork
	Terms Licence
	Class string // for the style sheet
}

func (b *builder) safety(r release.Release, f Frame) Safety {
	of := b.in.Of(r.Number)
	s := Safety{Cautions: cautionRows(of.Cautions), Stance: of.Stance}
	for i := range s.Cautions {
		switch s.Cautions[i].Code {
		case verdict.SmallPartCaution:
			s.Cautions[i].Method = f.MethodOf("small-parts")
		case verdict.MagnetCaution:
			s.Cautions[i].Method = f.MethodOf("cautions")
		}
	}
	s.Small = len(b.smallWords(r)) > 0
	for _, c := range of.Credits {
		s.Credits = append(s.Credits, CreditRow{c, licence(c.Credit.Licence), adaptingClass(c.Adapting)})
	}
	return s
}

func cautionRows(list []verdict.Caution) []CautionRow {
	var out []CautionRow
	for _, c := range list {
		out = append(out, CautionRow{Caution: c})
	}
	return out
}

func adaptingClass(a release.Adapting) string {
	switch a {
	case release.MayAdapt:
		return "yes"
	case release.BetterNot:
		return "caution"
	case release.MayNotAdapt:
		return "fault"
	default:
		return "none"
	}
}

// smallWords is what the parts sheet says of each part that is small or may be, by
// its slug. The cut is named where not all of a part's cuts are alike in this.
func (b *builder) smallWords(r release.Release) map[string]string {
	sp := b.in.Of(r.Number).Small
	ofCut := func(p verdict.SmallPart) string {
		for _, c := range p.Part.Cuts {
			if cs, ok := b.in.Survey.Measured(c); !ok || cs.Gauge.Verdict != p.Gauged.Verdict {
				return " (" + string(p.Cut.Kind) + " cut)"
			}
		}
		return ""
	}
	out := map[string]string{}
	for _, p := range sp.Fits {
		out[p.Part.Slug] = "small part: it fits the gauge" + ofCut(p)
		if p.Loose {
			out[p.Part.Slug] = "small part: a loose piece of it fits the gauge" + ofCut(p)
		}
	}
	for _, p := range sp.Undecided {
		out[p.Part.Slug] = "perhaps a small part: whether it fits the gauge is undecided" + ofCut(p)
	}
	return out
}
