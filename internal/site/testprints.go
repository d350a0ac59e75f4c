package site

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// TestPrints is the print log, newest first: the first few, and those that are
// shown when asked for.
type TestPrints struct {
	Rows, Older []TestPrintRow
}

// TestPrintRow is one entry of the print log.
type TestPrintRow struct {
	ID, Date, Machine string
	What, In          string
	Word, Class       string
	How               string // plate, layer, tilt, supports
	Remark            string
	Of                string // whether the meshes are those of today
	Photo             *PhotoView
}

// mostPrints is how many entries are shown at once.
const mostPrints = 8

// mostEarlier is how many parts are named of which a print had another mesh.
const mostEarlier = 3

// Widest picture of a test print, in pixels: twice what the table gives it.
const printPhotoWidth = 640

// PrintLog is some entries with their caption, for a page.
type PrintLog struct {
	Frame
	Caption string
	Rows    []TestPrintRow
}

// Log is a table of entries on this page.
func (p ReleasePage) Log(rows []TestPrintRow, caption string) PrintLog {
	return PrintLog{p.Frame, caption, rows}
}

func printID(p release.Print) string { return "print-" + strconv.Itoa(p.Line) }

func (b *builder) testPrints(r release.Release) (TestPrints, error) {
	log := slices.Clone(r.Log)
	slices.SortStableFunc(log, func(p, q release.Print) int {
		return cmp.Or(q.Date.Compare(p.Date), cmp.Compare(q.Line, p.Line))
	})
	var t TestPrints
	for _, p := range log {
		row := TestPrintRow{
			ID: printID(p), Date: words.Day(p.Date), Machine: words.Date(p.Date),
			What: whatPrinted(r, p), In: release.BlendText(p.Stock),
			Word: string(p.Outcome), Class: outcomeClass(p.Outcome),
			How: b.howPrinted(p), Remark: p.Remark, Of: ofWhich(r, p, b.in.Survey),
		}
		if p.Photo != "" {
			v, err := b.photo(r, p.Photo, "Test print of "+row.Date+": "+row.What+", "+row.Word, printPhotoWidth)
			if err != nil {
				return t, err
			}
			row.Photo = &v
		}
		if len(t.Rows) < mostPrints {
			t.Rows = append(t.Rows, row)
		} else {
			t.Older = append(t.Older, row)
		}
	}
	return t, nil
}

func outcomeClass(o release.Outcome) string {
	switch o {
	case release.Good:
		return "yes"
	case release.Usable:
		return "caution"
	}
	return "no"
}

// partName is what a slug of the log is called today; a part that is gone has the
// name that it was last sealed with, or its slug.
func partName(r release.Release, slug string) string {
	if p, ok := partBySlug(r, slug); ok {
		return p.Name
	}
	for _, v := range slices.Backward(r.Revisions) {
		for _, p := range v.Parts {
			if p.Slug == slug {
				return p.Name
			}
		}
	}
	return slug
}

func whatPrinted(r release.Release, p release.Print) string {
	if p.Whole {
		return "A full print"
	}
	var names []string
	for _, s := range p.Parts {
		names = append(names, partName(r, s))
	}
	return words.List(names)
}

func (b *builder) howPrinted(p release.Print) string {
	var out []string
	for _, plate := range b.in.Site.Bench.Plates {
		if plate.ID == p.Plate {
			out = append(out, "on the "+plate.Name)
		}
	}
	if p.Layer > 0 {
		out = append(out, "layer "+plain(p.Layer))
	}
	if p.TiltAbout != "" {
		out = append(out, "tilted "+degrees(p.Tilt)+" about "+p.TiltAbout)
	}
	if p.Supports != "" {
		out = append(out, "supports: "+strings.TrimRight(strings.TrimSpace(p.Supports), "."))
	}
	if len(out) == 0 {
		return ""
	}
	return words.Capital(strings.Join(out, "; ")) + "."
}

// ofWhich says whether the meshes that were printed are those that stand in the
// folder today: only then does the print prove anything of them.
func ofWhich(r release.Release, p release.Print, s survey.Survey) string {
	now := map[string]bool{} // fingerprints
	for _, part := range r.Parts {
		for _, c := range part.Cuts {
			if cs, ok := s.Measured(c); ok {
				now[cs.Report.Fingerprint] = true
			}
		}
	}
	var earlier, kept []string
	for _, m := range p.Meshes {
		name := partName(r, m.Part)
		switch {
		case m.Fingerprint == "":
			continue
		case now[m.Fingerprint]:
			kept = append(kept, name)
		case !slices.Contains(earlier, name):
			earlier = append(earlier, name)
		}
	}
	switch {
	case len(earlier)+len(kept) == 0:
		return "Which meshes it was of is not recorded."
	case len(earlier) == 0:
		return "Of the meshes that stand here."
	case len(kept) == 0:
		return "Of earlier meshes."
	case len(earlier) > mostEarlier:
		return "Of earlier meshes of " + plural(len(earlier), "part", "parts") + "; the rest are those that stand here."
	}
	return "Of an earlier mesh of " + words.List(earlier) + "; the rest are those that stand here."
}
