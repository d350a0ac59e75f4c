package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestReadmeExamples runs the commands that the README shows, a line that begins
// with $ in a block of its own, and holds what it shows under them to what they
// print.
func TestReadmeExamples(t *testing.T) {
	t.Chdir(filepath.Join("..", ".."))
	text, err := os.ReadFile("README.md")
	require.NoError(t, err)
	const fence = "```\n"
	blocks := strings.Split(string(text), fence)
	seen := 0
	for i, block := range blocks {
		line, shown, ok := strings.Cut(block, "\n")
		command, isExample := strings.CutPrefix(line, "$ cardback ")
		if !ok || !isExample {
			continue
		}
		seen++
		var stdout, stderr bytes.Buffer
		require.Zero(t, Run(t.Context(), strings.Fields(command), &stdout, &stderr), command)
		require.Empty(t, stderr.String())
		if *update {
			blocks[i] = line + "\n" + stdout.String()
			continue
		}
		require.Equal(t, stdout.String(), shown, "%s prints something else now; run go test ./internal/cli -run TestReadmeExamples -update and look at it", command)
	}
	require.NotZero(t, seen)
	if *update {
		require.NoError(t, os.WriteFile("README.md", []byte(strings.Join(blocks, fence)), 0o644))
	}
}

// Every command has its row in the README's table.
func TestTheReadmeNamesEveryCommand(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	require.NoError(t, err)
	var stdout, stderr bytes.Buffer
	require.Zero(t, Run(t.Context(), []string{"--help"}, &stdout, &stderr))
	_, list, found := strings.Cut(stdout.String(), "Available Commands:\n")
	require.True(t, found)
	list, _, _ = strings.Cut(list, "\n\n")
	rows := strings.Split(list, "\n")
	require.Greater(t, len(rows), 10)
	for _, row := range rows {
		if name := strings.Fields(row)[0]; name != "help" {
			require.Regexp(t, "(?m)^\\| `cardback "+name+"\\b", string(text))
		}
	}
}
