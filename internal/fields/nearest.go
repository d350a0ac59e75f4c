package fields

import (
	"fmt"
	"strings"
)

// Nearest picks the known name with the least edit distance to name (letters
// compared without case; insertion, deletion, substitution and the swap of two
// neighbours cost 1 each). Names further away than a third of the longer
// word, and at least one edit, are no help, nor are those that share no letter:
// ok is false. Ties go to the earlier.
func Nearest(name string, known []string) (nearest string, ok bool) {
	if len(name) > maxWord {
		return "", false
	}
	best := 0
	for _, k := range known {
		limit := max(1, max(len(name), len(k))/3)
		d := distance(strings.ToLower(name), strings.ToLower(k))
		if d <= limit && d < max(len(name), len(k)) && (!ok || d < best) {
			nearest, best, ok = k, d, true
		}
	}
	return nearest, ok
}

// Suggest ends an error sentence: the nearest known name as a question, else
// the known names themselves.
func Suggest(name string, known []string) string {
	if k, ok := Nearest(name, known); ok {
		return fmt.Sprintf("did you mean %q?", k)
	}
	if len(known) == 0 {
		return "none are known here"
	}
	return "expected " + OneOf(known)
}

// OneOf lists names for a sentence: "a, b or c". Long lists are cut after
// twenty.
func OneOf(names []string) string {
	const most = 20
	rest := ""
	if len(names) > most {
		rest = fmt.Sprintf(", … (%d in all)", len(names))
		names = names[:most]
	}
	if len(names) < 2 || rest != "" {
		return strings.Join(names, ", ") + rest
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// maxWord bounds the quadratic distance table, in bytes; no name is longer.
const maxWord = 64

// distance is the optimal string alignment distance of two words.
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	rows := [3][]int{}
	for i := range rows {
		rows[i] = make([]int, len(y)+1)
	}
	before, last, row := rows[0], rows[1], rows[2]
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			change := last[j-1]
			if x[i-1] != y[j-1] {
				change++
			}
			row[j] = min(change, last[j]+1, row[j-1]+1)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}
