package pack

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/klauspost/compress/zip"

	"cardback/internal/deflate"
)

// entryName is what the names inside an archive look like: ASCII letters,
// digits, dot, hyphen and underscore, in folders that never begin with a dot.
var entryName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]*(?:/[A-Za-z0-9][A-Za-z0-9._-]*)*$`)

// flagUTF8 is general purpose bit 11 of APPNOTE 4.4.4: the name is UTF-8.
const flagUTF8 = 1 << 11

// member is a file in an archive.
type member struct {
	name string
	deflate.Packed
}

// membersOf packs files.
func membersOf(files []File) ([]member, error) {
	var out []member
	for _, f := range files {
		p, err := deflate.OfBytes(f.Data)
		if err != nil {
			return nil, fmt.Errorf("compress %s: %w", f.Name, err)
		}
		out = append(out, member{f.Name, p})
	}
	return out, nil
}

// zipped writes files into one zip inside the folder named top, sorted by
// name. Sizes and checksums stand in the local headers, so that the archive can
// be unpacked from a stream.
func zipped(ctx context.Context, top string, files []member, at time.Time) ([]byte, error) {
	files = slices.Clone(files)
	slices.SortFunc(files, func(a, b member) int { return cmp.Compare(a.name, b.name) })
	if err := checkNames(top, files); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range files {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		method := zip.Deflate
		if f.Stored {
			method = zip.Store
		}
		h := &zip.FileHeader{
			Name: top + "/" + f.name, Method: method, Flags: flagUTF8,
			CRC32:              f.CRC32,
			CompressedSize64:   uint64(len(f.Bytes)),
			UncompressedSize64: uint64(f.Size),
		}
		//lint:ignore SA1019 CreateRaw writes these fields as they are and derives none from Modified.
		h.ModifiedDate, h.ModifiedTime = dosTime(at)
		h.SetMode(0o644)
		in, err := w.CreateRaw(h)
		if err != nil {
			return nil, fmt.Errorf("pack %s: %w", f.name, err)
		}
		if _, err := in.Write(f.Bytes); err != nil {
			return nil, fmt.Errorf("pack %s: %w", f.name, err)
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// checkNames refuses names that some system would unpack elsewhere, or onto
// one another.
func checkNames(top string, sorted []member) error {
	if strings.Contains(top, "/") || !entryName.MatchString(top) {
		return fmt.Errorf("folder name %q cannot stand in an archive; expected ASCII letters, digits, dots and hyphens", top)
	}
	seen := map[string]string{}
	for _, f := range sorted {
		if !entryName.MatchString(f.name) {
			return fmt.Errorf("file name %q cannot stand in an archive; expected ASCII letters, digits, dots and hyphens, and folders with /", f.name)
		}
		low := strings.ToLower(f.name)
		if first, dup := seen[low]; dup {
			return fmt.Errorf("file name %q differs from %q in nothing but case; expected distinct names", f.name, first)
		}
		seen[low] = f.name
	}
	return nil
}

// dosTime is a time from 1980 on as APPNOTE 4.4.6 writes it, in UTC.
func dosTime(t time.Time) (date, clock uint16) {
	date = uint16(t.Day() + int(t.Month())<<5 + (t.Year()-1980)<<9)
	clock = uint16(t.Second()/2 + t.Minute()<<5 + t.Hour()<<11)
	return date, clock
}
