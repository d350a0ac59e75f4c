package site

import (
	"path"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/release"
)

// Whatever stands at the top of a site is a page of the designer's or one of the
// names that such a page may not take; otherwise the one would go over the other.
func TestNamesAtTheTopOfASiteAreReserved(t *testing.T) {
	own := map[string]bool{}
	for _, name := range release.OwnNames {
		own[name] = true
	}
	used := map[string]bool{}
	for name := range built(t) {
		top, _, inside := strings.Cut(name, "/")
		if !inside {
			top = strings.TrimSuffix(top, path.Ext(top))
			if path.Ext(name) != ".html" {
				continue // no folder of a page has a name with a dot
			}
		}
		used[top] = true
		require.True(t, own[top] || top == "about", "%s is not in release.OwnNames", name)
	}
	for _, name := range []string{"how-measured", "data", "releases", "404", "index"} {
		require.True(t, used[name], name)
	}
}
