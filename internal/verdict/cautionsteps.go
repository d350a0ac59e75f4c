package verdict

import (
	"slices"
	"strings"
	"unicode"

	"cardback/internal/notes"
)

// A caution belongs to a step that speaks of the work it is about, told by whole
// words: for each caution one word out of every list. The rule is a modest one. It knows these
// words in English; a step in other words gets no caution of its own, and one that only
// mentions a rod that was cut before gets one too many. All of a release's cautions
// stand together in any case.
var stepWords = map[CautionCode][][]string{
	CuttingCaution: {
		{"rod", "rods", "wire", "wires", "dowel", "dowels"},
		{"cut", "cuts", "cutting", "saw", "clip", "snip", "score", "trim"},
	},
	AdhesiveCaution: {{"adhesive", "adhesives", "glue", "glued", "gluing", "cyanoacrylate", "epoxy"}},
	MagnetCaution:   {{"magnet", "magnets"}},
	SandingCaution:  {{"sand", "sanded", "sanding", "trim", "trimmed", "trimming"}},
	PaintCaution:    {{"spray", "sprayed", "airbrush", "varnish", "lacquer", "thinner"}},
}

// Steps are the numbers of the steps where a caution matters, each once: steps of two lists
// may bear one number.
func (c Caution) Steps() []int {
	var out []int
	for _, st := range c.At {
		if !slices.Contains(out, st.Number) {
			out = append(out, st.Number)
		}
	}
	return out
}

// place says of each caution at which steps it matters.
func place(cautions []Caution, steps []*notes.Step, sharp []string) {
	for _, st := range steps {
		words := wordsIn(st.Words)
		for i, c := range cautions {
			if c.belongs(words, sharp) {
				cautions[i].At = append(cautions[i].At, st)
			}
		}
	}
}

// belongs reports whether a caution belongs to a step of these words. The one about thin
// points belongs to the steps that name such a part.
func (c Caution) belongs(step said, sharp []string) bool {
	if c.Code == SharpCaution {
		return slices.ContainsFunc(sharp, step.phrase)
	}
	lists := c.words
	if lists == nil {
		lists = stepWords[c.Code]
	}
	return len(lists) > 0 && !slices.ContainsFunc(lists, func(list []string) bool { return !step.any(list...) })
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
