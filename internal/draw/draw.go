package draw

import "cardback/internal/measure"

// Drawing is one view of one part in mm: the shadow's outline, and the lines
// inside it. Coordinates are the view's own (measure.View.Project), moved so
// that the outline's bounds begin at (0, 0); Y is up.
type Drawing struct {
	View          measure.View
	Width, Height float64
	Outline       measure.Outline   // simplified to within Tolerance
	Creases       [][]measure.Point // visible sharp edges
	Depths        [][]measure.Point // visible edges where one surface passes before another
	Tolerance     float64           // mm; greatest distance of a simplified line from the exact one
}
