package measure

import (
	"cmp"
	"slices"

	"cardback/internal/measure/shadow"
	"cardback/internal/measure/slice"
	"cardback/internal/measure/stack"
	"cardback/internal/measure/thin"
	"cardback/internal/mesh"
)

// Contract is one measured file as other programs read it: lengths in mm, areas
// in mm², volumes in mm³, points as [x, y, z]. Its field names are kept from
// release to release.
type Contract struct {
	Path        string         `json:"path"`
	Format      mesh.Format    `json:"format"`
	Fingerprint string         `json:"fingerprint"`
	Triangles   int            `json:"triangles"`
	Vertices    int            `json:"vertices"`
	Bounds      ContractBounds `json:"bounds_mm"`
	Volume      float64        `json:"volume_mm3"`
	Area        float64        `json:"area_mm2"`
	Centroid    [3]float64     `json:"centroid_mm"`

	Closed               bool `json:"closed"`
	OpenEdges            int  `json:"open_edges"`
	NonManifoldEdges     int  `json:"non_manifold_edges"`
	ConsistentlyOriented bool `json:"consistently_oriented"`
	Shells               int  `json:"shells"`
	Euler                int  `json:"euler"`
	Genus                *int `json:"genus"` // null unless closed

	DegenerateTriangles int `json:"degenerate_triangles"`
	DuplicateTriangles  int `json:"duplicate_triangles"`

	SelfIntersections int                `json:"self_intersections"`         // pairs of triangles, those that only touch included
	Touching          int                `json:"touching"`                   // of these, the ones that only touch
	Crossings         []ContractCrossing `json:"crossings"`                  // some of them, spread over the surface
	CrossingsPartial  bool               `json:"self_intersections_partial"` // there are at least as many: looking ended at its bound
	Cavities          int                `json:"cavities"`
	InvertedShells    int                `json:"inverted_shells"`
	BuriedShells      int                `json:"buried_shells"`      // outward, wholly inside a solid
	OverlappingShells int                `json:"overlapping_shells"` // pairs
	CoincidentShells  int                `json:"coincident_shells"`  // pairs that are one surface twice
	TJunctions        int                `json:"t_junctions"`
	NearDuplicates    int                `json:"near_duplicates"` // vertices of open borders
	Weld              *float64           `json:"weld_mm"`         // would join them and nothing else; null where nothing would

	// CracksClosed says how the surface was closed before it was measured; null where
	// it was measured as the file has it.
	CracksClosed *ContractCracks `json:"cracks_closed"`

	HullVolume float64            `json:"hull_volume_mm3"`
	HullArea   float64            `json:"hull_area_mm2"`
	Diameter   float64            `json:"diameter_mm"`
	Silhouette ContractSilhouette `json:"silhouette_mm2"`

	ThinnestWall *float64          `json:"thinnest_wall_mm"` // null where no wall is as thin as thin_limit_mm
	ThinnestPin  *float64          `json:"thinnest_pin_mm"`  // likewise
	ThinLimit    float64           `json:"thin_limit_mm"`
	Thin         []ContractThin    `json:"thin"`           // walls and pins, thinnest first
	ThinEdges    []ContractThin    `json:"thin_edges"`     // edges and points, which run out and are no finding
	ThinLeast    float64           `json:"thin_least_mm2"` // nothing larger is thinner than what is listed; 0 where nothing was measured
	ThinPartial  bool              `json:"thin_partial"`   // not everywhere, for surfaces that lie over each other
	Thickness    ContractThickness `json:"thickness"`
	Holes        []ContractHole    `json:"holes"`
	Pins         []ContractPin     `json:"pins"`
	HolesPartial bool              `json:"holes_partial"` // there may be more of both: looking ended at its bound

	Amounts *ContractAmounts `json:"amounts"` // null unless closed, consistently oriented and right way out
	ContractLayers

	Findings []Finding `json:"findings"` // never null
}

// ContractBounds are the extreme corners of the bounds.
type ContractBounds struct {
	Min [3]float64 `json:"min"`
	Max [3]float64 `json:"max"`
}

// ContractSilhouette is the area of the shadow along Y, X and Z; null where it is
// too intricate to be worked out.
type ContractSilhouette struct {
	Front *float64 `json:"front"`
	Side  *float64 `json:"side"`
	Top   *float64 `json:"top"`
}

// ContractCrossing is a pair of triangles, by number in the file, that meet
// otherwise than along what they share.
type ContractCrossing struct {
	Triangles [2]int32   `json:"triangles"`
	At        [3]float64 `json:"at_mm"`
	Touch     bool       `json:"touch"`
}

