package draw

import (
	"encoding/xml"
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// A nil drawing is a fault of whoever calls; it stands for any.
func TestAFaultOfOneDrawingLosesThatDrawingAlone(t *testing.T) {
	for name, svg := range map[string]string{
		"figure": Figure(nil, FigureOptions{ID: "a", Title: "Arm & <hand>"}),
		"chart":  Chart([]ChartItem{{Drawings: []*Drawing{nil}}}, ChartOptions{ID: "a", Title: "Arm & <hand>"}),
	} {
		require.Contains(t, svg, noDrawing, name)
		d := xml.NewDecoder(strings.NewReader(svg))
		for {
			_, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err, name)
		}
		require.Contains(t, svg, "Arm &amp; &lt;hand&gt;")
	}
}

// Every function of the package that gives a drawing for a title begins by deferring
// notDrawn.
func TestEveryDrawingIsGuarded(t *testing.T) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	guarded := 0
	for _, file := range files {
		if strings.HasSuffix(file, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		require.NoError(t, err)
		for _, d := range f.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok || !fn.Name.IsExported() || fn.Recv != nil || fn.Type.Results == nil || len(fn.Type.Results.List) != 1 || len(fn.Type.Params.List) == 0 {
				continue
			}
			result, ok := fn.Type.Results.List[0].Type.(*ast.Ident)
			options, isOptions := fn.Type.Params.List[len(fn.Type.Params.List)-1].Type.(*ast.Ident)
			if !ok || result.Name != "string" || !isOptions || !strings.HasSuffix(options.Name, "Options") {
				continue
			}
			guard, ok := fn.Body.List[0].(*ast.DeferStmt)
			require.True(t, ok, fn.Name.Name)
			require.Equal(t, "notDrawn", guard.Call.Fun.(*ast.Ident).Name, fn.Name.Name)
			guarded++
		}
	}
	require.GreaterOrEqual(t, guarded, 7)
}
