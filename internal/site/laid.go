package site

import (
	"fmt"
	"html/template"
	"math"
	"strconv"

	"cardback/internal/draw"
	"cardback/internal/layout"
	"cardback/internal/measure/shadow"
	"cardback/internal/pack"
	"cardback/internal/release"
	"cardback/internal/survey/plates"
	"cardback/internal/words"
)

// LaidSet is a full print on plates of one process's design standard.
type LaidSet struct {
	Process, Plate, Href string
	Sentence, Why        string
	Notes                []string // what is split, chosen, tilted otherwise or left out
	Spacing              string
	Plates               []LaidPlate

	from *plates.Set
}

// LaidPlate is one plate: its chart, and its arrangement as a file.
type LaidPlate struct {
	Number                   string
	Charts                   Charts
	Name, File, Size, SHA256 string

	bytes int64
}

// laidSets draws a release's plates and publishes their files.
func (b *builder) laidSets(r release.Release) ([]LaidSet, error) {
	var out []LaidSet
	for _, set := range b.in.Laid[r.Number] {
		if set.Layout == nil || len(set.Layout.Plates) == 0 {
			continue
		}
		s := LaidSet{
			Process: set.Process.String(), Plate: set.Plate.Name, Href: platePath(set.Plate.ID),
			Sentence: words.Capital(set.Sentence()) + ".", Notes: laidNotes(set), Spacing: plain(set.Spacing), from: set,
		}
		if set.Layout.Bound > 1 {
			s.Why = set.Layout.Why // that one is needed goes without saying
		}
		for k := range set.Layout.Plates {
			d, err := pack.PlateFile(b.ctx, b.in.Site, &r, set, k, b.in.Store)
			if err != nil {
				return nil, err
			}
			if err := b.write(d.URL, d.Data); err != nil {
				return nil, err
			}
			s.Plates = append(s.Plates, LaidPlate{
				Number: strconv.Itoa(k + 1), Charts: b.laidCharts(r, set, k),
				Name: d.Name, File: d.URL, Size: fileSize(d.Size), SHA256: d.SHA256, bytes: d.Size,
			})
		}
		out = append(out, s)
	}
	return out, nil
}

// laidNotes are what a reader has to know of the set, each a sentence.
func laidNotes(set *plates.Set) []string {
	var out []string
	for _, s := range set.Splits {
		why := "does not fit whole"
		if s.Fit.Verdict == "" {
			why = "has no mesh that can be read"
		} else if s.Fit.Verdict.Fits() {
			why = "fits only in another orientation than the one recommended"
		}
		if set.Short(s) {
			out = append(out, fmt.Sprintf("%s %s, and not all of its pieces fit: those that do are laid.", s.Whole.Name, why))
			continue
		}
		out = append(out, fmt.Sprintf("%s %s: its pieces are laid.", s.Whole.Name, why))
	}
	for _, c := range set.Choices {
		if len(c.Others) > 0 {
			out = append(out, fmt.Sprintf("Of the choice “%s”, %s is laid.", c.Group, c.Taken.Name))
		}
	}
	var tilted []string
	for _, p := range set.Pieces {
		if !p.Mirrored && !p.Kept && p.Fit.Declared && p.Fit.Verdict.Fits() {
			tilted = append(tilted, p.Part.Name)
		}
	}
	if len(tilted) > 0 {
		out = append(out, "Not at the recommended tilt, because only another orientation fits: "+words.List(tilted)+".")
	}
	for _, m := range set.Missing {
		out = append(out, "Not laid: "+m+".")
	}
	for _, u := range set.Layout.Unplaced {
		out = append(out, "Not laid: "+set.Pieces[u.Piece].Name()+". "+u.Reason)
	}
	return out
}

func (b *builder) laidCharts(r release.Release, set *plates.Set, k int) Charts {
	var items []draw.PlateItem
	for _, at := range set.Layout.Plates[k] {
		p := set.Pieces[at.Piece]
		items = append(items, draw.PlateItem{Number: strconv.Itoa(p.Number), Name: p.Name(), Outline: laidOutline(p.Outline, at)})
	}
	title := fmt.Sprintf("%s: plate %d of %d, %s, seen from above", r.Title, k+1, len(set.Layout.Plates), set.Plate.Name)
	chart := func(id string, width, text float64) template.HTML {
		return template.HTML(draw.PlateChart(items, draw.PlateChartOptions{
			ID: fmt.Sprintf("laid-%s-%d-%s", set.Process, k+1, id), Title: title,
			PlateWidth: set.Plate.Width, PlateDepth: set.Plate.Depth, Margin: set.Plate.Margin, Round: set.Plate.Round,
			WidthMM: width, TextMM: text, Inches: b.in.units().inches,
		}))
	}
	return Charts{Desk: chart("desk", 200, 3.6), Phone: chart("phone", 82, 3.6), Caption: title + "."}
}

// laidOutline is a piece's outline where it lies: turned, then moved.
func laidOutline(o shadow.Outline, at layout.Placed) shadow.Outline {
	sin, cos := math.Sincos(at.TurnDeg * math.Pi / 180)
	var out shadow.Outline
	for _, ring := range o {
		var moved shadow.Ring
		for _, p := range ring {
			moved = append(moved, shadow.Point{
				X: float64(cos*p.X) - float64(sin*p.Y) + at.X,
				Y: float64(sin*p.X) + float64(cos*p.Y) + at.Y,
			})
		}
		out = append(out, moved)
	}
	return out
}

// ID is where a process's plates stand on the page.
func (s LaidSet) ID() string { return "plates-" + s.from.Process.ID }
