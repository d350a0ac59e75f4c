package fit

// Contract is the stable JSON shape of one answer, as `cardback fit --json`
// prints it. Lengths are mm; angles degrees.
type Contract struct {
	Path         string        `json:"path"`
	Plate        string        `json:"plate"`
	Verdict      Verdict       `json:"verdict"`
	TurnDeg      float64       `json:"turn_deg"`
	Rotation     [3][3]float64 `json:"rotation"` // rows
	ExtentsMM    [3]float64    `json:"extents_mm"`
	LargestScale float64       `json:"largest_scale"`
	ToleranceMM  float64       `json:"tolerance_mm"`
}

// NewContract puts r into that shape; path and plate are given as the user
// wrote them.
func NewContract(path, plate string, r Result) Contract {
	m := r.Rotation
	return Contract{
		Path: path, Plate: plate, Verdict: r.Verdict, TurnDeg: r.TurnDeg,
		Rotation:     [3][3]float64{{m[0], m[1], m[2]}, {m[3], m[4], m[5]}, {m[6], m[7], m[8]}},
		ExtentsMM:    [3]float64{r.Extents.X, r.Extents.Y, r.Extents.Z},
		LargestScale: r.LargestScale, ToleranceMM: r.Tolerance,
	}
}
