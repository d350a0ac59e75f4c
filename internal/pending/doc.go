// Package pending makes files and folders beside their place and puts them there in
// one step: a reader sees the old or the new, never part of either.
//
// What is being made has a hidden name of its own, ".pending-NAME-NUMBER", NAME being
// that of the place, and is locked by the run that makes it. The system takes the
// lock away when that run ends, however it ends; so whoever makes the same thing next
// knows what a killed run left, and clears it: a file of that name whose lock is free; a
// folder only where it also holds the mark of this package, or nothing at all.
// What belongs to another place, to a live run, or to somebody else, stays.
//
// Locks are those of flock(2). Where the system has none, nothing is ever cleared.
package pending
