// Package layout lays pieces on as few plates as possible: each piece as the
// outline of its shadow seen from above, with a spacing kept between any two
// and the plate's margin kept free. Its central type is Layout; Lay makes one.
//
// What it guarantees:
//
//   - No two outlines on a plate come nearer to each other than the spacing, and
//     none reaches into the margin, by more than Tolerance. The outlines are the
//     pieces' own, not boxes, hulls or thinned copies; what is thinned inside is
//     widened by as much as it was thinned.
//   - A piece that goes on the plate alone, at any turn about the vertical, is
//     laid, once for each copy. What is unplaced comes with the reason.
//   - Layout.Bound plates are needed by any layout whatever; Layout.Why says what
//     proves it (see bound.go).
//   - The same pieces give the same layout to the last bit, on any number of
//     processors. The work is bounded, and counted as work, not time.
//
// Openings right through an outline are room like any other: a small piece may
// lie inside a ring. The height of a piece matters against the plate's height
// alone; pieces are not stacked.
//
// How: outlines at turns of 15°, at the turn with the least box and at the turn
// that fits best alone are covered by the cells of a fine grid. A piece may lie
// where its cells are free of the cells that others take together with the
// spacing around them; words of 64 cells are tested at once (sheet.go). Pieces
// are laid one after another, by several orders and rules (pack.go), and plates
// that are left poorly filled are packed again, together with others, until the
// budget is used up or Bound is reached (search.go). As a grid cannot see that
// two boxes go into a plate with nothing to spare, the pieces' least boxes are
// also packed exactly (boxes.go), and where little is to be left over by trying
// and taking back (tight.go).
//
// It does not tip pieces, knows nothing of supports, and does not promise the
// least number of plates: only that what it gives lies between Bound and one
// plate for each piece.
package layout
