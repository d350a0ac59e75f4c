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
	"cardback/internal/store"
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

// A photo is made once: the same bytes again come from the store, other bytes and another
// width do not.
func TestAPhotoIsKeptByItsContent(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "view.png")
	shot := func(shade uint8) {
		picture := image.NewGray(image.Rect(0, 0, 64, 48))
		for i := range picture.Pix {
			picture.Pix[i] = shade
		}
		var out bytes.Buffer
		require.NoError(t, png.Encode(&out, picture))
		require.NoError(t, os.WriteFile(file, out.Bytes(), 0o644))
	}
	cache := t.TempDir()
	kept := func() int {
		files, err := filepath.Glob(filepath.Join(cache, "*", "*"))
		require.NoError(t, err)
		return len(files)
	}
	b := &builder{ctx: t.Context(), in: Input{Store: store.Open(cache, "salt")}}
	shot(10)
	first, err := b.published(file, 32)
	require.NoError(t, err)
	again, err := b.published(file, 32)
	require.NoError(t, err)
	require.Equal(t, first, again)
	require.Equal(t, 1, kept())
	bare, err := (&builder{}).published(file, 32)
	require.NoError(t, err)
	require.Equal(t, bare, again, "what is kept is what is made")

	wide, err := b.published(file, 64)
	require.NoError(t, err)
	shot(200)
	other, err := b.published(file, 32)
	require.NoError(t, err)
	require.NotEqual(t, first, wide)
	require.NotEqual(t, first, other)
	require.Equal(t, 3, kept())
}
