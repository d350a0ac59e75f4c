// Package solid is a small kit for modelling printable parts in code.
//
// Its one type is the shared mesh.Mesh: closed, outward, in millimetres. Shapes
// are made exactly (Lathe, Loft, Extrude, Tube, Ball) and combined by Union,
// Subtract and Intersect, so that edges stay crisp and files stay small.
//
// Combining cuts each triangle along its intersections with the other solid.
// An intersection point is named by the edge and the face that make it, and is
// computed once; the pieces of neighbouring triangles therefore share points
// by name, and the result is closed by construction, not by welding within a
// distance. The method needs operands in general position (no vertex of one
// on a face of the other). Flush faces are common in hand-made models, so the
// second operand is first moved by a fixed, tiny, irregular motion: at most
// jiggleMM plus jiggleRad times its distance from the origin, about a
// micrometre, a hundred times less than a printer resolves.
//
// Everything is deterministic: no clocks, no random numbers, no map order. Tidy
// rounds the result to a grid of one micrometre, which is also what keeps the
// last bits of a processor's arithmetic out of the files.
package solid
