package release

import (
	"fmt"
	"strings"
)

// Adapting says whether an adaptation of a work may be under a licence.
type Adapting string

const (
	MayAdapt    Adapting = "allowed"
	BetterNot   Adapting = "allowed but discouraged"
	MayNotAdapt Adapting = "not allowed"
	// NoChart is for licences that Creative Commons' chart does not cover: a
	// person has to read both.
	NoChart Adapting = "not covered"
)

// Adaptation is the answer for one work that a release adapts.
type Adaptation struct {
	Adapting Adapting
	Why      string // one plain sentence
}

// The columns of the chart, and its rows: the kinds of Creative Commons licence.
const (
	by = iota
	byNC
	byNCND
	byNCSA
	byND
	bySA
	publicDomain
)

// chart is the adapter's licence chart that Creative Commons publishes in its
// questions and answers ("If I derive or adapt material offered under a Creative Commons license,
// which CC license(s) can I use?", https://creativecommons.org/faq/; read in its
// source, github.com/creativecommons/faq, faq-en.html at 0aff3141). A row is the
// licence of the original, a column that of the adaptation, in the order of the
// constants above: G is its green (allowed), y its yellow (allowed by the terms but not
// recommended), - its dark grey (not allowed).
var chart = [...]string{
	by:           "GGGGGGy",
	byNC:         "yGGGyyy",
	byNCND:       "-------",
	byNCSA:       "---G---",
	byND:         "-------",
	bySA:         "-----G-",
	publicDomain: "GGGGGGG",
}

// ccKind splits the id of a licence that the chart covers into its kind and its
// version; what is in the public domain has none.
func ccKind(id string) (kind int, version string, ok bool) {
	if id == "CC0-1.0" || id == "Unlicense" {
		return publicDomain, "", true
	}
	rest, isCC := strings.CutPrefix(id, "CC-")
	i := strings.LastIndexByte(rest, '-')
	if !isCC || i < 0 {
		return 0, "", false
	}
	kind, ok = map[string]int{"BY": by, "BY-NC": byNC, "BY-NC-ND": byNCND, "BY-NC-SA": byNCSA, "BY-ND": byND, "BY-SA": bySA}[rest[:i]]
	return kind, rest[i+1:], ok
}

// MayCarry says whether a release under the licence own may be an adaptation of
// a work under the licence original; both are SPDX ids.
//
// The chart decides between kinds. A ShareAlike licence asks for itself besides: the
// same version or, from 2.0 on, a later one of the same kind; version 1.0 has no such
// clause, so it is itself alone (the same answer of Creative Commons). The Unlicense gives a
// work to the public domain, and is read as such. For all else nothing is said
// but that a person has to read both licences.
func MayCarry(original, own string) Adaptation {
	from, was, known := ccKind(original)
	to, is, ours := ccKind(own)
	if !known || !ours {
		other := original
		if known {
			other = own
		}
		return Adaptation{NoChart, fmt.Sprintf("Creative Commons' chart does not cover %s: read both licences and decide yourself.", other)}
	}
	switch chart[from][to] {
	case 'G':
		if (from == bySA || from == byNCSA) && (is < was || was == "1.0" && is != was) {
			return Adaptation{MayNotAdapt, fmt.Sprintf("%s asks that adaptations carry the same licence: %s.", original, sameOrLater(original, was))}
		}
		if from == publicDomain {
			return Adaptation{MayAdapt, "The work is in the public domain: an adaptation may be under any licence."}
		}
		if from == bySA || from == byNCSA {
			return Adaptation{MayAdapt, fmt.Sprintf("%s asks that adaptations carry the same licence, or a later version of it, and %s is that.", original, own)}
		}
		return Adaptation{MayAdapt, fmt.Sprintf("An adaptation of a work under %s may be under %s; the work itself stays under its own licence.", original, own)}
	case 'y':
		return Adaptation{BetterNot, fmt.Sprintf("%s permits it, but Creative Commons advises against %s for an adaptation: the work's own terms still bind everyone, and %s. Mark plainly what stands under which, or choose a licence with the work's terms.", original, own, lacking(from))}
	}
	if from == byND || from == byNCND {
		why := "adaptations of the work may not be shared"
		if was < "4.0" {
			why = "adaptations of the work may not be made or shared"
		}
		return Adaptation{MayNotAdapt, fmt.Sprintf("%s is a NoDerivatives licence: %s, under any licence, without its author's permission.", original, why)}
	}
	return Adaptation{MayNotAdapt, fmt.Sprintf("%s asks that adaptations carry the same licence: %s.", original, sameOrLater(original, was))}
}

func sameOrLater(id, version string) string {
	switch version {
	case "4.0":
		return "put the release under " + id
	case "1.0":
		return "put the release under " + id + ", or ask the work's author"
	default:
		return "put the release under " + id + " or a later version of it"
	}
}

// lacking names the term of the work that a discouraged licence leaves out.
func lacking(from int) string {
	if from == byNC {
		return "the release's licence does not say that the work is for non-commercial use"
	}
	return "the release's licence does not say that its author must be named"
}
