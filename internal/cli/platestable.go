package cli

import (
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"
	"unicode/utf8"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/plates"
	"cardback/internal/words"
)

// platesAnswer is the --json object of plates. Lists are never null. A place
// turns a mesh, mirrored in x = 0 first where mirrored says so, by the rotation,
// whose rows are given, and moves it by the shift.
type platesAnswer struct {
	Release  int            `json:"release"`
	Name     string         `json:"name"`
	Process  *bench.Process `json:"process"`
	Plate    string         `json:"plate"` // as in --plate, with the margin
	Spacing  float64        `json:"spacing_mm"`
	Summary  string         `json:"summary"`
	AtLeast  int            `json:"at_least"` // plates, proved
	Why      string         `json:"why"`
	Plates   []plateAnswer  `json:"plates"`
	Pieces   []pieceAnswer  `json:"pieces"`
	Unplaced []unplaced     `json:"unplaced"`
	Splits   []splitAnswer  `json:"splits"`
	Choices  []choiceAnswer `json:"choices"`
	Missing  []string       `json:"missing"`
}

type plateFiles struct {
	SVG     string `json:"svg,omitempty"`
	ThreeMF string `json:"3mf,omitempty"`
}

type plateAnswer struct {
	plateFiles
	Places []placeAnswer `json:"places"`
}

type placeAnswer struct {
	Number   int           `json:"number"`
	Part     string        `json:"part"`
	Mirrored bool          `json:"mirrored"`
	Copy     int           `json:"copy"` // from 1
	TurnDeg  float64       `json:"turn_deg"`
	Rotation [3][3]float64 `json:"rotation"`
	ShiftMM  [3]float64    `json:"shift_mm"`
}

type pieceAnswer struct {
	Number   int     `json:"number"`
	Part     string  `json:"part"`
	Name     string  `json:"name"`
	Mirrored bool    `json:"mirrored"`
	Copies   int     `json:"copies"`
	Cut      string  `json:"cut"`
	Pose     string  `json:"recommended"`
	Kept     bool    `json:"keeps_recommended"`
	Height   float64 `json:"height_mm"`
}

type unplaced struct {
	Number int    `json:"number"`
	Part   string `json:"part"`
	Name   string `json:"name"`
	Reason string `json:"reason"`
}

type splitAnswer struct {
	Number int      `json:"number"`
	Whole  string   `json:"whole"`
	Reason string   `json:"reason"`
	Pieces []string `json:"pieces"`
}

type choiceAnswer struct {
	Choice string   `json:"choice"`
	Taken  string   `json:"taken"`
	Others []string `json:"others"`
}

func newPlatesAnswer(r *release.Release, set *plates.Set, files []plateFiles) platesAnswer {
	v := platesAnswer{
		Release: r.Number, Name: r.Slug, Process: set.Process, Plate: survey.FitPlate(set.Plate).String(), Spacing: set.Spacing,
		Summary: set.Sentence(), AtLeast: set.Layout.Bound, Why: set.Layout.Why,
		Plates: []plateAnswer{}, Pieces: []pieceAnswer{}, Unplaced: []unplaced{}, Splits: []splitAnswer{}, Choices: []choiceAnswer{}, Missing: append([]string{}, set.Missing...),
	}
	for k, plate := range set.Layout.Plates {
		a := plateAnswer{files[k], []placeAnswer{}}
		for _, at := range plate {
			p := set.Pieces[at.Piece]
			m, shift := p.Placement(at)
			a.Places = append(a.Places, placeAnswer{
				p.Number, p.Part.Slug, p.Mirrored, at.Copy + 1, at.TurnDeg,
				[3][3]float64{{m[0], m[1], m[2]}, {m[3], m[4], m[5]}, {m[6], m[7], m[8]}}, [3]float64{shift.X, shift.Y, shift.Z},
			})
		}
		v.Plates = append(v.Plates, a)
	}
	for _, p := range set.Pieces {
		v.Pieces = append(v.Pieces, pieceAnswer{p.Number, p.Part.Slug, p.Name(), p.Mirrored, p.Copies, p.Cut.Rel, p.Pose.String(), p.Kept, p.Height})
	}
	for _, u := range set.Layout.Unplaced {
		p := set.Pieces[u.Piece]
		v.Unplaced = append(v.Unplaced, unplaced{p.Number, p.Part.Slug, p.Name(), u.Reason})
	}
	for _, s := range set.Splits {
		v.Splits = append(v.Splits, splitAnswer{s.Whole.Number, s.Whole.Slug, s.Fit.Reason, slugsOf(s.Parts)})
	}
	for _, c := range set.Choices {
		v.Choices = append(v.Choices, choiceAnswer{c.Group, c.Taken.Slug, slugsOf(c.Others)})
	}
	return v
}

