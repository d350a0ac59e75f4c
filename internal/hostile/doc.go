// Package hostile is the corpus of hostile and unlucky inputs: what strangers,
// tired designers and broken disks hand to the program. It holds tests alone.
//
// A Case makes its inputs by code in a folder of its own, runs one command of the
// program there, as a process, and states the exit code and what must be said. The
// process is held to limits of time and of resident memory, and is killed at
// either. Nothing may panic, whatever the input, and no control byte may reach the
// terminal.
//
// Inputs of a case that are small enough to be looked at are kept under
// testdata/hostile as well, so that a change of them is seen; a list for each area
// has the rest with their sizes. Both are made again by
//
//	go test ./internal/hostile -update
//
// and a test holds them to what the code makes. Cases stand in cases_*_test.go, a
// file for each area; a new one is a literal in the list of such a file.
package hostile
