package site

import (
	"bytes"
	"image"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/release"
)

func TestPhotosAreReducedAndWrittenAnew(t *testing.T) {
	dir := t.TempDir()
	var big bytes.Buffer
	require.NoError(t, png.Encode(&big, image.NewGray(image.Rect(0, 0, 2000, 500))))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "view.jpg"), big.Bytes(), 0o644)) // a PNG, whatever its name says
	require.NoError(t, os.WriteFile(filepath.Join(dir, "not.png"), []byte("not a picture"), 0o644))
	b := &builder{ctx: t.Context(), out: t.TempDir()}
	r := release.Release{Number: 3, Slug: "x", Dir: dir, Photos: []release.Photo{{File: "view.jpg", Alt: "A view"}}}
	got, err := b.photos(r)
	require.NoError(t, err)
	require.Len(t, got, 1)
	require.Equal(t, []int{1600, 400}, []int{got[0].Width, got[0].Height})
	published, err := os.ReadFile(filepath.Join(b.out, got[0].Href))
	require.NoError(t, err)
	img, err := jpeg.DecodeConfig(bytes.NewReader(published))
	require.NoError(t, err)
	require.Equal(t, 1600, img.Width)

	r.Photos[0].File = "not.png"
	_, err = b.photos(r)
	require.ErrorContains(t, err, "not.png: it begins as neither JPEG nor PNG does")
}
