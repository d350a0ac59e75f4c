package fit

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"cardback/internal/mesh"
)

func boxPoints(x, y, z float64) []mesh.Vec {
	var out []mesh.Vec
	for i := range 8 {
		out = append(out, mesh.Vec{X: x * float64(i&1), Y: y * float64(i>>1&1), Z: z * float64(i>>2&1)})
	}
	return out
}

// Rectangles p × q in a × b, from the table for Carver's condition (American
// Mathematical Monthly, problem E1225, 1957, in the second form given by
// Wetzel, "Rectangles in Rectangles", Mathematics Magazine 73(3), 2000), as
// worked out for this project by an independent rotation sweep: the spare room
// in mm at the best angle.
func TestTurnedFitAgreesWithWorkedRectangles(t *testing.T) {
	for _, c := range []struct {
		p, q, a, b float64
		fits       bool
		spare      float64
	}{
		{10, 1, 8, 7, false, -0.25414},
		{13, 1, 12, 6, false, -0.26014},
		{14, 1, 12, 9, true, 0.03555},
		{125, 6, 115, 65, true, 1.55150},
		{126, 10, 115, 65, false, -1.59110},
		{130, 10, 120, 68, false, -0.23335},
		{196, 10, 190, 120, true, 14.58835},
		{235, 8, 220, 120, true, 6.72189},
		{240, 20, 220, 120, false, -4.09269},
		{300, 10, 220, 220, true, 0.79690},
		{301.13, 10, 220, 220, false, -0.00213},
		{10, 10, 9.9, 20, false, -0.1},
	} {
		pts := boxPoints(c.p, c.q, 1)
		var tt turns
		f, spare := tt.bestTurn(footprint(nil, append([]mesh.Vec(nil), pts...)), c.a, c.b)
		// A sweep in steps of 0.001° or so stays below the true maximum, by up
		// to a step times the part's length.
		require.Greater(t, spare, c.spare-0.5e-5, "%+v at %v", c, f)
		require.Less(t, spare, c.spare+c.p*2e-5, "%+v at %v", c, f)
		res := Fit(context.Background(), pts, Plate{Width: c.a, Depth: c.b, Height: 1})
		require.Equal(t, c.fits, res.Verdict == Turned, "%+v: %+v", c, res)
	}
}
