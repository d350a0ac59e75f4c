package site

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/fit/frontier"
	"cardback/internal/longrun"
	"cardback/internal/mesh"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict"
)

// typedPlate is a plate as a visitor types it.
type typedPlate struct {
	Process string `json:"process"`
	Shape   string `json:"shape"`
	Width   string `json:"width"`
	Depth   string `json:"depth"`
	Height  string `json:"height"`
	Margin  string `json:"margin"`
	Unit    string `json:"unit"`
}

func (p typedPlate) plate(t *testing.T) fit.Plate {
	mm := func(text string) float64 {
		v, err := strconv.ParseFloat(text, 64)
		require.NoError(t, err)
		if p.Unit == "in" {
			v *= 25.4
		}
		return v
	}
	out := fit.Plate{Width: mm(p.Width), Depth: mm(p.Depth), Height: mm(p.Height), Margin: mm(p.Margin), Round: p.Shape == "round"}
	if out.Round {
		out.Depth = out.Width
	}
	return out
}

// randomPlates are half of sizes from a part of the release, a few steps of a
// frontier off, where every comparison and rounding counts, and half of any.
func randomPlates(rng *rand.Rand, n int, fs map[*bench.Process][]*frontier.Frontier) []typedPlate {
	var out []typedPlate
	for i := range n {
		proc := bench.Shipped().Processes()[i%len(bench.Shipped().Processes())]
		p := typedPlate{Process: proc.String(), Shape: "rectangle", Unit: "mm"}
		if i%3 == 2 {
			p.Shape = "round"
		}
		margin := float64(rng.IntN(60)) / 10
		sides := [3]float64{5 + 300*rng.Float64(), 5 + 300*rng.Float64(), 5 + 300*rng.Float64()}
		if all := fs[proc]; i%2 == 0 && len(all) > 0 {
			f := all[rng.IntN(len(all))]
			near := func(steps int) float64 { return float64(steps+rng.IntN(3)-1) * f.Step }
			switch {
			case p.Shape == "round" && rng.IntN(2) == 0:
				sides = [3]float64{near(f.Circle), 0, near(f.Supplied[2])}
			case p.Shape == "round":
				c := f.Cylinders[rng.IntN(len(f.Cylinders))]
				sides = [3]float64{near(c[0]), 0, near(c[1])}
			case rng.IntN(3) == 0:
				c := f.Turned[rng.IntN(len(f.Turned))]
				sides = [3]float64{near(c[1]), near(c[0]), near(f.Supplied[2])}
			case rng.IntN(2) == 0:
				c := f.Boxes[rng.IntN(len(f.Boxes))]
				order := rng.Perm(3)
				sides = [3]float64{near(c[order[0]]), near(c[order[1]]), near(c[order[2]])}
			default:
				sides = [3]float64{near(f.Supplied[0]), near(f.Supplied[1]), near(f.Supplied[2])}
			}
			sides[0] += 2 * margin
			sides[1] += 2 * margin
		}
		text := func(v float64) string { return strconv.FormatFloat(max(v, 0.5), 'f', 6, 64) }
		if rng.IntN(4) == 0 {
			p.Unit = "in"
			text = func(v float64) string { return strconv.FormatFloat(max(v, 0.5)/25.4, 'f', 7, 64) }
		}
		p.Width, p.Depth, p.Height = text(sides[0]), text(sides[1]), text(sides[2])
		p.Margin = text(margin)
		if margin == 0 {
			p.Margin = "0"
		}
		out = append(out, p)
	}
	return out
}

// frontiersOf are the frontiers of all parts of a release as the page has them.
func frontiersOf(t *testing.T, r release.Release, s survey.Survey) map[*bench.Process][]*frontier.Frontier {
	out := map[*bench.Process][]*frontier.Frontier{}
	for _, proc := range bench.Shipped().Processes() {
		for _, part := range printing.Of(r, proc).Parts {
			cs, ok := s.Measured(verdict.OnAnyPlate(part, s).Cut)
			if !ok || cs.Frontiers[proc] == nil {
				continue
			}
			text := cs.Frontiers[proc].Text()
			require.LessOrEqual(t, len(text), frontier.MostBytes, part.Slug)
			f, err := frontier.Read(text)
			require.NoError(t, err)
			out[proc] = append(out[proc], f)
		}
	}
	return out
}

// expected is what the program says of the plate: each part's answer, and the
// sentence.
func expected(t *testing.T, r release.Release, s survey.Survey, typed typedPlate) (how []string, sentence string) {
	proc, plate := bench.Shipped().Process(typed.Process), typed.plate(t)
	word := map[fit.Verdict]string{fit.AsSupplied: "supplied", fit.Turned: "turned", fit.Tipped: "tipped", fit.CannotFit: "not", "": "none"}
	a := verdict.Judge(printing.Of(r, proc), func(p printing.Part) verdict.PartFit {
		pf := verdict.OnAnyPlate(p, s)
		if cs, ok := s.Measured(pf.Cut); ok && cs.Frontiers[proc] != nil {
			v := cs.Frontiers[proc].Fits(plate)
			pf.Result = fit.Result{Verdict: v, Declared: p.Declared(), Keeps: v != fit.Tipped}
		}
		how = append(how, word[pf.Result.Verdict])
		return pf
	})
	return how, a.Sentence
}

