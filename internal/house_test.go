package internal_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"github.com/stretchr/testify/require"
)

// mayImport is the one-way flow of the house: for each package, the packages of
// ours that it may import outside tests. A package that is not here may not
// exist; whoever adds one says here where it stands.
var mayImport = map[string][]string{
	"internal/words":          {},
	"internal/sets":           {},
	"internal/infile":         {},
	"internal/notes":          {"internal/words"},
	"internal/literal":        {},
	"internal/fields":         {"internal/literal"},
	"internal/pending":        {"internal/infile"},
	"internal/outdir":         {"internal/infile", "internal/pending"},
	"internal/store":          {"internal/infile", "internal/pending"},
	"internal/parallel":       {},
	"internal/memory":         {},
	"internal/cutstock":       {},
	"internal/deflate":        {},
	"internal/meshfile":       {"internal/infile", "internal/deflate", "internal/mesh", "internal/store"},
	"internal/mesh":           {"internal/words", "internal/deflate", "internal/literal", "internal/infile", "internal/parallel"},
	"internal/bench":          {"internal/words", "internal/fields"},
	"internal/photo":          {},
	"internal/release":        {"internal/notes", "internal/photo", "internal/words", "internal/infile", "internal/fields", "internal/bench"},
	"internal/mend":           {"internal/mesh", "internal/measure/exact", "internal/measure/tree", "internal/measure/sound"},
	"internal/measure":        {"internal/mend", "internal/words", "internal/mesh", "internal/parallel", "internal/measure/exact", "internal/measure/tree", "internal/measure/sound", "internal/measure/thin", "internal/measure/bore", "internal/measure/slice", "internal/measure/stack", "internal/measure/hull", "internal/measure/shadow", "internal/sets"},
	"internal/rotation":       {"internal/mesh"},
	"internal/fit":            {"internal/words", "internal/fields", "internal/mesh", "internal/rotation", "internal/fit/footprint", "internal/fit/posture"},
	"internal/layout":         {"internal/words", "internal/mesh", "internal/fit", "internal/fit/footprint", "internal/parallel", "internal/measure/shadow"},
	"internal/draw":           {"internal/words", "internal/mesh", "internal/parallel", "internal/measure/shadow"},
	"internal/printing":       {"internal/rotation", "internal/bench", "internal/release", "internal/measure/slice", "internal/fit"},
	"internal/survey":         {"internal/meshfile", "internal/printing", "internal/memory", "internal/mend", "internal/infile", "internal/mesh", "internal/measure", "internal/measure/loose", "internal/measure/tree", "internal/measure/slice", "internal/measure/stand", "internal/measure/stack", "internal/fit", "internal/rotation", "internal/fit/gauge", "internal/fit/frontier", "internal/draw", "internal/bench", "internal/release", "internal/store", "internal/measure/hull", "internal/measure/shadow", "internal/parallel"},
	"internal/survey/plates":  {"internal/bench", "internal/fit", "internal/infile", "internal/layout", "internal/measure/shadow", "internal/mesh", "internal/meshfile", "internal/parallel", "internal/printing", "internal/release", "internal/rotation", "internal/store", "internal/survey", "internal/words"},
	"internal/survey/history": {"internal/words", "internal/printing", "internal/bench", "internal/draw", "internal/infile", "internal/measure", "internal/measure/change", "internal/mesh", "internal/meshfile", "internal/parallel", "internal/release", "internal/store", "internal/survey"},
	"internal/verdict":        {"internal/survey/plates", "internal/printing", "internal/notes", "internal/words", "internal/mesh", "internal/measure", "internal/measure/slice", "internal/measure/stand", "internal/measure/thin", "internal/measure/bore", "internal/measure/stack", "internal/fit", "internal/rotation", "internal/fit/gauge", "internal/bench", "internal/release", "internal/survey", "internal/measure/shadow", "internal/survey/history", "internal/verdict/standing", "internal/verdict/seats", "internal/verdict/reprint", "internal/verdict/needs", "internal/verdict/hardware"},
	"internal/pack":           {"internal/survey/plates", "internal/deflate", "internal/meshfile", "internal/store", "internal/printing", "internal/words", "internal/infile", "internal/mesh", "internal/bench", "internal/release", "internal/survey", "internal/verdict", "internal/parallel", "internal/verdict/reprint", "internal/verdict/hardware"},
	"themes/quay":             {},
	"internal/site":           {"internal/survey/plates", "internal/meshfile", "internal/store", "internal/printing", "internal/notes", "internal/photo", "internal/words", "internal/infile", "themes/quay", "internal/mesh", "internal/measure", "internal/measure/change", "internal/fit", "internal/fit/frontier", "internal/layout", "internal/draw", "internal/bench", "internal/release", "internal/survey", "internal/verdict", "internal/pack", "internal/measure/shadow", "internal/survey/history", "internal/verdict/standing", "internal/verdict/seats", "internal/verdict/reprint", "internal/verdict/needs", "internal/verdict/backlog", "internal/verdict/hardware"},
	"internal/cli":            {"internal/survey/plates", "internal/printing", "internal/memory", "internal/pending", "internal/outdir", "internal/mend", "internal/words", "internal/literal", "internal/infile", "internal/mesh", "internal/measure", "internal/measure/slice", "internal/measure/thin", "internal/measure/bore", "internal/measure/change", "internal/fit", "internal/rotation", "internal/fit/gauge", "internal/fit/frontier", "internal/draw", "internal/fields", "internal/bench", "internal/release", "internal/store", "internal/survey", "internal/verdict", "internal/pack", "internal/site", "internal/measure/hull", "internal/measure/shadow", "internal/survey/history", "internal/verdict/standing", "internal/verdict/seats", "internal/verdict/reprint", "internal/verdict/backlog"},
	"cmd/cardback":            {"internal/cli"},
	"cmd/demoparts":           {"internal/mesh", "cmd/demoparts/solid"},

	"internal/verdict/seats":    {"internal/bench", "internal/measure", "internal/measure/bore", "internal/printing", "internal/release", "internal/survey", "internal/verdict/hardware", "internal/words"},
	"internal/verdict/standing": {"internal/bench", "internal/measure/change", "internal/printing", "internal/release", "internal/survey", "internal/survey/history", "internal/words"},
	"internal/verdict/reprint":  {"internal/bench", "internal/measure/change", "internal/printing", "internal/release", "internal/survey/history", "internal/words"},
	"internal/verdict/needs":    {"internal/bench", "internal/measure", "internal/printing", "internal/release", "internal/survey", "internal/survey/plates", "internal/words"},
	"internal/verdict/backlog":  {"internal/bench", "internal/fit", "internal/measure", "internal/printing", "internal/release", "internal/survey", "internal/survey/history", "internal/verdict", "internal/verdict/needs", "internal/verdict/standing", "internal/words"},
	"internal/verdict/hardware": {"internal/bench", "internal/cutstock", "internal/printing", "internal/release", "internal/words"},
	"internal/fit/footprint":    {"internal/mesh"},
	"internal/fit/posture":      {"internal/mesh", "internal/rotation", "internal/fit/footprint"},
	"internal/fit/frontier":     {"internal/mesh", "internal/fit", "internal/fit/footprint", "internal/fit/posture"},
	"internal/fit/gauge":        {"internal/mesh", "internal/rotation", "internal/fit", "internal/fit/footprint", "internal/fit/posture"},
	"internal/fit/fittest":      {"internal/longrun", "internal/reference", "internal/mesh", "internal/rotation", "internal/measure/hull"}, // for tests alone

	"internal/measure/exact":  {"internal/mesh"},
	"internal/measure/hull":   {"internal/mesh", "internal/measure/exact"},
	"internal/measure/shadow": {"internal/mesh", "internal/parallel"},
	"internal/measure/tree":   {"internal/mesh", "internal/parallel"},
	"internal/measure/inside": {"internal/mesh", "internal/measure/tree"},
	"internal/measure/sound":  {"internal/mesh", "internal/parallel", "internal/measure/exact", "internal/measure/tree"},
	"internal/measure/thin":   {"internal/mesh", "internal/parallel", "internal/measure/exact", "internal/measure/tree", "internal/measure/inside", "internal/sets"},
	"internal/measure/bore":   {"internal/mesh", "internal/parallel", "internal/measure/tree", "internal/measure/inside", "internal/sets"},
	"internal/measure/stand":  {"internal/mesh", "internal/measure/exact"},
	"internal/measure/stack":  {"internal/mesh", "internal/parallel", "internal/measure/inside", "internal/sets"},
	"internal/measure/change": {"internal/rotation", "internal/words", "internal/mesh", "internal/parallel", "internal/measure/exact", "internal/measure/tree"},
	"internal/measure/slice":  {"internal/words", "internal/mesh", "internal/parallel", "internal/measure/exact", "internal/measure/stack"},

	"internal/measure/loose": {"internal/mesh", "internal/measure/tree", "internal/measure/inside", "internal/sets"},

	"internal/meshtest":   {"internal/mesh", "internal/reference"}, // for tests alone
	"internal/hostile":    {},                                      // tests alone
	"internal/reference":  {},                                      // for tests alone
	"internal/longrun":    {},                                      // for tests alone
	"cmd/demoparts/solid": {"internal/mesh"},
}

