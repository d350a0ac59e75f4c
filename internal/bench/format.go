package bench

import (
	"embed"
	"strings"
)

//go:embed format/bench-files.txt
var formats embed.FS

// Format describes plates.yaml, materials.yaml and hardware.yaml as text for a terminal
// of 80 columns.
func Format() string {
	text, err := formats.ReadFile("format/bench-files.txt")
	if err != nil {
		panic(err) // it is in the program
	}
	return string(text)
}

// ProcessFormat describes processes.yaml: what stands above the shipped rows.
func ProcessFormat() string {
	text, err := defaults.ReadFile("defaults/processes.yaml")
	if err != nil {
		panic(err) // it is in the program
	}
	var out strings.Builder
	for line := range strings.Lines(string(text)) {
		said, ok := strings.CutPrefix(line, "#")
		if !ok {
			break
		}
		out.WriteString(strings.TrimPrefix(said, " "))
	}
	return out.String()
}
