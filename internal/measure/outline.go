package measure

// Point is a place in a view's plane, in mm.
type Point struct{ X, Y float64 }

// Ring is a closed polygon; the last point joins the first. Outer rings run
// counter-clockwise, holes clockwise.
type Ring []Point

// Outline is the boundary of a region of the plane: outer rings and holes,
// disjoint, each simple.
type Outline []Ring

// Area is the region's area in mm²: the shoelace sum over all rings.
func (o Outline) Area() float64 {
	var sum float64
	for _, r := range o {
		for i, p := range r {
			q := r[(i+1)%len(r)]
			sum += float64(p.X*q.Y) - float64(q.X*p.Y)
		}
	}
	return sum / 2
}
