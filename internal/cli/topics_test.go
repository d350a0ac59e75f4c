package cli

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// fieldReaders are the methods of fields.Map that read a field by its name.
var fieldReaders = []string{"Angle", "Bool", "Count", "Date", "DateOr", "Enum", "Has", "Length", "LengthOrZero", "Number", "Table", "Tables", "Text", "Texts"}

// Whatever a reader of the notes or of the bench knows by name, a topic of the help
// names.
func TestEveryFieldIsInTheHelp(t *testing.T) {
	var told strings.Builder
	for _, topic := range topics() {
		told.WriteString(topic.Long + "\n")
	}
	words := regexp.MustCompile(`[a-z_]+`).FindAllString(told.String(), -1)
	fields := 0
	for _, dir := range []string{"release", "bench"} {
		files, err := filepath.Glob(filepath.Join("..", dir, "*.go"))
		require.NoError(t, err)
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			set := token.NewFileSet()
			tree, err := parser.ParseFile(set, file, nil, 0)
			require.NoError(t, err)
			ast.Inspect(tree, func(n ast.Node) bool {
				call, ok := n.(*ast.CallExpr)
				if !ok || len(call.Args) == 0 {
					return true
				}
				reads, ok := call.Fun.(*ast.SelectorExpr)
				name, isText := call.Args[0].(*ast.BasicLit)
				if !ok || !isText || name.Kind != token.STRING || !slices.Contains(fieldReaders, reads.Sel.Name) {
					return true
				}
				field, err := strconv.Unquote(name.Value)
				require.NoError(t, err)
				fields++
				assert.Contains(t, words, field, "%s: no topic of the help names this field", set.Position(name.Pos()))
				return true
			})
		}
	}
	require.Greater(t, fields, 80)
}

func TestTopicsFitATerminal(t *testing.T) {
	for _, topic := range topics() {
		for line := range strings.Lines(topic.Long) {
			assert.LessOrEqual(t, utf8.RuneCountInString(strings.TrimRight(line, "\n")), 90, "%s: %s", topic.Use, line)
		}
	}
}
