package pack

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"strconv"
	"time"

	"cardback/internal/bench"
	"cardback/internal/release"
)

// Kind says what a download is.
type Kind string

const (
	KindArchive Kind = "archive" // everything for one process, zipped
	KindPart    Kind = "part"    // one mesh
)

// File is a file to put into an archive; Name may contain folders.
type File struct {
	Name string
	Data []byte
}

// Download is one file to publish.
type Download struct {
	Name     string // file name, ASCII, without spaces
	Title    string // for people
	URL      string // path relative to the site's root; see [Address]
	SHA256   string // 64 hexadecimal digits
	Size     int64  // bytes
	Kind     Kind
	Process  *bench.Process  // an archive's; a part's where its cut is for one process
	Part     string          // a part's slug
	Cut      release.CutKind // a part's cut
	Mirrored bool            // the mirrored twin of the cut
	Meshes   int             // an archive's mesh files
	Lacks    []string        // what a complete print needs and an archive or a plate's set does not have
	Data     []byte
}

// Address is where a file of that name and SHA-256 is published: under the
// first sixteen digits of the hash, so that the address changes with the bytes.
func Address(sha256Hex, name string) string { return "downloads/" + sha256Hex[:16] + "/" + name }

// seal fills in what follows from name and bytes.
func (d Download) seal() Download {
	d.SHA256 = sumOf(d.Data)
	d.Size = int64(len(d.Data))
	d.URL = Address(d.SHA256, d.Name)
	return d
}

func sumOf(data []byte) string {
	h := sha256.Sum256(data)
	return hex.EncodeToString(h[:])
}

// A zip states times in steps of 2 s from 1980 on, to 2107.
var (
	zipFirst = time.Unix(315532800, 0).UTC()
	zipLast  = time.Date(2107, 12, 31, 23, 59, 58, 0, time.UTC)
)

// modTime is the time given to the files of a release's archives: that of
// SOURCE_DATE_EPOCH (version 1.1 of its specification: whole seconds since
// 1970) where it is set, else the release's date, within what a zip can state.
func modTime(r *release.Release) (time.Time, error) {
	t := r.Released
	if s, ok := os.LookupEnv("SOURCE_DATE_EPOCH"); ok && s != "" {
		n, err := strconv.ParseInt(s, 10, 64)
		if err != nil || n < 0 {
			return t, fmt.Errorf("SOURCE_DATE_EPOCH is %q; expected whole seconds since 1970-01-01 UTC", s)
		}
		t = time.Unix(n, 0)
	}
	t = t.UTC().Truncate(2 * time.Second)
	switch {
	case t.Before(zipFirst):
		t = zipFirst
	case t.After(zipLast):
		t = zipLast
	}
	return t, nil
}

// ErrNothing is returned where a release has no mesh for a process.
var ErrNothing = errors.New("no mesh for this process")