// The page's script answers as frontier.Frontier.Fits and verdict.Judge do, read from a
// folder, on 1,000 plates typed into its form.
func TestMyPlateAgreesWithTheProgramInABrowser(t *testing.T) {
	path := chromium(t)
	longrun.Only(t, "browser tests are not short")
	f := newFixture(t)
	r := f.in.Site.Releases[0]
	// A real frontier for one part, and a wedge's for another that must be tilted.
	body := []mesh.Vec{{}, {X: 60}, {X: 60, Y: 25}, {X: 10, Y: 40}, {Z: 18}, {X: 55, Y: 12, Z: 30}}
	for _, rel := range []string{r.Parts[0].Cuts[0].Rel, r.Parts[0].Cuts[1].Rel, r.Parts[1].Cuts[0].Rel} {
		real, err := frontier.New(t.Context(), body)
		require.NoError(t, err)
		for _, proc := range bench.Shipped().Processes() {
			f.in.Survey[rel].Frontiers[proc] = real
		}
	}
	agree(t, path, f.input(), r, 1000)
}

func agree(t *testing.T, chromiumPath string, in Input, r release.Release, n int) {
	dir := t.TempDir()
	require.NoError(t, Build(t.Context(), in, dir))
	b := openBrowser(t, chromiumPath, "")
	require.NoError(t, chromedp.Do(b.ctx, chromedp.Navigate("file://"+filepath.ToSlash(dir)+"/"+releasePath(r))))
	plates := randomPlates(rand.New(rand.NewPCG(4, 1)), n, frontiersOf(t, r, in.Survey))
	asked, err := json.Marshal(plates)
	require.NoError(t, err)
	text, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](fmt.Sprintf(`JSON.stringify(%s.map((plate) => {
		const form = document.getElementById("my-plate");
		for (const [name, value] of Object.entries(plate)) form.elements[name].value = value;
		form.dispatchEvent(new Event("change"));
		return {how: [...form.querySelectorAll("tbody tr")].map((row) => row.dataset.how), sentence: form.querySelector("[role=status]").textContent};
	}))`, asked)))
	require.NoError(t, err)
	var got []struct {
		How      []string
		Sentence string
	}
	require.NoError(t, json.Unmarshal([]byte(text), &got))
	require.Len(t, got, len(plates))
	seen := map[string]int{}
	for i, p := range plates {
		how, sentence := expected(t, r, in.Survey, p)
		require.Equal(t, how, got[i].How, "%+v", p)
		require.Equal(t, sentence, got[i].Sentence, "%+v", p)
		for _, h := range how {
			seen[h]++
		}
	}
	for _, h := range []string{"supplied", "turned", "tipped", "not"} {
		require.Positive(t, seen[h], "no plate asked for %q: %v", h, seen)
	}

	// What was typed is there after the page is read again, and can be forgotten.
	kept, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`localStorage.getItem("my-plate")`))
	require.NoError(t, err)
	require.Contains(t, kept, plates[len(plates)-1].Height)
	require.NoError(t, chromedp.Do(b.ctx, chromedp.Navigate("file://"+filepath.ToSlash(dir)+"/"+releasePath(r))))
	height, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.getElementById("plate-height").value`))
	require.NoError(t, err)
	require.Equal(t, plates[len(plates)-1].Height, height)
	gone, err := chromedp.Run(b.ctx, chromedp.Evaluate[string](`document.querySelector("[data-forget]").click(), String(localStorage.getItem("my-plate")) + document.getElementById("plate-height").value`))
	require.NoError(t, err)
	require.Equal(t, "null", gone)
	b.mu.Lock()
	defer b.mu.Unlock()
	require.Empty(t, b.messages, "the console stays empty")
}

// The demo's dredger: its pieces go onto the small plate, the whole hull is proved
// not to, and goes onto the large one. The page's script agrees with the program
// over all its parts.
func TestTheDredgerIsSplitForTheSmallPlateAndWholeOnTheLarge(t *testing.T) {
	longrun.Only(t, "it measures a release of the demo")
	s, err := release.Load(filepath.Join("..", "..", "content"))
	require.NoError(t, err)
	s.Releases = slices.DeleteFunc(s.Releases, func(r release.Release) bool { return r.Slug != "walking-dredger" })
	require.Len(t, s.Releases, 1)
	r := s.Releases[0]
	found, err := survey.Run(t.Context(), s, nil, nil)
	require.NoError(t, err)
	in := judged(t, s, found, nil)
	answer := func(plate string) (a verdict.PlateAnswer, parts map[string]fit.Result) {
		parts = map[string]fit.Result{}
		for _, a = range in.Of(r.Number).Plates {
			if a.Plate.ID == plate {
				for _, p := range a.Parts {
					parts[p.Part] = p.Result
				}
				return a, parts
			}
		}
		t.Fatalf("no plate %s", plate)
		return a, parts
	}
	a, parts := answer("small-resin")
	require.True(t, a.Fits)
	require.Equal(t, []string{"hull"}, a.UseSplit)
	require.Equal(t, fit.CannotFit, parts["hull"].Verdict, "proved, not undecided")
	require.Equal(t, fit.Tolerance, parts["hull"].Tolerance)
	for _, piece := range []string{"hull-fore", "hull-mid", "hull-aft"} {
		require.True(t, parts[piece].Verdict.Fits(), piece)
	}
	require.Contains(t, a.Sentence, "is printed in its pieces")
	a, parts = answer("large-resin")
	require.True(t, a.Fits)
	require.Empty(t, a.UseSplit)
	require.True(t, parts["hull"].Verdict.Fits())
	require.Contains(t, a.Sentence, "Whole hull need not be split")

	agree(t, chromium(t), in, r, 1000)
}
