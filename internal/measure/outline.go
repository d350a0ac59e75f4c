package measure

// Point is a place in a view's plane, in mm.
type Point struct{ X, Y float64 }

// Ring is a closed polygon; the last point joins the first. Outer rings run
// counter-clockwise, holes clockwise.
type Ring []Point

// Outline is the boundary of a region of the plane: outer rings and holes,
// disjoint, each simple.
type Outline []Ring

// Area is the region's area in mm²: the shoelace sum over all rings, each about
// its first point, so that the distance from the origin costs no digits.
func (o Outline) Area() float64 {
	var sum float64
	for _, r := range o {
		for i := 2; i < len(r); i++ {
			ax, ay, bx, by := r[i-1].X-r[0].X, r[i-1].Y-r[0].Y, r[i].X-r[0].X, r[i].Y-r[0].Y
			sum += float64(ax*by) - float64(bx*ay)
		}
	}
	return sum / 2
}
