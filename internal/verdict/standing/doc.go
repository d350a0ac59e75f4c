// Package standing says how a release, and each of its parts, stands in a material.
//
// A standing rests on rules and on prints. The rules hold measures and declarations
// against the bench; package verdict asks them, and gives their outcomes here. The prints
// are those in the log of exactly the mesh that stands in the folder today: see Decide.
// What was printed of an earlier mesh proves nothing of this one, and is told as such.
//
// Everything here is a pure function of its arguments.
package standing