// ContractCracks is mend.Closing: what is counted above is of the closed surface.
type ContractCracks struct {
	OpenEdges int     `json:"open_edges"` // of the file
	Within    float64 `json:"within_mm"`
	Farthest  float64 `json:"farthest_mm"`
	Joined    int     `json:"corners_joined"`
	Cut       int     `json:"sides_cut"`
	Flattened int     `json:"triangles_flattened"`
}

// ContractThin is a thin stretch: thin.Place.
type ContractThin struct {
	Kind      thin.Kind  `json:"kind"`
	Thickness float64    `json:"thickness_mm"`
	At        [3]float64 `json:"at_mm"`
	Extent    float64    `json:"extent_mm"`
	Run       float64    `json:"run_mm"` // of walls and pins, to 10 mm
	Joins     bool       `json:"joins"`
}

// ContractThickness is how thick the solid is at shares of its surface: 0.5 is the
// median. See thin.Report.
type ContractThickness struct {
	Shares []float64 `json:"shares"`
	Ray    []float64 `json:"ray_mm"` // empty where it could not be told
	Ball   []float64 `json:"ball_mm"`
}

// ContractHole is one cylindrical stretch of a hole: bore.Hole.
type ContractHole struct {
	Diameter float64    `json:"diameter_mm"`
	Free     float64    `json:"free_diameter_mm"`
	Depth    float64    `json:"depth_mm"`
	Through  bool       `json:"through"`
	Stepped  bool       `json:"stepped"`
	Group    int        `json:"group"` // the same for all stretches of one hole
	Axis     [3]float64 `json:"axis"`
	Centre   [3]float64 `json:"centre_mm"`
	Residual float64    `json:"residual_mm"`
}

// ContractPin is a cylindrical stretch that stands out: bore.Pin.
type ContractPin struct {
	Diameter float64    `json:"diameter_mm"`
	Length   float64    `json:"length_mm"`
	Axis     [3]float64 `json:"axis"`
	Centre   [3]float64 `json:"centre_mm"`
	Residual float64    `json:"residual_mm"`
}

// ContractAmounts is what the solid takes to print, beside the assumptions. See
// liquidResin and Filling.Extruded for what is not in it.
type ContractAmounts struct {
	Solid           float64 `json:"solid_ml"`
	LiquidResin     float64 `json:"liquid_resin_ml"`
	Shrinkage       float64 `json:"shrinkage"` // share of the liquid's volume
	ResinGrams      float64 `json:"resin_g"`   // cured
	ResinDensity    float64 `json:"resin_density_g_cm3"`
	Filament        float64 `json:"filament_m"`
	FilamentFull    float64 `json:"filament_solid_m"` // filled throughout: no fill takes more
	FilamentLow     float64 `json:"filament_least_m"` // with the assumed filling it takes no less
	FilamentGrams   float64 `json:"filament_g"`
	FilamentDensity float64 `json:"filament_density_g_cm3"`
	Diameter        float64 `json:"filament_diameter_mm"`
	Lines           int     `json:"lines"`
	LineWidth       float64 `json:"line_width_mm"`
	Infill          float64 `json:"infill"` // share of the core
}

// ContractLayers is the solid in layers, in one pose. All but the pose is null
// for a part too tall to have layers (slice.ErrTooManyLayers), and what needs an
// inside is null where the surface encloses nothing (slice.Layers.Encloses).
// Places are in the part as supplied, the largest first, up to mostPlaces of each
// kind; only a hollow's rim is a height in the pose.
type ContractLayers struct {
	Tilt     float64  `json:"tilt_deg"`
	About    *string  `json:"about"` // "x" or "y"; null as supplied
	Layer    float64  `json:"layer_mm"`
	Limit    float64  `json:"overhang_limit_deg"` // from the vertical
	Height   *float64 `json:"height_mm"`
	Layers   *int     `json:"layers"`
	Overhang *float64 `json:"overhang_mm2"`

	Peak      *float64 `json:"peak_layer_mm2"`
	PeakLayer *int     `json:"peak_layer"`          // from 0
	FlatPeak  *float64 `json:"flat_peak_layer_mm2"` // as supplied
	Jump      *float64 `json:"worst_jump_mm2"`
	JumpRatio *float64 `json:"worst_jump_ratio"` // greater over lesser; 0 from nothing
	JumpLayer *int     `json:"worst_jump_layer"` // the upper of the two

	Islands      *int             `json:"islands"`
	Cups         *int             `json:"cups"`
	Wells        *int             `json:"wells"`
	Trapped      *int             `json:"trapped"`
	IslandPlaces []ContractIsland `json:"island_places"`
	Hollows      []ContractHollow `json:"hollows"`
}

