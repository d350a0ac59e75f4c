// Package memory holds the whole process under a stated ceiling, and says what gives
// way where there is not enough: this is the one place that does.
//
// In that order: meshes are worked on one after another instead of side by side
// (Rooms); the collector comes sooner than it likes (Hold); and what would not fit
// alone is refused by what reads it, from its size, before anything is set aside for
// it: mesh.MaxTriangles, photo.MaxPixels, the limits of 3MF and of notes.
package memory

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"runtime/debug"
	"strings"

	"golang.org/x/sync/semaphore"
)

// Ceiling is what the process stays under, in bytes: the largest mesh that is read
// takes up to 130 bytes a triangle while it is measured, 1.3 GB, and a build holds
// pictures and archives besides. GOMEMLIMIT, where it is set, takes its place.
const Ceiling = 2_500_000_000

// Hold has the collector work as hard as it must to stay under the ceiling.
func Hold() {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(Ceiling)
	}
}

// Rooms lets work that says what it needs go on side by side as far as there is
// memory for it.
type Rooms struct {
	size int64
	free *semaphore.Weighted
}

// share is the part of the limit that Rooms divides; the rest is for the program, and
// for what is held of a site.
const share = 0.8

// NewRooms divides what the process may take: the limit that is set, or Ceiling.
func NewRooms() *Rooms {
	limit := debug.SetMemoryLimit(-1)
	if limit == math.MaxInt64 {
		limit = Ceiling
	}
	return RoomsOf(int64(share * float64(limit)))
}

// RoomsOf divides that many bytes.
func RoomsOf(bytes int64) *Rooms {
	size := max(bytes, 1)
	return &Rooms{size, semaphore.NewWeighted(size)}
}

// Take waits until there is room for so many bytes beside what others have taken,
// and gives what has to be called when they are needed no longer. Whoever needs more
// than there is at all goes alone. The error is the context's.
func (r *Rooms) Take(ctx context.Context, bytes int64) (leave func(), err error) {
	n := min(max(bytes, 1), r.size)
	if err := r.free.Acquire(ctx, n); err != nil {
		return nil, err
	}
	return func() { r.free.Release(n) }, nil
}

// OfMesh is about what measuring the mesh in a file takes, by the file's name and
// size. A binary STL has 50 bytes a triangle for 130; text has more, for the same;
// a 3MF is packed, ten to one or less, and its markup has some 45 bytes a triangle.
func OfMesh(name string, size int64) int64 {
	if strings.EqualFold(filepath.Ext(name), ".3mf") {
		return 30 * size
	}
	return 13 * (size / 5)
}