func TestImportsFlowOneWay(t *testing.T) {
	root := ".."
	seen, used := map[string]bool{}, map[string]bool{}
	err := filepath.WalkDir(root, func(file string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel := filepath.ToSlash(strings.TrimPrefix(file, root+string(filepath.Separator)))
		if d.IsDir() {
			if name := d.Name(); file != root && (strings.HasPrefix(name, ".") || name == "testdata" || rel == "build" || rel == "content") {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(rel, ".go") || strings.HasSuffix(rel, "_test.go") {
			return nil
		}
		pkg := path.Dir(rel)
		allowed, known := mayImport[pkg]
		require.True(t, known, "%s: package %s has no place in the house; add it to mayImport", rel, pkg)
		seen[pkg] = true
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, imp := range f.Imports {
			target, err := strconv.Unquote(imp.Path.Value)
			if err != nil {
				return err
			}
			ours, isOurs := strings.CutPrefix(target, "cardback/")
			used[pkg+" "+ours] = true
			if isOurs && !slices.Contains(allowed, ours) {
				t.Errorf("%s imports %s, which is not before it in the flow", rel, ours)
			}
		}
		return nil
	})
	require.NoError(t, err)
	for pkg, allowed := range mayImport {
		require.True(t, seen[pkg], "mayImport names %s, which does not exist", pkg)
		for _, ours := range allowed {
			require.True(t, used[pkg+" "+ours], "%s may import %s, and does not", pkg, ours)
		}
	}
}

// Pages show measures; they never open a mesh to take one. Site uses package
// mesh for its values alone.
func TestSiteOpensNoMesh(t *testing.T) {
	entries, err := os.ReadDir("site")
	require.NoError(t, err)
	used := 0
	for _, e := range entries {
		if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), filepath.Join("site", e.Name()), nil, 0)
		require.NoError(t, err)
		ast.Inspect(f, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if pkg, ok := sel.X.(*ast.Ident); ok && pkg.Name == "mesh" {
				used++
				require.Contains(t, []string{"Vec", "Box", "Info", "Format"}, sel.Sel.Name, "site/%s uses mesh.%s", e.Name(), sel.Sel.Name)
			}
			return true
		})
	}
	require.NotZero(t, used, "site no longer uses mesh: take the import out of mayImport, and this test with it")
}

