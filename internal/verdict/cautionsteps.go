package verdict

import (
	"slices"
	"strings"
	"unicode"

	"cardback/internal/release"
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

// stepsFor lists the numbers of the steps that a caution belongs to. The one about thin
// points belongs to the steps that name such a part.
func stepsFor(code CautionCode, steps []release.Step, sharp []string) []int {
	lists, known := stepWords[code]
	var out []int
	for _, st := range steps {
		in := wordsIn(st.Text)
		at := known && !slices.ContainsFunc(lists, func(list []string) bool { return !in.any(list...) })
		if code == SharpCaution {
			at = slices.ContainsFunc(sharp, in.phrase)
		}
		if at && !slices.Contains(out, st.Number) {
			out = append(out, st.Number)
		}
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
