package verdict_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"cardback/internal/measure"
	"cardback/internal/measure/thin"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/verdict"
	"cardback/internal/verdict/standing"
)

const finMesh = "aabbccddeeff00112233"

// finned is a site with one part whose fin is under a third of what filament needs and
// half of what resin does; its notes accept what is given.
func finned(accepts ...release.Accepted) *fixture {
	f := newFixture()
	for i := range f.site.Bench.Materials {
		m := &f.site.Bench.Materials[i]
		m.Name, m.WallMin, m.PinMin = m.ID, .8, 1
	}
	f.site.Bench.Materials[0].WallMin = .5
	f.add(release.Part{Slug: "fin", Name: "Fin", Quantity: 1, Accepts: accepts}, everywhere, release.CutAny)
	f.s["fin/any"].Report.Fingerprint = finMesh
	// Long, tall and joined at both sides, so that it carries something.
	wall := thin.Place{Kind: thin.Wall, Thickness: .25, Extent: 20, Area: 200, Run: 10, Joins: true, At: mesh.Vec{X: 3}}
	f.s["fin/any"].Report.Thin = thin.Report{Limit: 4, Places: []thin.Place{wall}}
	return f
}

func accepting(code, of string) release.Accepted {
	return release.Accepted{Finding: code, Mesh: of, Why: "It carries nothing", Line: 7}
}

// of lists the findings about the part as level, code and reason.
func (f *fixture) of(slug string) []string {
	var out []string
	for _, x := range verdict.Findings(&f.site, f.s) {
		if x.Part == slug {
			out = append(out, strings.TrimSpace(string(x.Level)+" "+x.Code+" "+x.Accepted))
		}
	}
	return out
}

func TestAnAcceptedFindingStaysAndLowersLess(t *testing.T) {
	f := finned()
	require.Equal(t, []string{"caution thin-wall"}, f.of("fin"))
	require.Equal(t, standing.NotSuited, f.cell("filament").Standing)
	line, ok := verdict.Findings(&f.site, f.s)[0].AcceptLine()
	require.True(t, ok)
	require.Equal(t, `- {finding: thin-wall, mesh: "aabbccddeeff0011", why: ""}`, line)

	f = finned(accepting("thin-wall", finMesh[:16]))
	require.Equal(t, []string{"note thin-wall It carries nothing"}, f.of("fin"))
	_, ok = verdict.Findings(&f.site, f.s)[0].AcceptLine()
	require.False(t, ok, "it is accepted")
	// What fails wants care still: nobody has shown that it prints.
	c := f.cell("filament")
	require.Equal(t, standing.WithCare, c.Standing)
	require.Contains(t, c.Reason, "Accepted by the designer for this mesh: It carries nothing.")
	require.Equal(t, "It carries nothing", c.Grounds[0].Accepted)
	// What wanted care passes, and is said.
	c = f.cell("resin")
	require.Equal(t, standing.Expected, c.Standing)
	require.Contains(t, c.Reason, "Passes, with 1 note")
	require.Contains(t, c.Reason, "Accepted by the designer for this mesh: It carries nothing.")

	// Acceptance of another finding does nothing for this one, and is told to be idle.
	f = finned(accepting("thin-pin", finMesh[:16]))
	require.Equal(t, []string{"caution thin-wall", "note accepted-nothing"}, f.of("fin"))
	require.Equal(t, standing.NotSuited, f.cell("filament").Standing)

	// A failed print is no matter of acceptance.
	f = finned(accepting("thin-wall", finMesh[:16]))
	f.logged(1, "filament", release.Failed, "fin="+finMesh)
	require.Equal(t, standing.NotSuited, f.cell("filament").Standing)
	f = finned(accepting("thin-wall", finMesh[:16]))
	f.logged(1, "filament", release.Good, "fin="+finMesh)
	require.Equal(t, standing.Proven, f.cell("filament").Standing)
}

