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
	// Where the part has a recommended orientation: whether the fit keeps it, and
	// the largest scale at which one would.
	KeepsRecommended        *bool    `json:"keeps_recommended,omitempty"`
	LargestScaleRecommended *float64 `json:"largest_scale_recommended,omitempty"`
	// Where WithScale was asked: the largest scale in any orientation, which is
	// attained by the rotation, and the scale proved not to be exceeded.
	LargestScaleAny         *float64       `json:"largest_scale_any,omitempty"`
	LargestScaleAnyAtMost   *float64       `json:"largest_scale_any_at_most,omitempty"`
	LargestScaleAnyRotation *[3][3]float64 `json:"largest_scale_any_rotation,omitempty"`
}

// NewContract puts r into that shape; path and plate are given as the user
// wrote them.
func NewContract(path, plate string, r Result) Contract {
	c := Contract{
		Path: path, Plate: plate, Verdict: r.Verdict, TurnDeg: r.TurnDeg,
		Rotation:     rows(r.Rotation),
		ExtentsMM:    [3]float64{r.Extents.X, r.Extents.Y, r.Extents.Z},
		LargestScale: r.LargestScale, ToleranceMM: r.Tolerance,
	}
	if r.Declared {
		c.KeepsRecommended, c.LargestScaleRecommended = &r.Keeps, &r.LargestKept
	}
	return c
}

// WithScale adds the largest scale in any orientation.
func (c Contract) WithScale(s Scale) Contract {
	rot := rows(s.Rotation)
	c.LargestScaleAny, c.LargestScaleAnyAtMost, c.LargestScaleAnyRotation = &s.Largest, &s.AtMost, &rot
	return c
}

func rows(m [9]float64) [3][3]float64 {
	return [3][3]float64{{m[0], m[1], m[2]}, {m[3], m[4], m[5]}, {m[6], m[7], m[8]}}
}
