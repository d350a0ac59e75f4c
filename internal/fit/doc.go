// Package fit answers whether a part fits on a printer's plate, and how: as
// supplied, turned about the vertical, tipped into some other orientation, or
// not at all. Its central type is Result; Fit makes one.
//
// Only the convex hull matters for fitting into a convex build volume, so the
// part comes as a point set. The answers, in the order in which they are
// preferred:
//
//   - As supplied: extents against the plate less its margins. On a round
//     plate, the least circle around the footprint.
//   - Turned: decided exactly. Between the directions of consecutive edges of
//     the footprint's convex hull the extents are single sinusoids, and the
//     turn with the most room is found in closed form.
//   - Tipped: found by branch and bound over the part's direction that points
//     up, with the turn inside decided exactly. A positive answer is a
//     rotation matrix that has been applied to every point given, and the
//     extents measured.
//   - Cannot fit: the same search, run until no direction is left in which the
//     part could have Tolerance to spare. It is a proof up to the rounding of
//     float64, which is allowed for (see slop).
//   - Undecided: the search reached pointBudget first. The budget counts work,
//     not time, so that an answer never depends on the machine.
//
// FitDeclared does the same for a part with a recommended orientation, which it
// tries first, and says whether the fit keeps it. LargestScale closes in the
// greatest scale at which the part fits in any orientation to 0.1 %, by the same
// branch and bound.
//
// Processor time on one core of a 2026 server, for an ellipsoid whose every
// point is on its hull (see the benchmarks): turned, 0.1, 0.5 and 5 ms for 100,
// 1000 and 10 000 points; tipped with 0.2 mm to spare, 6, 14 and 29 ms; proved
// 1 mm too large, 15, 8 and 11 ms. The hardest shapes known are those nearly
// round about an axis or a centre that miss a plate by a few tenths of a mm in
// two directions at once: a torus, or a faceted ball in a square channel, can
// use up the budget, in about 0.4 s, and stay undecided.
//
// Package frontier answers for all plates at once, and package gauge for the
// small-parts cylinder, in which all three angles of an orientation count. The three
// share packages footprint and posture, where the bounds of the searches are derived.
//
// The package does not place several parts, and it knows nothing of supports.
//
// Methods: rotating calipers on a convex polygon (M. I. Shamos, 1978, from
// memory); the least enclosing circle by the incremental method of E. Welzl
// (1991, from memory); best-first branch and bound with bounds derived
// beside the code.
package fit
