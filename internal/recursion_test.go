package internal_test

import (
	"bytes"
	"go/ast"
	"go/importer"
	"go/parser"
	"go/token"
	"go/types"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// boundedRecursion lists every function that may come to call itself, with what bounds
// the depth. A stack that overflows ends the program, whatever was to recover
// from it, so depth must follow from something small and known before the first call:
// never from the length of a list, of a chain of triangles, or of a line of text. A
// closure has the name of its function before its own.
var boundedRecursion = map[string]string{
	"cutstock.knapsack.try":             "one call for each size, at most mostLengths",
	"cutstock.search.bar":               "mostBars bars, with mostLengths sizes on each",
	"cutstock.search.fill":              "as bar",
	"cutstock.search.close":             "as bar",
	"fields.ParseLength":                "two: what a fraction is rewritten to is none",
	"fields.place":                      "three: a table, its first entry, that one's key, which is no table",
	"fit/frontier.turnedArc":            "12: an arc of a quarter turn is halved until no extent changes by 0.6 of Within, and none is more than mostSteps/steps of that",
	"layout.tight.fill":                 "tightPieces pieces, and for each of them as many stretches to be raised",
	"measure/shadow.boxTree.visit.down": "levels of a tree of fan boxes a box: 11 for 2³¹",
	"measure/hull.pointTree.build":      "halves: 31 for 2³¹",
	"measure/change.scatter":            "halvings of an area until it is a fixed share of the mesh's",
	"measure/tree.builder.grow":         "halves: 31 for 2³¹",
	"mesh.placer.place":                 "maxNesting",
}

// Each package is checked by itself, with the types of what it imports. A call through an
// interface or a function that was handed over is not seen, but the mention of a
// function of the package is: it counts as a call.
func TestEveryRecursionIsListedWithItsBound(t *testing.T) {
	list := exec.CommandContext(t.Context(), "go", "list", "-export", "-deps", "-f", "{{.ImportPath}}\t{{.Export}}\t{{if .Module}}{{.Module.Main}}{{end}}\t{{.Dir}}", "./...")
	list.Dir = ".."
	var stderr bytes.Buffer
	list.Stderr = &stderr
	out, err := list.Output()
	require.NoError(t, err, stderr.String())
	export := map[string]string{}
	dirs := map[string]string{}
	for line := range strings.Lines(string(out)) {
		f := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		export[f[0]] = f[1]
		if f[2] == "true" {
			dirs[f[0]] = f[3]
		}
	}
	require.Greater(t, len(dirs), 20)
	fset := token.NewFileSet()
	imports := importer.ForCompiler(fset, "gc", func(path string) (io.ReadCloser, error) { return os.Open(export[path]) })
	found := map[string]bool{}
	for path, dir := range dirs {
		for _, name := range recursions(t, fset, imports, path, dir) {
			found[strings.TrimPrefix(strings.TrimPrefix(path, "cardback/"), "internal/")+"."+name] = true
		}
	}
	var missing, gone []string
	for name := range found {
		if boundedRecursion[name] == "" {
			missing = append(missing, name)
		}
	}
	for name := range boundedRecursion {
		if !found[name] {
			gone = append(gone, name)
		}
	}
	slices.Sort(missing)
	slices.Sort(gone)
	require.Empty(t, missing, "they call themselves; say in boundedRecursion what bounds the depth")
	require.Empty(t, gone, "they do not call themselves any more")
}

// recursions names the functions of a package that may come to call themselves.
func recursions(t *testing.T, fset *token.FileSet, imports types.Importer, path, dir string) []string {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var files []*ast.File
	for _, e := range entries {
		name := e.Name()
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			continue
		}
		file := filepath.Join(dir, name)
		if strings.HasSuffix(name, "_other.go") { // for systems that the tests do not run on
			continue
		}
		f, err := parser.ParseFile(fset, file, nil, parser.SkipObjectResolution)
		require.NoError(t, err)
		files = append(files, f)
	}
	info := &types.Info{Uses: map[*ast.Ident]types.Object{}, Defs: map[*ast.Ident]types.Object{}}
	conf := types.Config{Importer: imports, Error: func(error) {}} // files of other systems may differ
	pkg, _ := conf.Check(path, fset, files, info)

	calls := map[types.Object][]types.Object{}
	names := map[types.Object]string{}
	for _, f := range files {
		for _, decl := range f.Decls {
			fn, ok := decl.(*ast.FuncDecl)
			if !ok || fn.Body == nil {
				continue
			}
			self := info.Defs[fn.Name]
			names[self] = fn.Name.Name
			if fn.Recv != nil {
				names[self] = types.TypeString(self.Type().(*types.Signature).Recv().Type(), func(*types.Package) string { return "" }) + "." + fn.Name.Name
			}
			names[self] = strings.TrimPrefix(names[self], "*")
			mentioned(fn.Body, info, func(o types.Object) {
				if g, ok := o.(*types.Func); ok && g.Pkg() == pkg {
					calls[self] = append(calls[self], g.Origin())
				}
			})
			// A closure kept in a variable, which it mentions.
			ast.Inspect(fn.Body, func(n ast.Node) bool {
				a, ok := n.(*ast.AssignStmt)
				if !ok {
					return true
				}
				for i, rhs := range a.Rhs {
					lit, ok := rhs.(*ast.FuncLit)
					if !ok || i >= len(a.Lhs) {
						continue
					}
					id, ok := a.Lhs[i].(*ast.Ident)
					if !ok {
						continue
					}
					v := info.Uses[id]
					if v == nil {
						continue // := cannot mention itself
					}
					names[v] = names[self] + "." + id.Name
					mentioned(lit.Body, info, func(o types.Object) {
						if o == v {
							calls[v] = append(calls[v], v)
						}
					})
				}
				return true
			})
		}
	}
	var out []string
	for from := range names {
		seen := map[types.Object]bool{}
		todo := slices.Clone(calls[from])
		for len(todo) > 0 {
			o := todo[len(todo)-1]
			todo = todo[:len(todo)-1]
			if !seen[o] {
				seen[o] = true
				todo = append(todo, calls[o]...)
			}
		}
		if seen[from] {
			out = append(out, names[from])
		}
	}
	return out
}

func mentioned(n ast.Node, info *types.Info, visit func(types.Object)) {
	ast.Inspect(n, func(n ast.Node) bool {
		if id, ok := n.(*ast.Ident); ok {
			if o := info.Uses[id]; o != nil {
				visit(o)
			}
		}
		return true
	})
}
