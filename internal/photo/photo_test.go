package photo_test

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/photo"
)

// noisy is a picture that does not compress, so that cuts fall into its data.
func noisy(width, height int) image.Image {
	img := image.NewRGBA(image.Rect(0, 0, width, height))
	state := uint32(1)
	for y := range height {
		for x := range width {
			state = state*1664525 + 1013904223
			img.SetRGBA(x, y, color.RGBA{uint8(state >> 24), uint8(state >> 16), uint8(x), 255})
		}
	}
	return img
}

func asJPEG(t testing.TB, img image.Image) []byte {
	var out bytes.Buffer
	require.NoError(t, jpeg.Encode(&out, img, nil))
	return out.Bytes()
}

func asPNG(t testing.TB, img image.Image) []byte {
	var out bytes.Buffer
	require.NoError(t, png.Encode(&out, img))
	return out.Bytes()
}

// claimed is a PNG whose header gives a size and nothing comes after (PNG
// specification, third edition, 11.2.1).
func claimed(width, height uint32) []byte {
	out := []byte("\x89PNG\r\n\x1a\n\x00\x00\x00\x0d")
	head := append([]byte("IHDR"), make([]byte, 13)...)
	binary.BigEndian.PutUint32(head[4:], width)
	binary.BigEndian.PutUint32(head[8:], height)
	head[12], head[13] = 8, 6
	out = append(out, head...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(head))
}

func TestWhatCannotBeShownIsSaid(t *testing.T) {
	whole, lossless := asJPEG(t, noisy(64, 48)), asPNG(t, noisy(64, 48))
	require.NoError(t, photo.Check(whole))
	require.NoError(t, photo.Check(lossless))
	bent := bytes.Clone(lossless)
	bent[len(bent)/2] ^= 0xff
	for _, row := range []struct {
		name string
		data []byte
		says string
	}{
		{"empty", nil, "it is empty; copy it again"},
		{"a JPEG cut short in its codes", whole[:len(whole)*2/3], "it is cut short; copy it again"},
		{"a JPEG without its last byte", whole[:len(whole)-1], "it is cut short; copy it again"},
		{"a JPEG of two bytes", whole[:2], "it is cut short; copy it again"},
		{"a PNG cut short", lossless[:len(lossless)*2/3], "it is cut short; copy it again"},
		{"a PNG with a byte changed", bent, "its picture is damaged (png: invalid format: bad filter type); save it anew"},
		{"one pixel high", asJPEG(t, noisy(64, 1)), "it is 64 × 1 pixels; expected at least 16 each way"},
		{"a spacer", asPNG(t, noisy(16, 400)), "it is 16 × 400 pixels, more than 20 times as long one way as the other; cut it to what is to be seen"},
		{"100 million pixels wide", claimed(99_999_999, 1), "it is 99999999 × 1 pixels, more than 64 million; save it smaller"},
		{"more pixels than are read", claimed(99_999_999, 16), "it is 99999999 × 16 pixels, more than 64 million; save it smaller"},
		{"a product beyond 64 bits", claimed(1<<31-1, 1<<31-1), "its picture is damaged (png: unsupported feature: dimension overflow); save it anew"},
		{"GIF", []byte("GIF89a\x10\x00\x10\x00"), "it is a GIF; save it anew as JPEG or PNG"},
		{"WebP", []byte("RIFF\x10\x00\x00\x00WEBPVP8 "), "it is a WebP; save it anew as JPEG or PNG"},
		{"HEIF", []byte("\x00\x00\x00\x18ftypheic\x00\x00"), "it is a HEIF; save it anew as JPEG or PNG"},
		{"TIFF", []byte("II*\x00\x08\x00\x00\x00"), "it is a TIFF, or a camera's raw file; save it anew as JPEG or PNG"},
		{"markup", []byte("<svg xmlns='http://www.w3.org/2000/svg'/>"), "it is markup, such as SVG or a web page; save it anew as JPEG or PNG"},
		{"text", []byte("not a picture"), "it begins as neither JPEG nor PNG does; save it anew as JPEG or PNG"},
		{"too many bytes", append(bytes.Clone(whole), make([]byte, photo.MaxBytes)...), "it is larger than 64 MiB; save it smaller"},
	} {
		t.Run(row.name, func(t *testing.T) {
			require.EqualError(t, photo.Check(row.data), row.says)
			_, err := photo.Decode(row.data, 100)
			require.EqualError(t, err, row.says)
		})
	}
}

func TestAPhotoIsReducedToTheWidthAskedFor(t *testing.T) {
	img, err := photo.Decode(asPNG(t, noisy(200, 100)), 50)
	require.NoError(t, err)
	require.Equal(t, image.Pt(50, 25), img.Bounds().Size())
	img, err = photo.Decode(asPNG(t, noisy(40, 20)), 50)
	require.NoError(t, err)
	require.Equal(t, image.Pt(40, 20), img.Bounds().Size(), "never made larger")
}

// Whatever the bytes: no panic, and what Check lets pass has a picture within the
// limits.
func FuzzCheck(f *testing.F) {
	whole, lossless := asJPEG(f, noisy(20, 18)), asPNG(f, noisy(20, 18))
	for _, seed := range [][]byte{whole, lossless, whole[:len(whole)/2], lossless[:40], claimed(99_999_999, 1), []byte("GIF89a"), []byte("II*\x00")} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		img, err := photo.Decode(data, 0)
		require.Equal(t, err == nil, photo.Check(data) == nil)
		if err != nil {
			return
		}
		size := img.Bounds().Size()
		require.LessOrEqual(t, size.X*size.Y, photo.MaxPixels)
		require.GreaterOrEqual(t, min(size.X, size.Y), photo.LeastSide)
	})
}
