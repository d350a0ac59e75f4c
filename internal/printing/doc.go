// Package printing answers one question: what is printed of a release by a process.
//
// Its value is the Plan: each part with its number on the chart, its cuts, its copies
// and its pose, and the slots that a complete print fills, each with the ways to fill
// it: a part whole or in pieces, this part of a choice or that one. A plan follows from
// the release's data alone. Nothing is measured for it; what has been measured is asked
// for where a way is chosen (Slot.Take).
//
// Rules of this package, each in one place: which cut suits a material (Part.CutIn),
// which processes print a cut (Plans.Printing), how a process lays a part (Part.Pose),
// which parts bend (Bends), which materials a cut is meant for
// (Meant), which pieces replace a whole (Slot.Ways), and which way is taken (Slot.Take).
package printing
