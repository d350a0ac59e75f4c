package release

import (
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What the readme shows is read without a problem, as a newcomer would copy it.
func TestTheReadmesExamplesAreContent(t *testing.T) {
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	text := string(readme)
	files := map[string]string{notesFile: "", arm + "any.stl": ""}
	for _, m := range regexp.MustCompile("(?ms)^```yaml\n(# (\\S+\\.yaml).*?)^```").FindAllStringSubmatch(text, -1) {
		files[m[2]] = m[1]
	}
	unindent := func(s string) string { return regexp.MustCompile("(?m)^   ").ReplaceAllString(s, "") }
	m := regexp.MustCompile("(?ms)^   ```markdown\n(.*?)^   ```").FindStringSubmatch(text)
	require.NotNil(t, m)
	files["releases/07-lamplighter/release.md"] = unindent(m[1])
	m = regexp.MustCompile("(?ms)^   ```yaml\n(.*?)^   ```").FindStringSubmatch(text)
	require.NotNil(t, m)
	for _, name := range []string{"upper-arm", "bowler", "hull"} {
		files["releases/07-lamplighter/parts/"+name+"/any.stl"] = "mesh"
	}
	files["releases/07-lamplighter/parts/upper-arm/filament.stl"] = "mesh" // the one with the snap joints
	files["releases/07-lamplighter/parts/upper-arm/part.yaml"] = unindent(m[1])
	files["releases/07-lamplighter/parts/bowler/part.yaml"] = "choice: hat\n"
	for _, name := range []string{"site.yaml", "bench/plates.yaml", "bench/materials.yaml", "bench/hardware.yaml"} {
		require.Contains(t, files, name)
	}
	s, problems := load(t, files)
	require.Empty(t, problems)
	require.Equal(t, 18.5, s.Releases[0].Hardware[0].Cut)
	arm := s.Releases[0].Parts[2]
	require.Equal(t, "hat", arm.Choice)
	require.True(t, strings.HasPrefix(arm.Notes, "The long side"))

	// What stands behind a comment sign is for a part that is not one of a choice.
	yaml := files["releases/07-lamplighter/parts/upper-arm/part.yaml"]
	files["releases/07-lamplighter/parts/upper-arm/part.yaml"] = strings.Replace(regexp.MustCompile("(?m)^choice:.*$").ReplaceAllString(yaml, ""), "# replaces:", "replaces:", 1)
	delete(files, "releases/07-lamplighter/parts/bowler/part.yaml")
	s, problems = load(t, files)
	require.Empty(t, problems)
	require.Equal(t, "hull", s.Releases[0].Parts[2].Replaces)
}
