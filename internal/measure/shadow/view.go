package shadow

import "cardback/internal/mesh"

// View is an orthographic view direction.
type View int

const (
	Front View = iota // along Y, seen from −Y: right is +X, up is +Z
	Side              // along X, seen from +X: right is +Y, up is +Z
	Top               // along Z, seen from +Z: right is +X, up is +Y
)

// Views lists the three in order.
var Views = [3]View{Front, Side, Top}

func (v View) String() string { return [...]string{"front", "side", "top"}[v] }

// Project returns p's coordinates in the view's plane and its depth, greater
// being nearer to the eye.
func (v View) Project(p mesh.Vec) (x, y, depth float64) {
	switch v {
	case Front:
		return p.X, p.Z, -p.Y
	case Side:
		return p.Y, p.Z, p.X
	default:
		return p.X, p.Y, p.Z
	}
}
