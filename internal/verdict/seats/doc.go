// Package seats says which hole of a part each bought item is for, and what is amiss there.
//
// A rod is tied to as many lines of holes as the part takes of it, first to those that suit
// it. From there come the findings about holes that are too small, too wide, too shallow or
// not there; the lengths that rods may have between the parts that they join; and which rod
// takes the place of another where a release is printed larger or smaller. Holes are those
// that package measure/bore found.
//
// Everything here is a pure function of its arguments.
package seats
