package verdict

import (
	"slices"
	"strings"
	"unicode"

	"cardback/internal/notes"
	"cardback/internal/release"
	"cardback/internal/survey"
)

// A caution belongs to a step that speaks of the work it is about, told by whole
// words: for each caution one word out of every list. The rule is a modest one. It knows these
// words in English; a step in other words gets no caution of its own, and one that only
// mentions a rod that was cut before gets one too many. All of a release's cautions
// stand together in any case.
var stepWords = map[CautionCode][][]string{
	ResinCaution:   {{"resin"}, {"clean", "cleaning", "wash", "washed", "washing", "rinse", "rinsed", "cure", "cured", "curing", "uncured"}},
	SolventCaution: {{"clean", "cleaning", "wash", "washed", "washing", "solvent", "alcohol"}, {"resin", "solvent", "alcohol"}},
	CuttingCaution: {
		{"rod", "rods", "wire", "wires", "dowel", "dowels"},
		{"cut", "cuts", "cutting", "saw", "clip", "snip", "score", "trim"},
	},
	AdhesiveCaution: {{"adhesive", "adhesives", "glue", "glued", "gluing", "cyanoacrylate", "epoxy"}},
	MagnetCaution:   {{"magnet", "magnets"}},
	SandingCaution:  {{"sand", "sanded", "sanding", "trim", "trimmed", "trimming"}},
	PaintCaution:    {{"spray", "sprayed", "airbrush", "varnish", "lacquer", "thinner"}},
}

// stepsFor lists the numbers of the steps that a caution belongs to.
func stepsFor(code CautionCode, steps []*notes.Step, sharp []string) []int {
	var out []int
	for _, st := range steps {
		if belongs(code, wordsIn(st.Words), sharp) && !slices.Contains(out, st.Number) {
			out = append(out, st.Number)
		}
	}
	return out
}

// belongs reports whether a caution belongs to a step of these words. The one about thin
// points belongs to the steps that name such a part.
func belongs(code CautionCode, step said, sharp []string) bool {
	if code == SharpCaution {
		return slices.ContainsFunc(sharp, step.phrase)
	}
	lists, known := stepWords[code]
	return known && !slices.ContainsFunc(lists, func(list []string) bool { return !step.any(list...) })
}

// StepCautions is a step of the assembly with those of a release's cautions that belong to
// it and have a brief form.
type StepCautions struct {
	*notes.Step
	Cautions []Caution
}

// AtSteps sorts a release's cautions by the steps of its assembly, in the order of the
// notes. Steps of one number in two lists are told apart.
func AtSteps(r release.Release, s survey.Survey, cautions []Caution) []StepCautions {
	sharp := sharpParts(r, s)
	var out []StepCautions
	for _, st := range r.Notes.Steps() {
		at := StepCautions{Step: st}
		words := wordsIn(st.Words)
		for _, c := range cautions {
			if c.Brief != "" && belongs(c.Code, words, sharp) {
				at.Cautions = append(at.Cautions, c)
			}
		}
		out = append(out, at)
	}
	return out
}

// said is a text as lower-case words with single spaces between and around them.
type said string

func wordsIn(text string) said {
	w := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	return said(" " + strings.Join(w, " ") + " ")
}

func (s said) any(list ...string) bool { return slices.ContainsFunc(list, s.phrase) }

// phrase reports whether the words of a phrase stand in the text in a row.
func (s said) phrase(p string) bool {
	w := wordsIn(p)
	return len(w) > 2 && strings.Contains(string(s), string(w))
}
