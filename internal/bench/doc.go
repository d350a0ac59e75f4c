// Package bench reads the designer's reference tables: the ways of printing, the
// plates that figures are fitted to, the materials they are printed in and the
// hardware that is bought for them.
//
// The central type is [Bench]; [Load] reads it from the bench folder of the
// content and checks it: ids are unique and plain, sizes are positive, a plate
// is either round or rectangular, a process has at most one design standard,
// densities and feature limits are such as materials have. Entries with an
// error are left out of the result; the rest stays usable.
//
// A way of printing is a row too ([Process]): whoever wants to know what one does asks
// its row and never which it is.
//
// A table that the designer has not written is the shipped one ([Shipped]), and
// one that says "defaults: true" stands on it. All other values are the designer's
// own; a material's Source says where they come from.
package bench
