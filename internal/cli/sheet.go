package cli

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

const (
	sheetWidth  = 80 // columns of a plain terminal
	sheetIndent = 15 // where the text of a row begins
)

// sheet prints rows of a label and a text, wrapped to a plain terminal.
type sheet struct{ w io.Writer }

// together keeps a unit on the line of its number, by spaces that wrap passes
// over and line turns into common ones.
var together = strings.NewReplacer(" mm", hard+"mm", " ml", hard+"ml", " g/", hard+"g/", " %", hard+"%")

const hard = "\u00a0"

// row prints one label and its text; lines after the first are indented.
func (s sheet) row(label, format string, args ...any) {
	for _, line := range wrap(together.Replace(fmt.Sprintf(format, args...)), sheetWidth-sheetIndent) {
		s.line(label, line)
		label = ""
	}
}

// columns prints cells as aligned columns beside one label: to the right where
// align has an r, else to the left. The last cell of a row stands to the left,
// and is wrapped.
func (s sheet) columns(label, align string, rows [][]string) {
	width := make([]int, len(align))
	for _, row := range rows {
		for k, cell := range row {
			width[k] = max(width[k], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range rows {
		var b strings.Builder
		left := 0
		last := len(row) - 1
		for k, cell := range row[:last] {
			gap := strings.Repeat(" ", width[k]-utf8.RuneCountInString(cell))
			if align[k] == 'r' {
				b.WriteString(gap + cell + "  ")
			} else {
				b.WriteString(cell + gap + "  ")
			}
			left += width[k] + 2
		}
		const room = sheetWidth - sheetIndent
		for i, line := range wrap(row[last], max(room-left, 20)) {
			n := utf8.RuneCountInString(line)
			if left+n > room { // a long word: on a line of its own, as far in as it goes
				s.line(label, b.String())
				b.Reset()
				label = ""
			}
			if i > 0 || b.Len() == 0 {
				b.WriteString(strings.Repeat(" ", max(min(left, room-n), 0)))
			}
			b.WriteString(line)
			s.line(label, b.String())
			b.Reset()
			label = ""
		}
	}
}

func (s sheet) line(label, text string) {
	gap := max(sheetIndent-2-utf8.RuneCountInString(label), 2)
	text = strings.ReplaceAll(text, hard, " ")
	fmt.Fprintln(s.w, strings.TrimRight("  "+label+strings.Repeat(" ", gap)+text, " "))
}

// wrap breaks text between words into lines of at most the given width; a longer
// word keeps a line of its own. There is at least one line.
func wrap(text string, width int) []string {
	var lines []string
	line, used := "", 0
	for word := range strings.SplitSeq(text, " ") {
		n := utf8.RuneCountInString(word)
		switch {
		case line == "" && used == 0:
			line, used = word, n
		case used+1+n > width:
			lines = append(lines, line)
			line, used = word, n
		default:
			line += " " + word
			used += 1 + n
		}
	}
	return append(lines, line)
}

// grid prints rows as columns without labels: the first to the left, all others
// to the right.
func grid(w io.Writer, rows [][]string) {
	var width []int
	for _, row := range rows {
		for k, cell := range row {
			if k == len(width) {
				width = append(width, 0)
			}
			width[k] = max(width[k], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range rows {
		var b strings.Builder
		for k, cell := range row {
			gap := strings.Repeat(" ", width[k]-utf8.RuneCountInString(cell))
			if k == 0 {
				b.WriteString("  " + cell + gap)
			} else {
				b.WriteString("  " + gap + cell)
			}
		}
		fmt.Fprintln(w, strings.TrimRight(b.String(), " "))
	}
}
