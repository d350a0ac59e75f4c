package cli

import "runtime/debug"

// spareMemory lets the collector come when a fifth has been added to what is
// in use, where it usually waits for the double, and returns what undoes that.
// Meshes are a few large blocks without pointers, which it need not look through,
// so its coming more often costs little where meshes are all there is: on 5
// million triangles nothing that can be told from chance, for two fifths less
// memory. Building a site would take half as long again, and does not do it.
func spareMemory() (restore func()) {
	usual := debug.SetGCPercent(20)
	return func() { debug.SetGCPercent(usual) }
}
