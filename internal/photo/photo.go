// Package photo answers: can this photo be shown? Check says what is wrong with a
// file that is to be published as one, and Decode gives its picture.
//
// A photo is a JPEG or a PNG, told by content and never by name. Sizes are judged
// from the first bytes, before anything is set aside for the picture: MaxBytes,
// MaxPixels, LeastSide and MostSlender say what is taken. Then the whole of it is
// decoded, since a file that was cut short in copying begins like a good one.
//
// Memory. A picture of MaxPixels takes 3 to 8 bytes a pixel by its kind, and a
// progressive JPEG keeps up to 12 more while it is put together (image/jpeg), so
// that the worst photo stays under 1 GB; they are read one after another.
package photo

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	_ "image/jpeg" // photos are JPEG
	_ "image/png"  // or PNG
	"io"
	"slices"

	"github.com/disintegration/imaging"
)

const (
	// MaxBytes is the largest file read, and MaxPixels the largest picture: any
	// camera's with a sensor of 36 × 24 mm (61 million pixels). Beyond them a file
	// is more likely made to exhaust memory.
	MaxBytes  = 64 << 20
	MaxPixels = 64_000_000
	// LeastSide, in pixels, and MostSlender, the longer side over the shorter, keep
	// out what shows nothing: a line of pixels, a spacer. A panorama of a whole
	// shelf is some 10 times as wide as high.
	LeastSide   = 16
	MostSlender = 20
)

// Check says what is wrong with a photo; nil where nothing is. The error is a
// phrase for a sentence ("it is cut short"), with what to do.
func Check(data []byte) error {
	_, err := Decode(data, 0)
	return err
}

// Decode is the picture, upright, no wider than the given number of pixels where
// that is above 0. Errors are those of Check.
func Decode(data []byte, width int) (img image.Image, err error) {
	defer func() {
		if p := recover(); p != nil { // a fault of a decoder loses one photo, not the run
			img, err = nil, fmt.Errorf("its picture cannot be decoded (%v); save it anew", p)
		}
	}()
	if err := head(data); err != nil {
		return nil, err
	}
	img, err = imaging.Decode(bytes.NewReader(data), imaging.AutoOrientation(true))
	if err != nil {
		return nil, damage(err)
	}
	if width > 0 && img.Bounds().Dx() > width {
		img = imaging.Resize(img, width, 0, imaging.Lanczos)
	}
	return img, nil
}

// head judges the first bytes.
func head(data []byte) error {
	if len(data) > MaxBytes {
		return fmt.Errorf("it is larger than %d MiB; save it smaller", MaxBytes>>20)
	}
	if len(data) == 0 {
		return errors.New("it is empty; copy it again")
	}
	// Before any decoder is asked: libraries register more of them than are wanted.
	if !bytes.HasPrefix(data, []byte("\xff\xd8")) && !bytes.HasPrefix(data, []byte("\x89PNG\r\n\x1a\n")) {
		return fmt.Errorf("%s; save it anew as JPEG or PNG", whatItIs(data))
	}
	c, _, err := image.DecodeConfig(bytes.NewReader(data))
	switch {
	case err != nil:
		return damage(err)
	case c.Width <= 0 || c.Height <= 0 || c.Width > MaxPixels/c.Height:
		return fmt.Errorf("it is %d × %d pixels, more than %d million; save it smaller", c.Width, c.Height, MaxPixels/1_000_000)
	}
	shorter, longer := min(c.Width, c.Height), max(c.Width, c.Height)
	switch {
	case shorter < LeastSide:
		return fmt.Errorf("it is %d × %d pixels; expected at least %d each way", c.Width, c.Height, LeastSide)
	case longer > MostSlender*shorter:
		return fmt.Errorf("it is %d × %d pixels, more than %d times as long one way as the other; cut it to what is to be seen", c.Width, c.Height, MostSlender)
	}
	return nil
}

// damage says in plain words what a decoder found.
func damage(err error) error {
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) || slices.Contains(short, err.Error()) {
		return errors.New("it is cut short; copy it again")
	}
	return fmt.Errorf("its picture is damaged (%w); save it anew", err)
}

// short is what image/jpeg and image/png call data that end too soon; they export
// no values to compare with.
var short = []string{"invalid JPEG format: short Huffman data", "png: invalid format: not enough pixel data"}

// whatItIs names other formats by their first bytes.
func whatItIs(data []byte) string {
	at := func(i int, s string) bool { return len(data) >= i && bytes.HasPrefix(data[i:], []byte(s)) }
	switch {
	case at(0, "GIF8"):
		return "it is a GIF"
	case at(0, "RIFF") && at(8, "WEBP"):
		return "it is a WebP"
	case at(4, "ftyphei") || at(4, "ftyphev") || at(4, "ftypmif1") || at(4, "ftypmsf1"):
		return "it is a HEIF"
	case at(4, "ftypavi"):
		return "it is an AVIF"
	case at(0, "II*\x00") || at(0, "MM\x00*"):
		return "it is a TIFF, or a camera's raw file"
	case at(0, "BM"):
		return "it is a BMP"
	case at(0, "%PDF"):
		return "it is a PDF"
	case at(0, "<"):
		return "it is markup, such as SVG or a web page"
	}
	return "it begins as neither JPEG nor PNG does"
}
