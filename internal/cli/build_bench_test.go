package cli

import (
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkBuild builds the whole demo: cold, with nothing measured yet, and
// warm, with every measurement in the cache. The floor is reading the meshes'
// bytes, which both do.
func BenchmarkBuild(b *testing.B) {
	content := filepath.Join("..", "..", "content")
	run := func(b *testing.B, cache string) {
		b.Helper()
		o := buildOptions{content: content, out: filepath.Join(b.TempDir(), "site"), cache: cache}
		require.NoError(b, build(b.Context(), o, demoDay, io.Discard, os.Stderr))
	}
	b.Run("cold", func(b *testing.B) {
		for b.Loop() {
			run(b, filepath.Join(b.TempDir(), "cache"))
		}
	})
	b.Run("warm", func(b *testing.B) {
		cache := filepath.Join(b.TempDir(), "cache")
		run(b, cache)
		for b.Loop() {
			run(b, cache)
		}
	})
}
