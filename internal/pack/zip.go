package pack

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"hash/crc32"
	"io"
	"regexp"
	"slices"
	"strings"
	"time"

	"github.com/klauspost/compress/flate"
	"github.com/klauspost/compress/zip"
)

// entryName is what the names inside an archive look like: ASCII letters,
// digits, dot, hyphen and underscore, in folders that never begin with a dot.
var entryName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]*(?:/[A-Za-z0-9][A-Za-z0-9._-]*)*$`)

// flagUTF8 is general purpose bit 11 of APPNOTE 4.4.4: the name is UTF-8.
const flagUTF8 = 1 << 11

// level is flate's usual compromise.
const level = 6

// zipFiles writes files into one zip inside the folder named top, sorted by
// name. Sizes and checksums stand in the local headers, so that the archive can
// be unpacked from a stream.
func zipFiles(ctx context.Context, top string, files []File, at time.Time) ([]byte, error) {
	files = slices.Clone(files)
	slices.SortFunc(files, func(a, b File) int { return cmp.Compare(a.Name, b.Name) })
	if err := checkNames(top, files); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range files {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		packed, method, err := deflate(f.Data)
		if err != nil {
			return nil, fmt.Errorf("compress %s: %w", f.Name, err)
		}
		h := &zip.FileHeader{
			Name: top + "/" + f.Name, Method: method, Flags: flagUTF8,
			CRC32:              crc32.ChecksumIEEE(f.Data),
			CompressedSize64:   uint64(len(packed)),
			UncompressedSize64: uint64(len(f.Data)),
		}
		//lint:ignore SA1019 CreateRaw writes these fields as they are and derives none from Modified.
		h.ModifiedDate, h.ModifiedTime = dosTime(at)
		h.SetMode(0o644)
		entry, err := w.CreateRaw(h)
		if err != nil {
			return nil, fmt.Errorf("pack %s: %w", f.Name, err)
		}
		if _, err := entry.Write(packed); err != nil {
			return nil, fmt.Errorf("pack %s: %w", f.Name, err)
		}
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

// checkNames refuses names that some system would unpack elsewhere, or onto
// one another.
func checkNames(top string, sorted []File) error {
	if strings.Contains(top, "/") || !entryName.MatchString(top) {
		return fmt.Errorf("folder name %q cannot stand in an archive; expected ASCII letters, digits, dots and hyphens", top)
	}
	seen := map[string]string{}
	for _, f := range sorted {
		if !entryName.MatchString(f.Name) {
			return fmt.Errorf("file name %q cannot stand in an archive; expected ASCII letters, digits, dots and hyphens, and folders with /", f.Name)
		}
		low := strings.ToLower(f.Name)
		if first, dup := seen[low]; dup {
			return fmt.Errorf("file name %q differs from %q in nothing but case; expected distinct names", f.Name, first)
		}
		seen[low] = f.Name
	}
	return nil
}

// deflate compresses data, or returns it as it is where that is no smaller.
func deflate(data []byte) (packed []byte, method uint16, err error) {
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, level)
	if err != nil {
		return nil, 0, err
	}
	if _, err := io.Copy(w, bytes.NewReader(data)); err != nil {
		return nil, 0, err
	}
	if err := w.Close(); err != nil {
		return nil, 0, err
	}
	if b.Len() >= len(data) {
		return data, zip.Store, nil
	}
	return b.Bytes(), zip.Deflate, nil
}

// dosTime is a time from 1980 on as APPNOTE 4.4.6 writes it, in UTC.
func dosTime(t time.Time) (date, clock uint16) {
	date = uint16(t.Day() + int(t.Month())<<5 + (t.Year()-1980)<<9)
	clock = uint16(t.Second()/2 + t.Minute()<<5 + t.Hour()<<11)
	return date, clock
}