// DEVELOPERS.md has a row for each package, and its picture shows each.
func TestTheHouseIsDrawn(t *testing.T) {
	text, err := os.ReadFile("../DEVELOPERS.md")
	require.NoError(t, err)
	_, house, found := strings.Cut(string(text), "\n## The house\n")
	require.True(t, found)
	house, _, _ = strings.Cut(house, "\n## ")
	_, picture, found := strings.Cut(house, "```\n")
	require.True(t, found)
	picture, rows, found := strings.Cut(picture, "```\n")
	require.True(t, found)
	drawn := strings.FieldsFunc(picture, func(c rune) bool { return !unicode.IsLetter(c) && c != '/' })
	for pkg := range mayImport {
		require.Contains(t, rows, "| `"+pkg+"` |", "the table of rooms")
		names := []string{pkg, path.Base(pkg)}
		require.True(t, slices.ContainsFunc(drawn, func(word string) bool {
			return slices.Contains(names, strings.TrimPrefix(word, "/")) || word == strings.TrimPrefix(pkg, "internal/")
		}), "the picture lacks %s", pkg)
	}
	for _, row := range regexp.MustCompile("(?m)^\\| `([^`]*)` \\|").FindAllStringSubmatch(rows, -1) {
		require.Contains(t, mayImport, row[1], "a row without a package")
	}
}

