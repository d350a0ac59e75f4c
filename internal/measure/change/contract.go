package change

import (
	"math"

	"cardback/internal/mesh"
)

// Contract is a comparison as other programs read it. Its field names are kept from
// release to release.
type Contract struct {
	Kind     Kind   `json:"kind"`
	Sentence string `json:"sentence"`
	Cause    Cause  `json:"cause"`   // of changed: "volume", "facing", "unproved"; empty where the surfaces are apart
	Reprint  bool   `json:"reprint"` // whether a print of the old mesh differs from one of the new by more than the tolerance

	Tolerance float64 `json:"tolerance_mm"` // the printing tolerance

	Motion *ContractMotion `json:"motion"` // takes old to new; null unless moved, mirrored, rescaled, or moved and nearly the same

	Largest   *float64          `json:"largest_mm"` // of both distances; null unless changed or nearly the same
	AtMost    *float64          `json:"at_most_mm"` // proved
	Mean      *float64          `json:"mean_mm"`    // weighted by both areas
	OldToNew  *ContractDistance `json:"old_to_new"`
	NewToOld  *ContractDistance `json:"new_to_old"`
	OldVolume float64           `json:"old_volume_mm3"`
	NewVolume float64           `json:"new_volume_mm3"`
	OldArea   float64           `json:"old_area_mm2"`
	NewArea   float64           `json:"new_area_mm2"`
}

// ContractMotion takes p, a column, to scale·matrix·p + shift.
type ContractMotion struct {
	Matrix   [9]float64 `json:"matrix"` // by rows
	Shift    [3]float64 `json:"shift_mm"`
	Scale    float64    `json:"scale"`
	Mirrored bool       `json:"mirrored"`
}

// ContractDistance is how far one surface is from another.
type ContractDistance struct {
	Largest float64    `json:"largest_mm"`
	AtMost  float64    `json:"at_most_mm"`
	Mean    float64    `json:"mean_mm"`
	At      [3]float64 `json:"at_mm"`      // on the surface that is measured from
	Nearest [3]float64 `json:"nearest_mm"` // on the other
}

// NewContract puts a change in the form that other programs read.
func NewContract(c *Change) Contract {
	out := Contract{
		Kind: c.Kind, Sentence: c.Sentence(), Cause: c.Cause, Reprint: c.MustReprint(), Tolerance: c.Tolerance,
		OldVolume: c.Old.Volume, NewVolume: c.New.Volume, OldArea: c.Old.Area, NewArea: c.New.Area,
	}
	if c.Motion != Still {
		m := &ContractMotion{Scale: c.Motion.Scale, Mirrored: c.Motion.Mirrors()}
		for k, v := range c.Motion.Matrix {
			m.Matrix[k] = rounded(v, 1e9)
		}
		for k := range 3 {
			m.Shift[k] = rounded(c.Motion.Shift.Component(k), 1e6)
		}
		out.Motion = m
	}
	if c.Kind == Changed || c.Kind == Nearly {
		d, _ := c.Largest()
		mean := c.Mean()
		out.Largest, out.AtMost, out.Mean = &d.Largest, &d.AtMost, &mean
		out.OldToNew, out.NewToOld = contractDistance(c.OldToNew), contractDistance(c.NewToOld)
	}
	return out
}

func contractDistance(d Distance) *ContractDistance {
	return &ContractDistance{d.Largest, d.AtMost, d.Mean, array(d.At), array(d.Nearest)}
}

func array(p mesh.Vec) [3]float64 { return [3]float64{p.X, p.Y, p.Z} }

// rounded leaves out the digits that a motion found by measuring has not.
func rounded(v, per float64) float64 { return math.Round(v*per)/per + 0 }
