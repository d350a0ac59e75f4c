package plates

import (
	"math"

	"cardback/internal/fit"
	"cardback/internal/layout"
	"cardback/internal/measure/shadow"
	"cardback/internal/mesh"
	"cardback/internal/printing"
	"cardback/internal/release"
)

// Piece is a part, or its mirrored twin, as it stands on a plate before
// package layout turns and moves it. A point of the mesh, mirrored first where
// Mirrored says so, comes there by Rotation and a shift of −Low along Z.
type Piece struct {
	printing.Part
	Cut      release.Cut
	SHA256   string     // of the cut's file
	Rotation [9]float64 // row-major
	printing.Lot
	Outline shadow.Outline // its shadow seen from above, exact
	Height  float64        // mm
	Low     float64        // the least Z after Rotation, mm
	// Kept is false where the recommended pose does not fit this plate and
	// another one does, which Rotation is then.
	Kept bool
	Fit  fit.Result // of the part alone on the plate, not of its mirrored twin
}

// Name is the part's, with a word for a mirrored twin.
func (p Piece) Name() string {
	if p.Mirrored {
		return p.Part.Name + ", mirrored"
	}
	return p.Part.Name
}

// Placement is where a point of the mesh comes, mirrored first where Mirrored
// says so, when p is placed at at: it is turned by the row-major rotation and moved
// by shift. The plate's lower left corner is the origin and its surface Z = 0, to
// within layout.Tolerance.
func (p Piece) Placement(at layout.Placed) (rotation [9]float64, shift mesh.Vec) {
	sin, cos := turn(at)
	rotation = p.Rotation
	for k := range 3 {
		x, y := p.Rotation[k], p.Rotation[3+k]
		rotation[k] = 0 + float64(cos*x) - float64(sin*y) // 0 +: never −0
		rotation[3+k] = 0 + float64(sin*x) + float64(cos*y)
	}
	return rotation, mesh.Vec{X: at.X, Y: at.Y, Z: 0 - p.Low}
}

// turn is the sine and cosine of a placed piece's turn, exact for right angles.
func turn(at layout.Placed) (sin, cos float64) {
	sin, cos = math.Sincos(at.TurnDeg * math.Pi / 180)
	if quarter := at.TurnDeg / 90; quarter == math.Trunc(quarter) {
		return math.Round(sin), math.Round(cos)
	}
	return sin, cos
}

// OutlineAt is the outline where it lies on the plate when p is placed at at.
func (p Piece) OutlineAt(at layout.Placed) shadow.Outline {
	sin, cos := turn(at)
	out := make(shadow.Outline, len(p.Outline))
	for i, r := range p.Outline {
		out[i] = make(shadow.Ring, len(r))
		for k, q := range r {
			out[i][k] = shadow.Point{X: float64(q.X*cos) - float64(q.Y*sin) + at.X, Y: float64(q.X*sin) + float64(q.Y*cos) + at.Y}
		}
	}
	return out
}
