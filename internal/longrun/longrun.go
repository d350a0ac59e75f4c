// Package longrun tells which tests a newcomer waits for. "go test ./..." runs every test that
// takes a few seconds; what takes minutes, or looks at every one of many meshes, is
// looked at in part there, and whole with
//
//	CARDBACK_TESTS=long go test -timeout 30m ./...
//
// which the full check runs. It is for tests alone.
package longrun

import (
	"os"
	"testing"
)

// Asked reports whether the long run is asked for.
func Asked() bool { return os.Getenv("CARDBACK_TESTS") == "long" }

// Only skips the test but in the long run; what it takes is told to whoever reads the
// skip.
func Only(t testing.TB, takes string) {
	t.Helper()
	if !Asked() {
		t.Skipf("%s: CARDBACK_TESTS=long runs it", takes)
	}
}

// Of is how many, or how large: all in the long run, else some.
func Of(some, all int) int {
	if Asked() {
		return all
	}
	return some
}
