package site

import (
	"bytes"
	"fmt"
	"image"
	"image/jpeg"
	_ "image/png" // photos may be PNG
	"io"
	"path/filepath"
	"strings"

	"github.com/disintegration/imaging"

	"cardback/internal/infile"
	"cardback/internal/release"
)

// PhotoView is a published photo.
type PhotoView struct {
	Href, Alt     string
	Width, Height int
}

// Limits on a photo: the file, and what it decodes to. 64 MiB and 100 million
// pixels take in any camera; beyond them a file is more likely made to exhaust
// memory.
const (
	photoBytes  = 64 << 20
	photoPixels = 100_000_000
	photoWidth  = 1600 // widest published, in pixels: twice the page's column
)

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
	stem := slug(strings.TrimSuffix(filepath.Base(file), filepath.Ext(file)))
	v := PhotoView{Href: hashed(releaseDir(r)+"photos/"+stem, ".jpg", data.Bytes()), Alt: alt, Width: img.Bounds().Dx(), Height: img.Bounds().Dy()}
	return v, b.write(v.Href, data.Bytes())
}

func readPhoto(file string, width int) (image.Image, error) {
	f, _, err := infile.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, photoBytes+1))
	if err != nil {
		return nil, err
	}
	if len(data) > photoBytes {
		return nil, fmt.Errorf("the file is larger than %s", fileSize(photoBytes))
	}
	c, format, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil || format != "jpeg" && format != "png" {
		return nil, fmt.Errorf("expected a JPEG or PNG image")
	}
	if c.Width <= 0 || c.Height <= 0 || c.Width > photoPixels/c.Height {
		return nil, fmt.Errorf("%d × %d pixels are more than this program reads", c.Width, c.Height)
	}
	img, err := imaging.Decode(bytes.NewReader(data), imaging.AutoOrientation(true))
	if err != nil {
		return nil, err
	}
	if img.Bounds().Dx() > width {
		img = imaging.Resize(img, width, 0, imaging.Lanczos)
	}
	return img, nil
}