// The order of mayImport must itself be free of cycles, or the table would
// promise nothing.
func TestTheFlowHasNoCycle(t *testing.T) {
	var visit func(pkg string, trail []string)
	visit = func(pkg string, trail []string) {
		require.NotContains(t, trail, pkg, "a cycle")
		for _, next := range mayImport[pkg] {
			_, ok := mayImport[next]
			require.True(t, ok, "%s may import %s, which has no entry", pkg, next)
			visit(next, append(slices.Clone(trail), pkg))
		}
	}
	for pkg := range mayImport {
		visit(pkg, nil)
	}
}

// What outside libraries do, and where. STL files are written by hschendel/stl, in
// package mesh alone, and read by ours; hpinc/go3mf is too coarse for us and is met in
// tests alone, as an independent reader; loops are split in package parallel, by none
// that comes with errors of its own.
func TestLibrariesHaveTheirPlace(t *testing.T) {
	users := map[string][]string{}
	for pkg := range mayImport {
		entries, err := os.ReadDir(filepath.Join("..", pkg))
		require.NoError(t, err)
		for _, e := range entries {
			if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), filepath.Join("..", pkg, e.Name()), nil, parser.ImportsOnly)
			require.NoError(t, err)
			for _, imp := range f.Imports {
				lib := strings.Trim(imp.Path.Value, `"`)
				users[lib] = append(users[lib], pkg+"/"+e.Name())
			}
		}
	}
	for lib, place := range map[string][]string{
		"github.com/hschendel/stl":   {"internal/mesh/writestl.go"},
		"github.com/hpinc/go3mf":     nil,
		"golang.org/x/sync/errgroup": nil,
	} {
		require.Equal(t, place, users[lib], lib)
	}
}

// What people put into folders is opened by package infile alone, which does not
// wait for a pipe.
func TestFilesAreOpenedInOnePlace(t *testing.T) {
	forbidden := map[string][]string{"os": {"Open", "ReadFile", "ReadDir", "OpenRoot", "DirFS"}, "ioutil": {"ReadFile", "ReadDir"}}
	looked := 0
	for pkg := range mayImport {
		if pkg == "internal/infile" || pkg == "internal/reference" || strings.HasPrefix(pkg, "cmd/demoparts") {
			continue
		}
		entries, err := os.ReadDir(filepath.Join("..", pkg))
		require.NoError(t, err)
		for _, e := range entries {
			if !strings.HasSuffix(e.Name(), ".go") || strings.HasSuffix(e.Name(), "_test.go") {
				continue
			}
			file := token.NewFileSet()
			f, err := parser.ParseFile(file, filepath.Join("..", pkg, e.Name()), nil, 0)
			require.NoError(t, err)
			ast.Inspect(f, func(n ast.Node) bool {
				sel, ok := n.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				looked++
				if of, ok := sel.X.(*ast.Ident); ok && slices.Contains(forbidden[of.Name], sel.Sel.Name) {
					t.Errorf("%s: %s.%s would wait for a pipe; use package infile", file.Position(sel.Pos()), of.Name, sel.Sel.Name)
				}
				return true
			})
		}
	}
	require.NotZero(t, looked)
}

