package site

import (
	"strings"

	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
)

// PartRow is a line of the parts sheet: one part and what was measured of each
// of its cuts.
type PartRow struct {
	Number int
	Name   string
	Count  string
	Notes  []string // short phrases under the name
	Remark string   // the designer's own note
	Cuts   []CutRow
}

// CutRow is one mesh of a part. Error is set, and the numbers empty, where it
// could not be read.
type CutRow struct {
	Kind, SizeMM, SizeIn, Volume, Triangles string
	Fingerprint, FingerprintShort           string
	Error                                   string
}

func (b *builder) partRows(r release.Release) []PartRow {
	var out []PartRow
	small := b.smallWords(r)
	for i, p := range r.Parts {
		row := PartRow{Number: i + 1, Name: p.Name, Count: count(p.Printed()), Remark: p.Notes}
		if p.MirroredTwin {
			row.Notes = append(row.Notes, count(p.Quantity)+" as supplied, "+count(p.Quantity)+" mirrored")
		}
		if p.Choice != "" {
			row.Notes = append(row.Notes, "pick one of the choice “"+p.Choice+"”")
		}
		if whole, ok := partBySlug(r, p.Replaces); ok {
			row.Notes = append(row.Notes, "a piece of "+whole.Name)
		}
		if pieces := printing.Pieces(r, p.Slug); len(pieces) > 0 {
			var names []string
			for _, q := range pieces {
				names = append(names, q.Name)
			}
			row.Notes = append(row.Notes, "or print its pieces: "+strings.Join(names, "; "))
		}
		if p.TiltAbout != "" {
			note := "print tilted " + degrees(p.Tilt) + " about " + p.TiltAbout
			if proc := p.TiltFor.String(); proc != "" {
				note = "in " + proc + ", " + note
			}
			row.Notes = append(row.Notes, note)
		}
		for _, t := range together(p.Takes) {
			text := "takes " + count(t.Count) + "\u00a0×\u00a0" + tied(t.Item.Name)
			if t.Cut > 0 {
				text += ", " + plain(t.Cut)
			}
			row.Notes = append(row.Notes, text)
		}
		if words := small[p.Slug]; words != "" {
			row.Notes = append(row.Notes, words)
		}
		for _, c := range p.Cuts {
			row.Cuts = append(row.Cuts, b.cutRow(c))
		}
		out = append(out, row)
	}
	return out
}

func (b *builder) cutRow(c release.Cut) CutRow {
	row := CutRow{Kind: string(c.Kind)}
	cs := b.in.Survey.Of(c)
	switch {
	case cs == nil:
		row.Error = "This mesh was not measured."
	case cs.Err != nil:
		row.Error = "This mesh could not be read: " + cs.Err.Error()
	case cs.Report != nil:
		size := cs.Report.Bounds.Size()
		row.SizeMM = sizeMM(size)
		if b.in.units().inches {
			row.SizeIn = sizeIn(size)
		}
		row.Volume, row.Triangles = volume(cs.Report.Volume), count(cs.Report.Triangles)
		row.Fingerprint, row.FingerprintShort = cs.Report.Fingerprint, short(cs.Report.Fingerprint)
	}
	return row
}

func partBySlug(r release.Release, slug string) (release.Part, bool) {
	for _, p := range r.Parts {
		if slug != "" && p.Slug == slug {
			return p, true
		}
	}
	return release.Part{}, false
}

// readable is the first cut of a part that was measured.
func (b *builder) readable(p release.Part) *survey.CutSurvey {
	for _, c := range p.Cuts {
		if cs, ok := b.in.Survey.Measured(c); ok && cs.Report != nil {
			return cs
		}
	}
	return nil
}

// together adds up uses of the same item in the same length.
func together(uses []release.HardwareUse) []release.HardwareUse {
	var out []release.HardwareUse
next:
	for _, u := range uses {
		for i := range out {
			if out[i].Item.ID == u.Item.ID && out[i].Cut == u.Cut {
				out[i].Count += u.Count
				continue next
			}
		}
		out = append(out, u)
	}
	return out
}
