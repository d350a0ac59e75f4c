package cli

import (
	"embed"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"cardback/internal/bench"
	"cardback/internal/release"
)

//go:embed topics/*.txt
var topicTexts embed.FS

// topics are what "cardback help TOPIC" tells beside the commands: each file that the
// designer writes, and what holds for all commands.
func topics() []*cobra.Command {
	read := func(files fs.FS, path string) string {
		text, err := fs.ReadFile(files, path)
		if err != nil {
			panic(err) // it is in the program
		}
		return string(text)
	}
	var out []*cobra.Command
	for _, t := range []struct{ name, short, text string }{
		{"content", "The content folder and site.yaml; units; limits of notes", read(release.Formats, "format/content.txt")},
		{"notes", "release.md: a release's facts and notes", read(release.Formats, "format/notes.txt")},
		{"part", "A part's folder and part.yaml", read(release.Formats, "format/part.txt")},
		{"log", "prints.yaml and revisions.yaml", read(release.Formats, "format/log.txt")},
		{"bench-files", "plates.yaml, materials.yaml and hardware.yaml", bench.Format()},
		{"processes", "processes.yaml: further ways of printing", bench.ProcessFormat()},
		{"standings", "The words of the material table", read(topicTexts, "topics/standings.txt")},
		{"publishing", "What build writes, when it refuses, and what it leaves alone", read(topicTexts, "topics/publishing.txt")},
		{"limits", "How large things may be, and how long searches go on", read(topicTexts, "topics/limits.txt")},
	} {
		out = append(out, &cobra.Command{Use: t.name, Short: t.short, Long: strings.TrimSpace(t.text)})
	}
	return out
}
