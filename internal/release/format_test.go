package release

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
)

// examples are the pieces of a topic's text that are set in by two columns, without that.
func examples(t *testing.T, topic string) []string {
	t.Helper()
	var out []string
	open := false
	for line := range strings.Lines(topic) {
		in, set := strings.CutPrefix(line, "  ")
		switch {
		case set && !open:
			out, open = append(out, in), true
		case set, open && strings.TrimSpace(line) == "":
			out[len(out)-1] += in
		default:
			open = false
		}
	}
	require.NotEmpty(t, out)
	return out
}

// format is one of this package's topics.
func format(t *testing.T, name string) string {
	t.Helper()
	data, err := Formats.ReadFile("format/" + name + ".txt")
	require.NoError(t, err)
	return string(data)
}

// What the help shows is read without a problem, as a newcomer would copy it.
func TestTheHelpsExamplesAreContent(t *testing.T) {
	files := map[string]string{notesFile: "", arm + "any.stl": "", "pages/about.md": "---\ntitle: About\n---\nWho we are.\n"}

	site := examples(t, format(t, "content"))
	files["site.yaml"] = site[1] + site[2]
	tables := regexp.MustCompile(`(?ms)^# (\w+\.yaml).*?(?:\z|\n\n)`).FindAllStringSubmatch(examples(t, bench.Format())[0], -1)
	require.Len(t, tables, 3)
	for _, m := range tables {
		files["bench/"+m[1]] = m[0]
	}

	const folder = "releases/07-lamplighter/"
	text := examples(t, format(t, "notes"))
	head, body, found := strings.Cut(strings.TrimPrefix(text[0], "---\n"), "\n---\n")
	require.True(t, found)
	further := strings.Replace(text[1], "parts: [head, torso]", "parts: [upper-arm, bowler]", 1)
	further = regexp.MustCompile(`(?m)^photos:.*\n.*\n`).ReplaceAllString(further, "") // there is no picture here
	files[folder+"release.md"] = "---\n" + head + "\n" + further + "---\n" + body
	for _, name := range []string{"upper-arm", "bowler", "hull"} {
		files[folder+"parts/"+name+"/any.stl"] = "mesh"
	}
	part := examples(t, format(t, "part"))[0]
	files[folder+"parts/upper-arm/filament.stl"] = "mesh" // the one with the snap joints
	files[folder+"parts/upper-arm/part.yaml"] = part
	files[folder+"parts/bowler/part.yaml"] = "choice: hat\n"

	s, problems := load(t, files)
	require.Empty(t, problems)
	r := s.Releases[0]
	require.Equal(t, 18.5, r.Hardware[0].Cut)
	require.Equal(t, "1:12", r.Scale)
	require.Len(t, r.Notes.Steps(), 1)
	require.Equal(t, "hat", r.Parts[0].Choice)
	require.Equal(t, "The long side faces down.", r.Parts[0].Notes)

	// What stands behind a comment sign is for a part that is not one of a choice.
	files[folder+"parts/upper-arm/part.yaml"] = strings.Replace(regexp.MustCompile("(?m)^choice:.*$").ReplaceAllString(part, ""), "# replaces:", "replaces:", 1)
	delete(files, folder+"parts/bowler/part.yaml")
	s, problems = load(t, files)
	require.Empty(t, problems)
	require.Equal(t, "hull", s.Releases[0].Parts[0].Replaces)
}
