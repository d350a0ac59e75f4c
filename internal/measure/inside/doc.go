// Package inside decides what of space is solid: every point that the shells of a
// mesh, taken together, go round at least once. Its central type is Solid; a Ruler
// made from it is laid through the solid along lines.
//
// The winding number of a point is how many shells lie round it, those that are
// wound inwards counting −1. A point is in the solid where it is 1 or more. So
// bodies that overlap, coincide or lie within each other are one solid, as a
// printer makes of them; a shell wound inwards within another is a hollow of it; and
// a shell that is inside out and alone is nothing.
//
// Guarantees:
//
//   - On a mesh whose every edge is run along as often one way as the other (all
//     closed and consistently wound ones, touching, crossing or coincident or not)
//     the winding numbers along a line are exact, whatever the line: through edges,
//     through corners, within faces. See Ruler.mark.
//   - Where along the line a surface is crossed is exact to the rounding of
//     coordinates, and where the line runs within a face, to that face.
//   - Gaps of at most Gap along the line are closed.
//   - Any other mesh gives what can be said: a line on whose two ends the counts
//     differ came through an opening, and is told as not whole.
//
// The method is the count of signed crossings of a line with the triangles found by
// package tree, decided in the plane at right angles to the line by the half-open
// rule for edges of polygons, in exact arithmetic. It is tested against solid angles.
package inside
