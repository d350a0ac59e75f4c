package internal_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What a process prints of a release is decided in package printing. Whoever holds the
// fields that it follows from against a process, a part or a kind of cut decides it a
// second time. To show what a field says, to ask whether it says anything, and to hold
// one state of a release against another are not that.
var decidesWhatIsPrinted = []string{"Only", "TiltFor", "TiltAbout", "Replaces", "Choice"}

// decisions lists the places of a file that decide what is printed.
func decisions(files *token.FileSet, f *ast.File) (out []string) {
	field := func(e ast.Expr) string {
		if sel, ok := e.(*ast.SelectorExpr); ok {
			return sel.Sel.Name
		}
		return ""
	}
	says := func(of, with ast.Expr) bool { // a word, the same field of another state, or a stiffness
		lit, isWord := with.(*ast.BasicLit)
		return isWord && lit.Kind == token.STRING || field(of) == field(with) || slices.Contains([]string{"Rigid", "SemiRigid", "Flexible"}, field(with))
	}
	at := func(n ast.Node, what string) { out = append(out, fmt.Sprintf("%s: %s", files.Position(n.Pos()), what)) }
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.BinaryExpr:
			if n.Op != token.EQL && n.Op != token.NEQ {
				return true
			}
			for _, pair := range [][2]ast.Expr{{n.X, n.Y}, {n.Y, n.X}} {
				if slices.Contains(decidesWhatIsPrinted, field(pair[0])) && !says(pair[0], pair[1]) {
					at(n, field(pair[0])+" is compared")
				}
				if call, ok := pair[1].(*ast.CallExpr); ok && field(pair[0]) == "Kind" && field(call.Fun) == "CutFor" {
					at(n, "a cut is picked for a process")
				}
			}
		case *ast.CallExpr:
			for _, arg := range n.Args {
				if name := field(n.Fun); name == "Contains" && slices.Contains(decidesWhatIsPrinted, field(arg)) {
					at(n, field(arg)+" is looked for")
				}
			}
		}
		return true
	})
	return out
}

func TestWhatIsPrintedIsDecidedInOnePlace(t *testing.T) {
	looked := 0
	for pkg := range mayImport {
		if slices.Contains([]string{"internal/release", "internal/printing"}, pkg) {
			continue
		}
		entries, err := os.ReadDir(filepath.Join("..", pkg))
		require.NoError(t, err)
		imports := false
		for _, e := range entries {
			if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
				continue
			}
			files := token.NewFileSet()
			f, err := parser.ParseFile(files, filepath.Join("..", pkg, e.Name()), nil, 0)
			require.NoError(t, err)
			imports = imports || slices.ContainsFunc(f.Imports, func(i *ast.ImportSpec) bool {
				return i.Path.Value == strconv.Quote("cardback/internal/release")
			})
			for _, d := range decisions(files, f) {
				t.Errorf("%s; ask package printing", d)
			}
		}
		if imports {
			looked++
		}
	}
	require.Greater(t, looked, 5, "packages that know a release")
}

// The check finds what it is for.
func TestASecondRuleOfWhatIsPrintedIsFound(t *testing.T) {
	for text, found := range map[string]int{
		`p.Only == nil || p.Only == proc`:                        2,
		`p.TiltFor != proc`:                                      1,
		`slug == q.Replaces`:                                     1,
		`p.Choice == group`:                                      1,
		`c.Kind == release.CutFor(proc)`:                         1,
		`slices.Contains(taken, p.Choice)`:                       1,
		`p.Replaces != ""`:                                       0, // asks whether it says anything
		`a.Only == b.Only && a.Replaces == b.Replaces`:           0, // one state against another
		`advice.Only == bench.Flexible`:                          0, // of a material
		`printing.PartOf(r, p, proc).Needed && len(p.Cuts) == 1`: 0,
	} {
		files := token.NewFileSet()
		f, err := parser.ParseFile(files, "x.go", "package x\n\nvar _ = "+text, 0)
		require.NoError(t, err)
		require.Len(t, decisions(files, f), found, text)
	}
}
