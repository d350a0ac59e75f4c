package draw

import "strings"

// notDrawn takes a fault of the program while it draws: in place of the drawing stands
// one that says so, under its title, and whatever else is being made goes on. It is
// deferred first thing by each function that gives a drawing as text.
func notDrawn(svg *string, id, title string) {
	if recover() == nil {
		return
	}
	var b strings.Builder
	const width, high = 100, 6
	open(&b, "not-drawn", id, title, width, high, false)
	b.WriteString(`<text x="0" y="4" font-size="3.6" fill="currentColor">` + noDrawing + `</text></svg>`)
	*svg = b.String()
}

// noDrawing is what stands in place of a drawing at which the program failed.
const noDrawing = "This drawing could not be made: a fault of the program."
