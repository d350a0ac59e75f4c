package site

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"

	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/mesh"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// The data files. Field names carry their units; a field that does not apply is
// left out. The page on measuring documents them.

type catalogueJSON struct {
	Title    string        `json:"title"`
	Designer string        `json:"designer"`
	URL      string        `json:"url"`
	Releases []releaseLine `json:"releases"`
}

type releaseLine struct {
	Number   int     `json:"number"`
	Slug     string  `json:"slug"`
	Title    string  `json:"title"`
	Released string  `json:"released,omitempty"`
	Draft    bool    `json:"draft,omitempty"`
	Height   float64 `json:"height_mm,omitempty"`
	Scale    string  `json:"scale,omitempty"`
	Summary  string  `json:"summary"`
	Licence  string  `json:"licence"`
	Page     string  `json:"page"`
	Data     string  `json:"data"`
}

type releaseJSON struct {
	releaseLine
	Parts     []partJSON     `json:"parts"`
	Hardware  []hardwareJSON `json:"hardware"`
	Plates    []plateJSON    `json:"plates"`
	Materials []materialJSON `json:"materials"`
	Archives  []fileJSON     `json:"archives"`
	Laid      []laidJSON     `json:"laid,omitempty"`
	sealedJSON
	takesJSON
	Findings []findingJSON `json:"findings"`
}

type partJSON struct {
	Number   int       `json:"number"`
	Slug     string    `json:"slug"`
	Name     string    `json:"name"`
	Quantity int       `json:"quantity"`
	Mirrored int       `json:"mirrored"`
	Choice   string    `json:"choice,omitempty"`
	Replaces string    `json:"replaces,omitempty"`
	Cuts     []cutJSON `json:"cuts"`
}

type cutJSON struct {
	Kind        string      `json:"kind"`
	Error       string      `json:"error,omitempty"`
	Format      string      `json:"format,omitempty"`
	Fingerprint string      `json:"fingerprint,omitempty"`
	Triangles   int         `json:"triangles,omitempty"`
	Size        *[3]float64 `json:"size_mm,omitempty"`
	Volume      float64     `json:"volume_mm3,omitempty"`
	Area        float64     `json:"area_mm2,omitempty"`
	Closed      *bool       `json:"closed,omitempty"`
	*measuredJSON
	Files []fileJSON `json:"files"`
}

// measuredJSON is what was measured beyond sizes, in the words of the command
// line's contract.
type measuredJSON struct {
	SelfIntersections int                    `json:"self_intersections"`
	Cavities          int                    `json:"cavities"`
	InvertedShells    int                    `json:"inverted_shells"`
	ThinnestWall      *float64               `json:"thinnest_wall_mm"`
	ThinnestPin       *float64               `json:"thinnest_pin_mm"`
	ThinLimit         float64                `json:"thin_limit_mm"`
	Thin              []measure.ContractThin `json:"thin"`
	ThinEdges         []measure.ContractThin `json:"thin_edges"`
	ThinLeast         float64                `json:"thin_least_mm2"`
	Holes             []measure.ContractHole `json:"holes"`
	Pins              []measure.ContractPin  `json:"pins"`
	Prints            []layersJSON           `json:"prints"`
}

// layersJSON is a cut in layers, as one process prints it. Of a mesh that does
// not close it has no areas.
type layersJSON struct {
	Process  string   `json:"process"`
	Tilt     float64  `json:"tilt_deg"`
	About    string   `json:"about,omitempty"`
	Layer    float64  `json:"layer_mm"`
	Layers   int      `json:"layers"`
	Height   float64  `json:"height_mm"`
	Overhang float64  `json:"overhang_mm2"`
	Peak     *float64 `json:"peak_layer_mm2,omitempty"`
	FlatPeak *float64 `json:"flat_peak_layer_mm2,omitempty"`
	Jump     *float64 `json:"worst_jump_mm2,omitempty"`
	Islands  *int     `json:"islands,omitempty"`
	Cups     *int     `json:"cups,omitempty"`
	Wells    *int     `json:"wells,omitempty"`
	Trapped  *int     `json:"trapped,omitempty"`
}

