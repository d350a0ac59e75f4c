package measure

import "cardback/internal/mesh"

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

	HullVolume float64            `json:"hull_volume_mm3"`
	HullArea   float64            `json:"hull_area_mm2"`
	Diameter   float64            `json:"diameter_mm"`
	Silhouette ContractSilhouette `json:"silhouette_mm2"`
	Findings   []Finding          `json:"findings"` // never null
}

// ContractBounds are the extreme corners of the bounds.
type ContractBounds struct {
	Min [3]float64 `json:"min"`
	Max [3]float64 `json:"max"`
}

// ContractSilhouette is the area of the shadow along Y, X and Z.
type ContractSilhouette struct {
	Front float64 `json:"front"`
	Side  float64 `json:"side"`
	Top   float64 `json:"top"`
}

// NewContract puts a report in the form that other programs read. What reading
// the file told comes first among the findings, as notes.
func NewContract(path string, info mesh.Info, r *Report) Contract {
	findings := []Finding{}
	for _, n := range info.Notes {
		findings = append(findings, Finding{Level: Note, Code: "reading", Text: n})
	}
	point := func(p mesh.Vec) [3]float64 { return [3]float64{p.X, p.Y, p.Z} }
	return Contract{
		Path: path, Format: info.Format, Fingerprint: r.Fingerprint,
		Triangles: r.Triangles, Vertices: r.Vertices,
		Bounds: ContractBounds{point(r.Bounds.Min), point(r.Bounds.Max)},
		Volume: r.Volume, Area: r.Area, Centroid: point(r.Centroid),
		Closed: r.Closed, OpenEdges: r.OpenEdges, NonManifoldEdges: r.NonManifoldEdges,
		ConsistentlyOriented: r.ConsistentlyOriented, Shells: r.Shells, Euler: r.Euler, Genus: r.Genus,
		DegenerateTriangles: r.DegenerateTriangles, DuplicateTriangles: r.DuplicateTriangles,
		HullVolume: r.HullVolume, HullArea: r.HullArea, Diameter: r.Diameter,
		Silhouette: ContractSilhouette{Front: r.Silhouette[Front], Side: r.Silhouette[Side], Top: r.Silhouette[Top]},
		Findings:   append(findings, r.Findings...),
	}
}
