package deflate_test

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"io"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/deflate"
)

// samples are files of many kinds: empty, one that grows when it is deflated, and those
// that shrink to little.
func samples() map[string][]byte {
	noise := make([]byte, 200_000)
	rand.NewChaCha8([32]byte{7}).Read(noise)
	return map[string][]byte{
		"nothing": nil,
		"a byte":  []byte("x"),
		"noise":   noise,
		"text":    []byte(strings.Repeat("a figure and its parts; ", 20_000)),
		"zeros":   make([]byte, 3<<20),
	}
}

// The standard library and the sha256sum program, neither of which made them, read the
// bytes back.
func TestOthersReadWhatWasPacked(t *testing.T) {
	for name, data := range samples() {
		p, err := deflate.OfBytes(data)
		require.NoError(t, err, name)
		require.Equal(t, int64(len(data)), p.Size, name)
		require.LessOrEqual(t, len(p.Bytes), len(data), name)
		back := p.Bytes
		if !p.Stored {
			back, err = io.ReadAll(flate.NewReader(bytes.NewReader(p.Bytes)))
			require.NoError(t, err, name)
		}
		require.True(t, bytes.Equal(data, back), name)

		// As a member of a zip: its reader checks size and CRC-32.
		var out bytes.Buffer
		z := zip.NewWriter(&out)
		h := &zip.FileHeader{Name: "f", CRC32: p.CRC32, CompressedSize64: uint64(len(p.Bytes)), UncompressedSize64: uint64(p.Size)}
		if !p.Stored {
			h.Method = zip.Deflate
		}
		w, err := z.CreateRaw(h)
		require.NoError(t, err)
		_, err = w.Write(p.Bytes)
		require.NoError(t, err)
		require.NoError(t, z.Close())
		r, err := zip.NewReader(bytes.NewReader(out.Bytes()), int64(out.Len()))
		require.NoError(t, err, name)
		f, err := r.File[0].Open()
		require.NoError(t, err, name)
		_, err = io.Copy(io.Discard, f)
		require.NoError(t, err, name)

		if tool, err := exec.LookPath("sha256sum"); err == nil {
			cmd := exec.Command(tool)
			cmd.Stdin = bytes.NewReader(data)
			sum, err := cmd.Output()
			require.NoError(t, err)
			require.Equal(t, strings.Fields(string(sum))[0], p.SHA256, name)
		}
	}
}

func TestPackedIsWrittenDownAndReadBack(t *testing.T) {
	for name, data := range samples() {
		p, err := deflate.OfBytes(data)
		require.NoError(t, err)
		text, err := p.Marshal()
		require.NoError(t, err)
		again, err := deflate.Unmarshal(text)
		require.NoError(t, err, name)
		got, err := again.Unpacked()
		require.NoError(t, err, name)
		require.True(t, bytes.Equal(data, got), name)
	}
}

// Whatever a damaged Packed says, it gives no other bytes than those of its SHA-256.
func TestADamagedPackedIsAnError(t *testing.T) {
	whole, err := deflate.OfBytes(samples()["text"])
	require.NoError(t, err)
	noise, err := deflate.OfBytes(samples()["noise"])
	require.NoError(t, err)
	for name, change := range map[string]func(p *deflate.Packed){
		"cut short":        func(p *deflate.Packed) { p.Bytes = p.Bytes[:len(p.Bytes)/2] },
		"another's bytes":  func(p *deflate.Packed) { p.Bytes, p.Stored = noise.Bytes, noise.Stored },
		"another's sum":    func(p *deflate.Packed) { p.SHA256 = noise.SHA256 },
		"said to be short": func(p *deflate.Packed) { p.Size-- },
		"said to be huge":  func(p *deflate.Packed) { p.Size, p.SHA256 = 1<<60, noise.SHA256 },
	} {
		p := whole
		change(&p)
		_, err := p.Unpacked()
		require.Error(t, err, name)
	}
	for _, text := range []string{"", "{}", "[]\n", `{"Size":-1}` + "\n", `{"Size":3,"Stored":true}` + "\nab"} {
		_, err := deflate.Unmarshal([]byte(text))
		require.Error(t, err, "%q", text)
	}
}
