package site

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image/jpeg"
	"path/filepath"
	"strconv"
	"strings"

	"cardback/internal/infile"
	"cardback/internal/photo"
	"cardback/internal/release"
	"cardback/internal/words"
)

// PhotoView is a published photo.
type PhotoView struct {
	Href, Alt     string
	Width, Height int
}

// photoWidth is the widest published, in pixels: twice the page's column.
const photoWidth = 1600

// photos publishes the release's photos, reduced and written anew as JPEG, so
// that nothing else a camera put into the file (place, serial number) is
// published. Only JPEG and PNG are read, by content.
func (b *builder) photos(r release.Release) ([]PhotoView, error) {
	var out []PhotoView
	for _, p := range r.Photos {
		v, err := b.photo(r, p.File, p.Alt, photoWidth)
		if err != nil {
			return nil, err
		}
		out = append(out, v)
	}
	return out, nil
}

// photo publishes one photo, a path relative to the release's folder, at most so
// many pixels wide.
func (b *builder) photo(r release.Release, file, alt string, width int) (PhotoView, error) {
	source := strings.TrimSuffix(r.SourceFile, "release.md") + file
	data, err := b.published(filepath.Join(r.Dir, filepath.FromSlash(file)), width)
	if err != nil {
		return PhotoView{}, fmt.Errorf("publish the photo %s: %w", source, err)
	}
	size, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return PhotoView{}, fmt.Errorf("publish the photo %s: %w", source, err)
	}
	stem := words.Fragment(strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)))
	v := PhotoView{Href: hashed(releaseDir(r)+"photos/"+stem, ".jpg", data), Alt: alt, Width: size.Width, Height: size.Height}
	return v, b.write(v.Href, data)
}

// published is the photo in file as it is published. What was made of the same bytes
// before is in the store.
func (b *builder) published(file string, width int) ([]byte, error) {
	data, err := infile.Read(file, photo.MaxBytes)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	key := []string{"photo", hex.EncodeToString(sum[:]), strconv.Itoa(width)}
	if made, ok := b.in.Store.GetBytes(key...); ok {
		return made, nil
	}
	img, err := photo.Decode(data, width)
	if err != nil {
		return nil, err
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, img, &jpeg.Options{Quality: 84}); err != nil {
		return nil, err
	}
	b.in.Store.PutBytes(out.Bytes(), key...)
	return out.Bytes(), nil
}
