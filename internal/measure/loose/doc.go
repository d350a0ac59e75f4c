// Package loose tells into how many pieces the bodies of a mesh come apart: which of
// its shells print as one, and which lie loose beside them, as a bead in the file of
// a block does. Its central type is Pieces; Of finds them.
//
// Two shells are of one piece where they come within inside.Flush of each other: where
// they cross, touch, or lie so near that every printer joins them. A shell within the
// solid of others, a hollow or what is buried, is no piece of its own, and
// neither is what has no thickness, since it does not print. Everything else is a
// piece, whichever way round its triangles are, open or closed: who looks for parts
// that could be swallowed must not miss one for a fault of the mesh.
//
// The work is bounded. Where it is spent, or where an open mesh does not tell what is
// inside, Undecided is set, and what is not known to hang together is apart: there
// may be fewer pieces than are given, never more.
//
// The method: triangles that share a corner are joined; then all that come near each
// other, found by package tree, unless they are joined already; then the winding
// number of a point beside each group says whether it lies in the others.
package loose