// mostPlaces is how many places of each kind the layers' lists hold; all are
// counted.
const mostPlaces = 20

// ContractIsland is a region that begins with nothing under it.
type ContractIsland struct {
	At    [3]float64 `json:"at_mm"`
	Area  float64    `json:"area_mm2"`
	Layer int        `json:"layer"`
}

// ContractHollow is an empty region that the solid closes off: see
// stack.Hollow.
type ContractHollow struct {
	Kind   string     `json:"kind"` // "cup", "well" or "trapped"
	At     [3]float64 `json:"at_mm"`
	Rim    float64    `json:"rim_mm"`
	Volume float64    `json:"volume_mm3"`
}

// Reading is what reading a file told, as findings; never nil.
func Reading(info mesh.Info) []Finding {
	found := []Finding{}
	for _, n := range info.Notes {
		found = append(found, Finding{Level: Note, Code: "reading", Text: n})
	}
	for _, b := range info.Breaches {
		found = append(found, Finding{Level: Note, Code: "format", Text: "Against the rules of the format, so that another program may refuse the file: " + b})
	}
	return found
}

// NewContract puts a report, and the layers it was cut into, in the form that
// other programs read. l is nil for a part too tall to have layers; o says how it
// was to be cut. What reading the file told comes first among the findings, as
// notes.
func NewContract(path string, info mesh.Info, r *Report, o slice.Options, l *slice.Layers) Contract {
	findings := Reading(info)
	c := Contract{
		Path: path, Format: info.Format, Fingerprint: r.Fingerprint,
		Triangles: r.Triangles, Vertices: r.Vertices,
		Bounds: ContractBounds{point(r.Bounds.Min), point(r.Bounds.Max)},
		Volume: r.Volume, Area: r.Area, Centroid: point(r.Centroid),
		Closed: r.Closed, OpenEdges: r.OpenEdges, NonManifoldEdges: r.NonManifoldEdges,
		ConsistentlyOriented: r.ConsistentlyOriented, Shells: r.Shells, Euler: r.Euler, Genus: r.Genus,
		DegenerateTriangles: r.DegenerateTriangles, DuplicateTriangles: r.DuplicateTriangles,
		SelfIntersections: r.Crossings.Count, Touching: r.Crossings.Touching, Crossings: []ContractCrossing{},
		CrossingsPartial: r.Crossings.Partial,
		HolesPartial:     r.Bores.Partial,
		Cavities:         len(r.Nesting.Cavities), InvertedShells: len(r.Nesting.Inverted), BuriedShells: len(r.Nesting.Buried),
		OverlappingShells: r.Nesting.OverlappingCount, CoincidentShells: r.Nesting.CoincidentCount,
		TJunctions: r.Cracks.TJunctions, NearDuplicates: r.Cracks.NearDuplicates,
		HullVolume: r.HullVolume, HullArea: r.HullArea, Diameter: r.Diameter,
		Silhouette:   ContractSilhouette{Front: r.silhouette(shadow.Front), Side: r.silhouette(shadow.Side), Top: r.silhouette(shadow.Top)},
		ThinnestWall: r.Thin.Wall, ThinnestPin: r.Thin.Pin, ThinLimit: r.Thin.Limit,
		Thickness: ContractThickness{Shares: thin.Levels, Ray: append([]float64{}, r.Thin.Ray...), Ball: append([]float64{}, r.Thin.Ball...)},
		Thin:      NewContractThin(r.Thin.Places), ThinEdges: NewContractThin(r.Thin.Edges),
		ThinLeast: r.Thin.Least, ThinPartial: r.Thin.Partial, Holes: NewContractHoles(r), Pins: NewContractPins(r),
		Amounts:        NewAmounts(r, UsualStock),
		ContractLayers: newContractLayers(o, l),
		Findings:       append(findings, r.Findings...),
	}
	if r.Cracks.Weld > 0 {
		c.Weld = &r.Cracks.Weld
	}
	for _, x := range r.Crossings.Places {
		c.Crossings = append(c.Crossings, ContractCrossing{x.Triangles, point(x.At), x.Touch})
	}
	if h := r.Closing; h != nil {
		c.CracksClosed = &ContractCracks{h.OpenEdges, h.Within, h.Farthest, h.Joined, h.Cut, h.Flattened}
	}
	return c
}

// NewContractThin is places in the form that other programs read; never nil.
func NewContractThin(places []thin.Place) []ContractThin {
	out := make([]ContractThin, len(places))
	for i, p := range places {
		out[i] = ContractThin{p.Kind, p.Thickness, point(p.At), p.Extent, p.Run, p.Joins}
	}
	return out
}