func TestAnAcceptanceLapsesWithItsMesh(t *testing.T) {
	f := finned(accepting("thin-wall", "0011223344556677"))
	require.Equal(t, []string{"caution thin-wall", "caution accepted-earlier"}, f.of("fin"))
	require.Equal(t, standing.NotSuited, f.cell("filament").Standing)
	found := verdict.Findings(&f.site, f.s)
	require.Equal(t, `Line 7 of the part's notes: thin-wall was accepted of an earlier mesh (0011223344556677) and no longer counts. Look at it again; if it still holds, the mesh is now aabbccddeeff0011.`, found[1].Text)

	f.s["fin/any"].Report.Thin = thin.Report{}
	require.Equal(t, []string{"caution accepted-earlier"}, f.of("fin"))
	// Of a mesh that cannot be read nothing is known.
	f.s["fin/any"].Err, f.s["fin/any"].Report = errTest, nil
	require.Equal(t, []string{"fault unreadable"}, f.of("fin"))
}

func TestAFaultIsNotAcceptedAway(t *testing.T) {
	f := finned(accepting("negative-volume", finMesh[:16]))
	f.s["fin/any"].Report.Thin = thin.Report{}
	f.s["fin/any"].Report.Findings = []measure.Finding{{Level: measure.Fault, Code: "negative-volume", Text: "Inside out."}}
	require.Equal(t, []string{"fault negative-volume", "caution accepted-fault"}, f.of("fin"))
	require.Equal(t, standing.WithCare, f.cell("filament").Standing, "the sound rule is untouched")
}

// Whoever adds a finding about a mesh says in package release whether it may be
// accepted: every code that the sources of these packages name is known there, but for
// those that are not about one mesh.
func TestEveryFindingAboutAMeshIsAcceptableOrSaidNotToBe(t *testing.T) {
	elsewhere := map[string]bool{}
	for _, code := range []string{"licence-discouraged", "licence-not-allowed", "licence-not-covered", "pose-open", "pose-unreadable", "sealed-lost",
		"hardware-count", "hardware-cut", "hardware-length", "hardware-missing", "rod-stands-out", "rod-too-long", "rod-too-short",
		"accepted-earlier", "accepted-fault", "accepted-nothing", "height-differs", "log-part-unknown", "sealed-edited"} {
		elsewhere[code] = true
	}
	slug := regexp.MustCompile(`^[a-z]+(-[a-z]+)*$`)
	seen := 0
	for _, dir := range []string{".", "../measure"} {
		files, err := filepath.Glob(filepath.Join(dir, "*.go"))
		require.NoError(t, err)
		for _, file := range files {
			if strings.HasSuffix(file, "_test.go") {
				continue
			}
			text, err := os.ReadFile(file)
			require.NoError(t, err)
			parsed, err := parser.ParseFile(token.NewFileSet(), file, text, 0)
			require.NoError(t, err)
			check := func(e ast.Expr) {
				lit, ok := e.(*ast.BasicLit)
				if !ok || lit.Kind != token.STRING {
					return
				}
				code, err := strconv.Unquote(lit.Value)
				require.NoError(t, err)
				if !slug.MatchString(code) || elsewhere[code] {
					return
				}
				seen++
				_, known := release.Acceptable(code)
				assert.True(t, known, "%s: finding %q: say in internal/release/accept.go whether it may be accepted", file, code)
			}
			ast.Inspect(parsed, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.KeyValueExpr:
					if key, ok := n.Key.(*ast.Ident); ok && key.Name == "Code" {
						check(n.Value)
					}
				case *ast.CallExpr: // say(level, code, text) and its like
					for i, a := range n.Args {
						if sel, ok := a.(*ast.SelectorExpr); ok && (sel.Sel.Name == "Fault" || sel.Sel.Name == "Caution" || sel.Sel.Name == "Note") && i+1 < len(n.Args) {
							check(n.Args[i+1])
						}
						if id, ok := a.(*ast.Ident); ok && (id.Name == "Fault" || id.Name == "Caution" || id.Name == "Note") && i+1 < len(n.Args) {
							check(n.Args[i+1])
						}
					}
				}
				return true
			})
		}
	}
	require.Greater(t, seen, 40)
}