// A file of notes is parsed once: goldmark is known to package notes alone, which hands it
// a text in one place; that place is called from one of release, for each file that it
// reads; and what the rest of the house has of notes is the Document.
func TestNotesAreParsedOnce(t *testing.T) {
	var parsers, parses, reads []string
	for pkg := range mayImport {
		files, err := filepath.Glob(filepath.Join("..", pkg, "*.go"))
		require.NoError(t, err)
		for _, name := range files {
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
			require.NoError(t, err)
			for _, imp := range f.Imports {
				if strings.Contains(imp.Path.Value, "goldmark") {
					require.Equal(t, "internal/notes", pkg, "%s reads Markdown by itself", name)
				}
			}
			ast.Inspect(f, func(n ast.Node) bool {
				call, ok := n.(*ast.CallExpr)
				if !ok {
					return true
				}
				sel, ok := call.Fun.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				of, _ := sel.X.(*ast.Ident)
				switch {
				case pkg == "internal/notes" && sel.Sel.Name == "Parser":
					parsers = append(parsers, name)
				case of != nil && of.Name == "notes" && sel.Sel.Name == "Parse":
					parses = append(parses, name)
				case pkg == "internal/release" && of != nil && of.Name == "l" && sel.Sel.Name == "body":
					reads = append(reads, name)
				}
				return true
			})
		}
	}
	slices.Sort(reads)
	require.Equal(t, []string{"../internal/notes/document.go", "../internal/notes/extension.go"}, slices.Sorted(slices.Values(parsers)), "one parses, the other adds to the grammar")
	require.Equal(t, []string{"../internal/release/body.go"}, parses)
	require.Equal(t, []string{"../internal/release/load.go", "../internal/release/notes.go"}, reads, "a page, and a release's notes")
}

// A process is a row of a table, and nobody asks which it is: outside package bench, whose
// rows they are, and the demo, whose meshes are cut for two of them, no source names the
// shipped ones, and no template of the theme does.
func TestNobodyAsksWhichProcess(t *testing.T) {
	rows := []string{"filament", "resin"}
	seen := 0
	require.NoError(t, filepath.WalkDir("..", func(file string, d fs.DirEntry, err error) error {
		rel := strings.TrimPrefix(filepath.ToSlash(file), "../")
		switch {
		case err != nil:
			return err
		case d.IsDir() && (rel == "build" || rel == "content" || d.Name() == "testdata" || file != ".." && strings.HasPrefix(d.Name(), ".")):
			return fs.SkipDir
		case d.IsDir() || strings.HasSuffix(rel, "_test.go") || strings.HasPrefix(rel, "internal/bench/") || strings.HasPrefix(rel, "cmd/demoparts/"):
			return nil
		}
		switch path.Ext(rel) {
		case ".html", ".js":
			if strings.HasPrefix(rel, "themes/") {
				seen++
				text, err := os.ReadFile(file)
				require.NoError(t, err)
				for _, row := range rows {
					require.NotRegexp(t, `["'`+"`"+`]`+row+`["'`+"`"+`]`, string(text), rel)
				}
			}
		case ".go":
			seen++
			f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
			require.NoError(t, err)
			ast.Inspect(f, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.BasicLit:
					if text, err := strconv.Unquote(n.Value); err == nil && n.Kind == token.STRING {
						require.NotContains(t, rows, text, "%s names a process; ask its row, see bench.Process", rel)
					}
				case *ast.SelectorExpr:
					if pkg, ok := n.X.(*ast.Ident); ok && pkg.Name == "bench" {
						require.NotContains(t, []string{"Filament", "Resin"}, n.Sel.Name, "%s names a process; ask its row, see bench.Process", rel)
					}
				}
				return true
			})
		}
		return nil
	}))
	require.Greater(t, seen, 200)
}