// NewContractHoles is r's holes in the form that other programs read; never nil.
func NewContractHoles(r *Report) []ContractHole {
	out := make([]ContractHole, len(r.Bores.Holes))
	for i, h := range r.Bores.Holes {
		out[i] = ContractHole{h.Diameter, h.Free, h.Depth, h.Through, h.Stepped, h.Group, point(h.Axis), point(h.Centre), h.Residual}
	}
	return out
}

// NewContractPins is r's pins in the form that other programs read; never nil.
func NewContractPins(r *Report) []ContractPin {
	out := make([]ContractPin, len(r.Bores.Pins))
	for i, p := range r.Bores.Pins {
		out[i] = ContractPin{p.Diameter, p.Length, point(p.Axis), point(p.Centre), p.Residual}
	}
	return out
}

// Solid reports whether the surface has an inside and an outside: what needs one
// (layers' areas, amounts) means nothing otherwise.
func (r *Report) Solid() bool { return r.Closed && r.ConsistentlyOriented }

// NewAmounts is what r's solid takes of a stock; nil where there is none, by
// CentroidOfVolume, or where it is inside out.
func NewAmounts(r *Report, s Stock) *ContractAmounts {
	if r.Volume <= 0 || !r.CentroidOfVolume() {
		return nil
	}
	about, least := s.Filling.Extruded(r.Volume, r.Area)
	metres := func(volume float64) float64 { return FilamentLength(volume, s.Diameter) / 1000 }
	return &ContractAmounts{
		Solid: r.Volume / 1000, LiquidResin: liquidResin(r.Volume, s.Shrinkage) / 1000, Shrinkage: s.Shrinkage,
		ResinGrams: Grams(r.Volume, s.ResinDensity), ResinDensity: s.ResinDensity,
		Filament: metres(about), FilamentFull: metres(r.Volume), FilamentLow: metres(least), Diameter: s.Diameter,
		FilamentGrams: Grams(about, s.FilamentDensity), FilamentDensity: s.FilamentDensity,
		Lines: s.Filling.Lines, LineWidth: s.Filling.LineWidth, Infill: s.Filling.Infill,
	}
}

func newContractLayers(o slice.Options, l *slice.Layers) ContractLayers {
	c := ContractLayers{Tilt: o.Pose.Tilt, Layer: o.Layer, Limit: o.Limit, IslandPlaces: []ContractIsland{}, Hollows: []ContractHollow{}}
	if o.Pose.Tilt != 0 {
		c.About = &o.Pose.About
	}
	if l == nil {
		return c
	}
	number := func(n int) *int { return &n }
	c.Layer, c.Limit = l.Options.Layer, l.Options.Limit // with the defaults put in
	c.Height, c.Layers, c.Overhang = &l.Height, number(len(l.Areas)), &l.Overhang
	if !l.Encloses {
		return c
	}
	c.Peak, c.PeakLayer, c.FlatPeak = &l.Peak, &l.PeakLayer, &l.FlatPeak
	c.Jump, c.JumpRatio, c.JumpLayer = &l.Jump, &l.JumpRatio, &l.JumpLayer
	c.Islands, c.Cups = number(len(l.Islands)), number(len(l.Cups))
	c.Wells, c.Trapped = number(len(l.Wells)), number(len(l.Trapped))
	for _, i := range largest(l.Islands, func(i stack.Island) float64 { return i.Area }) {
		c.IslandPlaces = append(c.IslandPlaces, ContractIsland{asSupplied(o.Pose, i.At), i.Area, i.Layer})
	}
	for _, kind := range []struct {
		name    string
		hollows []stack.Hollow
	}{{"cup", l.Cups}, {"well", l.Wells}, {"trapped", l.Trapped}} {
		for _, h := range largest(kind.hollows, func(h stack.Hollow) float64 { return h.Volume }) {
			c.Hollows = append(c.Hollows, ContractHollow{kind.name, asSupplied(o.Pose, h.At), h.Rim, h.Volume})
		}
	}
	return c
}

// largest is the first places of a list by size, ties in the order given.
func largest[T any](list []T, size func(T) float64) []T {
	out := slices.Clone(list)
	slices.SortStableFunc(out, func(a, b T) int { return cmp.Compare(size(b), size(a)) })
	return out[:min(len(out), mostPlaces)]
}

// asSupplied turns a point of a tilted part back.
func asSupplied(p slice.Pose, at mesh.Vec) [3]float64 {
	back := slice.Pose{Tilt: -p.Tilt, About: p.About}
	return point(back.Apply(&mesh.Mesh{Vertices: []mesh.Vec{at}}).Vertices[0])
}

func point(p mesh.Vec) [3]float64 { return [3]float64{p.X, p.Y, p.Z} }
