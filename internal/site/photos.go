package site

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	"io"
	"path/filepath"
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
	img, err := readPhoto(filepath.Join(r.Dir, filepath.FromSlash(file)), width)
	if err != nil {
		return PhotoView{}, fmt.Errorf("read the photo %s: %w", source, err)
	}
	var data bytes.Buffer
	if err := jpeg.Encode(&data, img, &jpeg.Options{Quality: 84}); err != nil {
		return PhotoView{}, fmt.Errorf("write the photo %s anew: %w", source, err)
	}
	stem := words.Fragment(strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)))
	v := PhotoView{Href: hashed(releaseDir(r)+"photos/"+stem, ".jpg", data.Bytes()), Alt: alt, Width: img.Bounds().Dx(), Height: img.Bounds().Dy()}
	return v, b.write(v.Href, data.Bytes())
}

func readPhoto(file string, width int) (image.Image, error) {
	f, _, err := infile.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, photo.MaxBytes+1))
	if err != nil {
		return nil, err
	}
	return photo.Decode(data, width)
}
