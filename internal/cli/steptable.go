package cli

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"cardback/internal/measure/change"
	"cardback/internal/release"
	"cardback/internal/survey/history"
	"cardback/internal/verdict/reprint"
	"cardback/internal/words"
)

// stepAnswer is how a release changed between two states, as other programs read
// it. Lists are never null. A motion takes a point p of the old mesh to scale ·
// rotation · p + shift; it is null where there is none.
type stepAnswer struct {
	Release  int                  `json:"release"`
	Name     string               `json:"name"`
	From     string               `json:"from"`
	To       string               `json:"to"` // empty for the working files
	Same     bool                 `json:"same"`
	Parts    []partStepAnswer     `json:"parts"`
	Hardware []hardwareStepAnswer `json:"hardware"`
	Reprint  []reprintAnswer      `json:"reprint"`
	Summary  string               `json:"summary"`
}

type partStepAnswer struct {
	Part    string          `json:"part"`
	WasPart string          `json:"was_part,omitempty"` // where it had another folder
	Name    string          `json:"name"`
	Was     int             `json:"pieces_was"`
	Is      int             `json:"pieces_is"`
	Cuts    []cutStepAnswer `json:"cuts"`
}

type cutStepAnswer struct {
	Was            release.CutKind  `json:"was,omitempty"`
	Is             release.CutKind  `json:"is,omitempty"`
	Kind           change.Kind      `json:"kind"`
	FingerprintWas string           `json:"fingerprint_was,omitempty"`
	FingerprintIs  string           `json:"fingerprint_is,omitempty"`
	Change         *change.Contract `json:"change"` // null where nothing was compared
	Why            string           `json:"not_compared,omitempty"`
}

type hardwareStepAnswer struct {
	Item   string                 `json:"item"`
	Action reprint.HardwareAction `json:"action"`
	Text   string                 `json:"text"`
}

type reprintAnswer struct {
	Part    string         `json:"part"`
	Process string         `json:"process"`
	Only    string         `json:"only,omitempty"` // rigid or flexible, where the cuts differ
	Action  reprint.Action `json:"action"`
	Pieces  int            `json:"pieces"`
	Text    string         `json:"text"`
}

func newStepAnswer(r *release.Release, s history.Step) stepAnswer {
	advice := reprint.Advise(s)
	a := stepAnswer{
		Release: r.Number, Name: r.Slug, From: s.From, To: s.To, Same: s.Same(), Summary: advice.Summary,
		Parts: []partStepAnswer{}, Hardware: []hardwareStepAnswer{}, Reprint: []reprintAnswer{},
	}
	for _, p := range s.Parts {
		q := partStepAnswer{Part: p.Slug(), Name: p.Name(), Cuts: []cutStepAnswer{}}
		if p.Was != nil {
			q.Was = p.Was.Printed()
			if p.Was.Slug != p.Slug() {
				q.WasPart = p.Was.Slug
			}
		}
		if p.Is != nil {
			q.Is = p.Is.Printed()
		}
		for _, c := range p.Cuts {
			q.Cuts = append(q.Cuts, newCutStepAnswer(c))
		}
		a.Parts = append(a.Parts, q)
	}
	for _, h := range advice.Hardware {
		item := h.Is.Item
		if item == "" {
			item = h.Was.Item
		}
		a.Hardware = append(a.Hardware, hardwareStepAnswer{item, h.Action, h.Sentence})
	}
	for _, p := range advice.Parts {
		a.Reprint = append(a.Reprint, reprintAnswer{p.Part, p.Process.ID, string(p.Only), p.Action, p.Pieces, p.Sentence})
	}
	return a
}

func newCutStepAnswer(c history.CutStep) cutStepAnswer {
	a := cutStepAnswer{Kind: c.Kind, Why: c.Why}
	if c.Was != nil {
		a.Was, a.FingerprintWas = c.Was.Kind, c.Was.Fingerprint
	}
	if c.Is != nil {
		a.Is, a.FingerprintIs = c.Is.Kind, c.Is.Fingerprint
	}
	if c.Change != nil {
		contract := change.NewContract(c.Change)
		a.Change = &contract
	}
	return a
}