func slugsOf(parts []printing.Part) []string {
	out := []string{}
	for _, p := range parts {
		out = append(out, p.Slug)
	}
	return out
}

// table prints the answer for people.
func (v platesAnswer) table(w io.Writer, r *release.Release, set *plates.Set) {
	on := v.Plate
	if set.Plate.ID != "" {
		on = set.Plate.Name + ", " + on
	}
	fmt.Fprintf(w, "%d %s on %s, %s\n", r.Number, r.Title, on, v.Process)
	s := sheet{w}
	s.row("plates", "%s", v.Summary)
	if v.Why != "" && v.AtLeast != 1 {
		s.row("why", "%s", v.Why)
	}
	s.row("spacing", "%s mm between pieces", words.Plain(v.Spacing))
	wide := 0 // of names, so that all plates have the same columns
	for _, p := range set.Pieces {
		wide = max(wide, utf8.RuneCountInString(p.Name()))
	}
	for k, plate := range set.Layout.Plates {
		times := make([]int, len(set.Pieces))
		for _, at := range plate {
			times[at.Piece]++
		}
		var rows [][]string
		for i, n := range times {
			if n > 0 {
				p := set.Pieces[i]
				rows = append(rows, []string{fmt.Sprintf("%2d", p.Number), fmt.Sprintf("%d ×", n), fmt.Sprintf("%-*s", min(wide, 30), p.Name()), stands(p)})
			}
		}
		s.columns("plate "+strconv.Itoa(k+1), "rrll", rows)
	}
	for _, u := range v.Unplaced {
		s.row("not laid", "%d %s: %s", u.Number, u.Name, u.Reason)
	}
	for _, m := range v.Missing {
		s.row("missing", "%s", m)
	}
	for _, sp := range set.Splits {
		why := sp.Fit.Reason
		if why == "" {
			why = "It has no mesh that can be read."
		}
		if set.Short(sp) {
			why += " Nor do all of its pieces fit."
		}
		s.row("in pieces", "%d %s. %s", sp.Whole.Number, sp.Whole.Name, why)
	}
	for _, c := range set.Choices {
		if len(c.Others) == 0 {
			continue
		}
		var others []string
		for _, p := range c.Others {
			others = append(others, p.Name+" (--choice "+p.Slug+")")
		}
		s.row("choice", "%s is laid; instead of it one may choose %s", c.Taken.Name, strings.Join(others, ", "))
	}
	for _, file := range []func(plateFiles) string{
		func(f plateFiles) string { return f.SVG }, func(f plateFiles) string { return f.ThreeMF },
	} {
		if n := len(v.Plates); n > 0 && file(v.Plates[0].plateFiles) != "" {
			text := file(v.Plates[0].plateFiles)
			if n > 1 {
				text += " to " + filepath.Base(file(v.Plates[n-1].plateFiles))
			}
			s.row("written", "%s", text)
		}
	}
}

// stands tells how a piece stands on the plate.
func stands(p plates.Piece) string {
	switch {
	case p.Kept:
		return p.Pose.String()
	case p.Fit.Verdict == fit.Tipped:
		return "tipped: it does not fit " + p.Pose.String()
	default:
		return "as supplied: it does not fit " + p.Pose.String()
	}
}