func (b *builder) measuredData(cs *survey.CutSurvey) *measuredJSON {
	rep := cs.Report
	out := &measuredJSON{
		SelfIntersections: rep.Crossings.Count, Cavities: len(rep.Nesting.Cavities), InvertedShells: len(rep.Nesting.Inverted),
		ThinnestWall: rep.Thin.Wall, ThinnestPin: rep.Thin.Pin, ThinLimit: rep.Thin.Limit,
		Thin: measure.NewContractThin(rep.Thin.Places), ThinEdges: measure.NewContractThin(rep.Thin.Edges), ThinLeast: rep.Thin.Least,
		Holes: measure.NewContractHoles(rep), Pins: measure.NewContractPins(rep), Prints: []layersJSON{},
	}
	for _, proc := range b.in.Site.Bench.Processes() {
		l := cs.Layers[proc]
		if l == nil {
			continue
		}
		j := layersJSON{Process: proc.ID, Tilt: l.Pose.Tilt, About: l.Pose.About, Layer: l.Layer, Layers: l.Count, Height: l.Height, Overhang: l.Overhang}
		if l.Encloses {
			j.Peak, j.FlatPeak, j.Jump = &l.Peak, &l.FlatPeak, &l.Jump
			j.Islands, j.Cups, j.Wells, j.Trapped = &l.IslandCount, &l.CupCount, &l.WellCount, &l.TrappedCount
		}
		out.Prints = append(out.Prints, j)
	}
	return out
}

type fileJSON struct {
	Process  string   `json:"process,omitempty"`
	Mirrored bool     `json:"mirrored,omitempty"`
	Name     string   `json:"name"`
	Path     string   `json:"path"`
	Size     int64    `json:"size_bytes,omitempty"`
	SHA256   string   `json:"sha256"`
	Lacks    []string `json:"lacks,omitempty"` // of an archive: what a complete print needs and is not in it
}

// laidJSON is a full print on plates of a design standard.
type laidJSON struct {
	Process string     `json:"process"`
	Plate   string     `json:"plate"`
	Plates  int        `json:"plates"`
	AtLeast int        `json:"at_least"` // proved
	Why     string     `json:"why"`
	Files   []fileJSON `json:"files"`
}

type hardwareJSON struct {
	ID    string  `json:"id"`
	Name  string  `json:"name"`
	Kind  string  `json:"kind"`
	Count int     `json:"count,omitempty"`
	Cut   float64 `json:"cut_mm,omitempty"`
	Where string  `json:"where,omitempty"`
}

type plateJSON struct {
	ID       string        `json:"id"`
	Name     string        `json:"name"`
	Process  string        `json:"process"`
	Fits     bool          `json:"fits"`
	UseSplit []string      `json:"use_split,omitempty"`
	Tilted   []string      `json:"tilted,omitempty"`
	Blocking []string      `json:"blocking,omitempty"`
	Answer   string        `json:"answer"`
	Parts    []partFitJSON `json:"parts"`
}

type partFitJSON struct {
	Slug    string  `json:"slug"`
	Cut     string  `json:"cut,omitempty"`
	Verdict string  `json:"verdict"`
	TurnDeg float64 `json:"turn_deg,omitempty"`
	Scale   float64 `json:"largest_scale,omitempty"`
	// Where an orientation is recommended: whether the fit keeps it.
	Keeps    *bool          `json:"keeps_recommended,omitempty"`
	Rotation *[3][3]float64 `json:"rotation,omitempty"` // rows; of a fit that is not as supplied
}

type materialJSON struct {
	ID       string `json:"id"`
	Standing string `json:"standing"`
	Reason   string `json:"reason"`

	Grounds []groundJSON       `json:"grounds"`
	Parts   []partStandingJSON `json:"parts"`
}

type findingJSON struct {
	Level string      `json:"level"`
	Code  string      `json:"code"`
	Part  string      `json:"part,omitempty"`
	Cut   string      `json:"cut,omitempty"`
	Text  string      `json:"text"`
	At    *[3]float64 `json:"at_mm,omitempty"`
	// Accepted is why the designer accepts it, of the mesh as it is.
	Accepted string `json:"accepted,omitempty"`
}

func (b *builder) line(r release.Release) releaseLine {
	l := releaseLine{
		Number: r.Number, Slug: r.Slug, Title: r.Title, Height: r.Height, Scale: r.Scale,
		Summary: r.Summary, Licence: r.Licence, Page: releasePath(r), Data: releaseDir(r) + "release.json",
		Draft: r.Draft,
	}
	if !r.Released.IsZero() {
		l.Released = words.Date(r.Released)
	}
	return l
}

func (b *builder) catalogueData() error {
	c := catalogueJSON{Title: b.in.Site.Title, Designer: b.in.Site.Designer, URL: b.in.address(), Releases: []releaseLine{}}
	for _, r := range b.in.Site.Releases {
		c.Releases = append(c.Releases, b.line(r))
	}
	return b.writeJSON("catalogue.json", c)
}