// stepTable prints a row for each cut: the part, what became of it, and how much; and a row
// for each item of hardware that the advice speaks of.
// Without all, what is the same is counted at the end.
func stepTable(w io.Writer, s history.Step, advice reprint.Advice, all bool) {
	var rows [][3]string
	same := 0
	for _, p := range s.Parts {
		name := p.Slug()
		if p.Was != nil && p.Was.Slug != name {
			rows = append(rows, [3]string{name, "renamed", "it was " + p.Was.Slug})
		}
		for _, c := range p.Cuts {
			row := [3]string{name + " " + cutWords(c), string(c.Kind), howMuch(c)}
			if c.Kind == change.Unchanged {
				same++
				if !all {
					continue
				}
			}
			rows = append(rows, row)
		}
		if p.Was != nil && p.Is != nil && (p.Was.Printed() != p.Is.Printed() || p.Was.MirroredTwin != p.Is.MirroredTwin) {
			rows = append(rows, [3]string{name, "quantity", quantity(*p.Was) + ", now " + quantity(*p.Is)})
		}
		if p.Was != nil && p.Is != nil && p.Same() != p.SameMeshes() {
			if what := reworded(*p.Was, *p.Is); what != "" {
				rows = append(rows, [3]string{name, "notes", what})
			}
		}
	}
	for _, h := range advice.Hardware {
		item := h.Is.Item
		if item == "" {
			item = h.Was.Item
		}
		rows = append(rows, [3]string{item, "hardware", h.Sentence})
	}
	var width [2]int
	for _, r := range rows {
		for k := range width {
			width[k] = max(width[k], utf8.RuneCountInString(r[k]))
		}
	}
	for _, r := range rows {
		lead := "  " + padded(r[0], width[0]) + "  " + padded(r[1], width[1]) + "  "
		for _, line := range wrap(together.Replace(r[2]), max(sheetWidth-utf8.RuneCountInString(lead), 30)) {
			fmt.Fprintln(w, strings.TrimRight(strings.ReplaceAll(lead+line, hard, " "), " "))
			lead = strings.Repeat(" ", utf8.RuneCountInString(lead))
		}
	}
	if !all && same > 0 {
		fmt.Fprintf(w, "  %s unchanged\n", words.Count(same, "cut", "cuts"))
	}
}

func padded(s string, width int) string {
	return s + strings.Repeat(" ", width-utf8.RuneCountInString(s))
}

// cutWords names the cut, and what it was where that is another one.
func cutWords(c history.CutStep) string {
	switch {
	case c.Is == nil:
		return string(c.Was.Kind) + usesWords(c)
	case c.Was == nil:
		return string(c.Is.Kind) + usesWords(c)
	case c.Was.Kind != c.Is.Kind:
		return fmt.Sprintf("%s (was %s)", c.Is.Kind, c.Was.Kind)
	}
	return string(c.Is.Kind)
}

// usesWords says for which process a cut came or went, where it is one for all.
func usesWords(c history.CutStep) string {
	cut := c.Is
	if cut == nil {
		cut = c.Was
	}
	if cut.Kind != release.CutAny || len(c.Uses) == 0 {
		return ""
	}
	for _, u := range c.Uses {
		if u.Process != c.Uses[0].Process {
			return ""
		}
	}
	return " for " + c.Uses[0].Process.String()
}

func quantity(p release.SealedPart) string {
	if p.MirroredTwin {
		return fmt.Sprintf("%d and %d mirrored", p.Quantity, p.Quantity)
	}
	return fmt.Sprint(p.Quantity)
}

// reworded says what else about a part is another, beside its meshes, folder and
// quantity.
func reworded(was, is release.SealedPart) string {
	var out []string
	for _, f := range []struct{ what, was, is string }{
		{"name", was.Name, is.Name}, {"only", was.Only.String(), is.Only.String()}, {"choice", was.Choice, is.Choice}, {"replaces", was.Replaces, is.Replaces},
	} {
		if f.was != f.is {
			out = append(out, fmt.Sprintf("%s %q, now %q", f.what, f.was, f.is))
		}
	}
	return strings.Join(out, "; ")
}

// howMuch says what the numbers of a step are; its kind stands before it.
func howMuch(c history.CutStep) string {
	if c.Change == nil {
		return c.Why
	}
	_, text, _ := strings.Cut(c.Change.Sentence(), ": ")
	return strings.TrimSuffix(text, ".")
}
