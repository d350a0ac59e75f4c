package verdict

import (
	"slices"
	"strconv"
	"strings"
	"unicode"

	"cardback/internal/notes"
	"cardback/internal/words"
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
		spoken := wordsIn(st.Words)
		for i, c := range cautions {
			if c.belongs(spoken, sharp) {
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

// atSteps are the cautions that a page puts at the steps of the notes. A caution is said
// in words at the first step of a section that it belongs to; at later ones it is named,
// with that step's number.
func atSteps(doc *notes.Document, cautions []Caution) map[*notes.Step]*notes.Caution {
	of := map[*notes.Step][]Caution{}
	for _, c := range cautions {
		if c.Brief == "" {
			continue
		}
		for _, step := range c.At {
			of[step] = append(of[step], c)
		}
	}
	out := map[*notes.Step]*notes.Caution{}
	for _, s := range doc.Sections() {
		spelt := map[CautionCode]int{}
		for _, step := range s.Steps {
			if text := inBrief(step.Number, of[step], spelt); text != "" {
				out[step] = &notes.Caution{Words: text}
			}
		}
	}
	return out
}

// inBrief is the cautions of step number in words, empty where it has none; spelt holds
// at which step of the section each was spelt out.
func inBrief(number int, cautions []Caution, spelt map[CautionCode]int) string {
	var full []string
	var at []int
	named := map[int][]string{}
	for _, c := range cautions {
		n, before := spelt[c.Code]
		if !before {
			spelt[c.Code] = number
			full = append(full, c.Brief)
			continue
		}
		if named[n] == nil {
			at = append(at, n)
		}
		named[n] = append(named[n], words.Inside(c.About))
	}
	for _, n := range at {
		full = append(full, words.Capital(words.List(named[n]))+": as at step "+strconv.Itoa(n)+".")
	}
	return strings.Join(full, " ")
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