// The table of what was once wrong in DEVELOPERS.md names tests that are there. A name
// after a slash is that of a command script.
func TestEveryClaimHasItsTest(t *testing.T) {
	text, err := os.ReadFile("../DEVELOPERS.md")
	require.NoError(t, err)
	_, table, found := strings.Cut(string(text), "## What was once wrong")
	require.True(t, found)
	table, _, found = strings.Cut(table, "\n## ")
	require.True(t, found)
	named := regexp.MustCompile("`([a-z/]+): ((?:Test|Fuzz)[A-Za-z0-9]+)(?:/([a-z-]+))?`").FindAllStringSubmatch(table, -1)
	require.Greater(t, len(named), 80)
	sources := map[string]string{}
	for _, m := range named {
		dir := m[1]
		if dir == "internal" {
			dir = "."
		}
		if sources[dir] == "" {
			files, err := filepath.Glob(filepath.Join(dir, "*_test.go"))
			require.NoError(t, err)
			for _, f := range files {
				data, err := os.ReadFile(f)
				require.NoError(t, err)
				sources[dir] += string(data)
			}
		}
		require.Contains(t, sources[dir], "func "+m[2]+"(", "%s: %s", m[1], m[2])
		if m[3] != "" {
			_, err := os.Stat(filepath.Join("..", "testdata", "cli", m[3]+".txtar"))
			require.NoError(t, err, m[0])
		}
	}
}

// writesItself are the files that may write numbers without package words, each with why.
var writesItself = map[string]string{
	"internal/draw/figure.go":             "coordinates of a drawing",
	"internal/fields/quantity.go":         "a fraction of an inch, to be read again",
	"internal/survey/history/geometry.go": "the key of what is kept",
	"internal/cli/fit.go":                 "a rotation in columns, to be copied",
	"internal/cli/smallparts.go":          "a rotation in columns, to be copied",
	"internal/mesh/threemfwrite.go":       "coordinates of a file",
	"internal/site/format.go":             "sets the counts of words as pages show them",
}

// What people read is written by package words: numbers, dates, plurals and capitals.
// A reader's error may quote a number as the notes give it (%g).
func TestWordsWritesWhatPeopleRead(t *testing.T) {
	forbidden := map[string][]string{
		"strconv": {"FormatFloat", "AppendFloat"},
		"strings": {"ToUpper", "Title", "ToTitle"},
		"unicode": {"ToUpper", "ToTitle"},
		"time":    {"DateOnly", "DateTime"},
	}
	decimals := regexp.MustCompile(`%[-+# 0-9]*\.[0-9*]+[efgEFG]|%[-+# 0-9]*[eEfF]|%[ds] %ss|2 January|Jan 2`)
	own := regexp.MustCompile(`(?i)^(plural|counted|pluralize|capital|capitalize|ordinal|listed)$`)
	used, looked := map[string]bool{}, 0
	for pkg := range mayImport {
		if pkg == "internal/words" || pkg == "internal/meshtest" || strings.HasPrefix(pkg, "cmd/") {
			continue
		}
		files, err := filepath.Glob(filepath.Join("..", pkg, "*.go"))
		require.NoError(t, err)
		for _, path := range files {
			name := filepath.ToSlash(strings.TrimPrefix(path, ".."+string(filepath.Separator)))
			if strings.HasSuffix(name, "_test.go") {
				continue
			}
			set := token.NewFileSet()
			f, err := parser.ParseFile(set, path, nil, 0)
			require.NoError(t, err)
			say := func(n ast.Node, what string) {
				if writesItself[name] != "" {
					used[name] = true
					return
				}
				t.Errorf("%s: %s; package words writes what people read", set.Position(n.Pos()), what)
			}
			ast.Inspect(f, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.SelectorExpr:
					looked++
					if of, ok := n.X.(*ast.Ident); ok && slices.Contains(forbidden[of.Name], n.Sel.Name) {
						say(n, of.Name+"."+n.Sel.Name)
					}
				case *ast.BasicLit:
					if n.Kind == token.STRING && decimals.MatchString(n.Value) {
						say(n, n.Value)
					}
				case *ast.FuncDecl:
					if n.Recv == nil && own.MatchString(n.Name.Name) {
						say(n, "func "+n.Name.Name)
					}
				}
				return true
			})
		}
	}
	require.NotZero(t, looked)
	for name := range writesItself {
		require.True(t, used[name], "%s writes no number itself: take it out of writesItself", name)
	}
}