func (b *builder) releaseData(r release.Release, p *ReleasePage) error {
	d := releaseJSON{
		releaseLine: b.line(r),
		Parts:       []partJSON{}, Hardware: []hardwareJSON{}, Plates: []plateJSON{},
		Materials: []materialJSON{}, Archives: []fileJSON{}, Findings: []findingJSON{},
	}
	for i, part := range r.Parts {
		j := partJSON{Number: i + 1, Slug: part.Slug, Name: part.Name, Quantity: part.Quantity, Mirrored: part.Mirrored(), Choice: part.Choice, Replaces: part.Replaces, Cuts: []cutJSON{}}
		for _, c := range part.Cuts {
			j.Cuts = append(j.Cuts, b.cutData(c, i+1, p.Files))
		}
		d.Parts = append(d.Parts, j)
	}
	for _, it := range b.in.Of(r.Number).Hardware {
		for _, p := range it.Pieces {
			d.Hardware = append(d.Hardware, hardwareJSON{it.Item.ID, it.Item.Name, string(it.Item.Kind), p.Count, p.Cut, strings.Join(p.Where, "; ")})
		}
	}
	for _, a := range b.in.Of(r.Number).Plates {
		j := plateJSON{ID: a.Plate.ID, Name: a.Plate.Name, Process: a.Plate.Process.ID, Fits: a.Fits, UseSplit: a.UseSplit, Tilted: a.Tilted, Blocking: a.Blocking, Answer: a.Sentence, Parts: []partFitJSON{}}
		for _, f := range a.Parts {
			pf := partFitJSON{Slug: f.Part, Verdict: f.Text}
			if res := f.Result; res.Verdict != "" {
				pf.Cut, pf.Verdict, pf.TurnDeg, pf.Scale = string(f.Cut.Kind), string(res.Verdict), res.TurnDeg, res.LargestScale
				if res.Declared {
					pf.Keeps = &res.Keeps
				}
				if m := res.Rotation; res.Verdict.Fits() && res.Verdict != fit.AsSupplied {
					pf.Rotation = &[3][3]float64{{m[0], m[1], m[2]}, {m[3], m[4], m[5]}, {m[6], m[7], m[8]}}
				}
			}
			j.Parts = append(j.Parts, pf)
		}
		d.Plates = append(d.Plates, j)
	}
	for _, c := range b.in.Of(r.Number).Cells {
		d.Materials = append(d.Materials, materialData(c))
	}
	d.takesJSON = b.takesData(r)
	for _, a := range p.Archives {
		d.Archives = append(d.Archives, fileJSON{Process: a.Process, Name: a.Name, Path: a.Href, Size: a.bytes, SHA256: a.SHA256, Lacks: a.lacks})
	}
	for _, set := range p.Laid {
		l := set.from
		j := laidJSON{Process: set.Process, Plate: l.Plate.ID, Plates: len(set.Plates), AtLeast: l.Layout.Bound, Why: l.Layout.Why}
		for _, f := range set.Plates {
			j.Files = append(j.Files, fileJSON{Name: f.Name, Path: f.File, Size: f.bytes, SHA256: f.SHA256})
		}
		d.Laid = append(d.Laid, j)
	}
	d.sealedJSON = b.sealedData(r, p.TestPrints)
	for _, f := range b.in.Of(r.Number).Findings {
		d.Findings = append(d.Findings, findingJSON{string(f.Level), f.Code, f.Part, string(f.Cut), f.Text, f.At, f.Accepted})
	}
	return b.writeJSON(releaseDir(r)+"release.json", d)
}

func (b *builder) cutData(c release.Cut, number int, files []FileRow) cutJSON {
	j := cutJSON{Kind: string(c.Kind), Files: []fileJSON{}}
	for _, f := range files {
		if f.Number == number && f.Cut == string(c.Kind) {
			j.Files = append(j.Files, fileJSON{Mirrored: f.Mirrored, Name: f.Name, Path: f.Href, Size: f.bytes, SHA256: f.SHA256})
		}
	}
	cs := b.in.Survey.Of(c)
	switch {
	case cs == nil:
		j.Error = "not measured"
	case cs.Err != nil:
		j.Error = cs.Err.Error()
	case cs.Report != nil:
		rep := cs.Report
		size := rep.Bounds.Size()
		j.Format, j.Fingerprint, j.Triangles = string(cs.Info.Format), rep.Fingerprint, rep.Triangles
		j.Size = extents(size)
		j.Volume, j.Area, j.Closed = rep.Volume, rep.Area, &rep.Closed
		j.measuredJSON = b.measuredData(cs)
	}
	return j
}

func extents(v mesh.Vec) *[3]float64 { return &[3]float64{v.X, v.Y, v.Z} }

func (b *builder) writeJSON(path string, v any) error {
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		return fmt.Errorf("write %s: %w", path, err)
	}
	return b.write(path, out.Bytes())
}
