package hostile

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"strings"
)

// picture is one that does not compress, so that a cut falls into its data.
func picture(width, height int) image.Image {
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

func asJPEG(width, height int) []byte {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, picture(width, height), nil); err != nil {
		panic(err)
	}
	return out.Bytes()
}

func asPNG(width, height int) []byte {
	var out bytes.Buffer
	if err := png.Encode(&out, picture(width, height)); err != nil {
		panic(err)
	}
	return out.Bytes()
}

// hugePNG is the header of a PNG of a given size, with a chunk of nothing after it
// (PNG specification, third edition, 11.2).
func hugePNG(width, height uint32) []byte {
	chunk := func(name string, data []byte) []byte {
		out := binary.BigEndian.AppendUint32(nil, uint32(len(data)))
		out = append(append(out, name...), data...)
		return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[4:]))
	}
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, width), height)
	return append(append([]byte("\x89PNG\r\n\x1a\n"), chunk("IHDR", append(head, 8, 6, 0, 0, 0))...), chunk("IEND", nil)...)
}

// photoCases are proof and build of a release with one photo.
func photoCases(name, file string, data []byte, says string) []Case {
	content := func(d Dir) {
		d.Content()
		d.Notes("photos:\n  - {file: "+file+", alt: A peg}\n", body)
		d.Write("content/releases/01-peg/"+file, data)
	}
	at := `release\.md:8:12: photo ".*" cannot be shown: ` + says
	return []Case{
		{Name: name + "-proof", Make: content, Args: []string{"proof"}, Exit: 1, Says: []string{at}},
		{Name: name + "-build", Make: content, Args: []string{"build"}, Exit: 1, Says: []string{at, "nothing was written"}, Never: []string{"measuring"}},
	}
}

// longName is a case of a name that is too long in the published site, though the
// content folder can hold it.
func longName(name string, make func(d Dir), says string) Case {
	return Case{Name: name, Make: make, Args: []string{"build"}, Exit: 1, Says: []string{says, "nothing was written"}}
}

// photos are photos and what calls itself one, and names too long to be published.
var photos = func() []Case {
	cut, whole := asJPEG(64, 48), asPNG(64, 48)
	bent := bytes.Clone(whole)
	bent[len(bent)/2] ^= 0xff
	var out []Case
	for _, p := range []struct {
		name, file string
		data       []byte
		says       string
	}{
		{"photo-jpeg-cut-short", "photos/front.jpg", cut[:len(cut)*2/3], "it is cut short; copy it again"},
		{"photo-png-cut-short", "photos/front.png", whole[:len(whole)*2/3], "it is cut short; copy it again"},
		{"photo-byte-changed", "photos/front.png", bent, "its picture is damaged"},
		{"photo-empty", "photos/front.jpg", nil, "it is empty; copy it again"},
		{"photo-one-pixel-high", "photos/front.jpg", asJPEG(64, 1), "it is 64 × 1 pixels; expected at least 16 each way"},
		{"photo-is-gif", "photos/front.jpg", []byte("GIF89a\x20\x00\x20\x00\x80\x00\x00"), "it is a GIF; save it anew as JPEG or PNG"},
		{"photo-is-webp", "photos/front.jpg", []byte("RIFF\x20\x00\x00\x00WEBPVP8 "), "it is a WebP; save it anew as JPEG or PNG"},
		{"photo-is-text", "photos/front.jpg", []byte("no picture"), "it begins as neither JPEG nor PNG does"},
		{"photo-png-100-million-wide", "photos/front.png", hugePNG(99_999_999, 1), "it is 99999999 × 1 pixels, more than 64 million; save it smaller"},
		{"photo-png-30000-square", "photos/front.png", hugePNG(30_000, 30_000), "it is 30000 × 30000 pixels, more than 64 million; save it smaller"},
	} {
		out = append(out, photoCases(p.name, p.file, p.data, p.says)...)
	}
	long := strings.Repeat("a", 81)
	return append(out,
		longName("name-of-release-too-long", func(d Dir) {
			d.Content()
			d.Text("content/releases/02-"+long+"/release.md", "%s", head+body)
		}, `slug "a{60}…" has 81 characters; expected at most 80`),
		longName("name-of-part-too-long", func(d Dir) {
			d.Content()
			d.Write("content/releases/01-peg/parts/"+long+"/any.stl", STL(Cube(10)))
		}, `part folder "a{60}…" has a name of 81 characters; expected at most 80`),
		longName("name-of-page-too-long", func(d Dir) {
			d.Content()
			d.Text("content/pages/"+long+".md", "%s", page)
		}, `page name "a{60}…" has 81 characters; expected at most 80`),
		longName("name-of-photo-too-long", func(d Dir) {
			d.Content()
			file := "photos/" + strings.Repeat("b", 240) + ".jpg"
			d.Notes("photos:\n  - {file: "+file+", alt: A peg}\n", body)
			d.Write("content/releases/01-peg/"+file, asJPEG(64, 48))
		}, `release\.md:8:12: photo "photos/b{53}…" has a name of 244 bytes; expected at most 200`),
	)
}()
