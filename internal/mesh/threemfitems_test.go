package mesh

import (
	"bytes"
	"math"
	"testing"

	"github.com/hpinc/go3mf"
	"github.com/stretchr/testify/require"
)

// A quarter turn about z brings (1 0 0) to (0 1 0), and (0 1 0) to (−1 0 0).
func TestItemsAreTurnedAndShifted(t *testing.T) {
	tetra, _, err := readBytes(packed(t, mainPart, model("", `<item objectid="1"/>`)))
	require.NoError(t, err)
	quarter := [9]float64{0, -1, 0, 1, 0, 0, 0, 0, 1}
	var file bytes.Buffer
	require.NoError(t, Write3MF(&file, []Object3MF{{Name: "a", Mesh: tetra, Items: []Item3MF{
		{Rotation: quarter, Shift: Vec{10, 20, 30}},
		{Rotation: [9]float64{1, 0, 0, 0, 1, 0, 0, 0, 1}, Shift: Vec{X: 50}},
	}}}, nil))
	m, _, err := readBytes(file.Bytes())
	require.NoError(t, err)
	require.Len(t, m.Triangles, 8)
	require.InDelta(t, 2*volume(tetra), volume(m), 1e-10) // 8 terms below 1e5, each with some roundings of 2⁻⁵³
	require.Equal(t, Box{Vec{9, 0, 0}, Vec{51, 21, 31}}, m.Bounds())

	var got go3mf.Model
	require.NoError(t, go3mf.NewDecoder(bytes.NewReader(file.Bytes()), int64(file.Len())).Decode(&got))
	require.NoError(t, got.Validate())
	require.Len(t, got.Build.Items, 2)
	require.Equal(t, go3mf.Matrix{0, 1, 0, 0, -1, 0, 0, 0, 0, 0, 1, 0, 10, 20, 30, 1}, got.Build.Items[0].Transform)

	for name, it := range map[string]Item3MF{
		"no solid":  {},
		"mirrors":   {Rotation: [9]float64{-1, 0, 0, 0, 1, 0, 0, 0, 1}},
		"beyond":    {Rotation: quarter, Shift: Vec{X: math.Inf(1)}},
		"no number": {Rotation: [9]float64{math.NaN(), 0, 0, 0, 1, 0, 0, 0, 1}},
	} {
		require.Error(t, Write3MF(&file, []Object3MF{{Mesh: tetra, Items: []Item3MF{it}}}, nil), name)
	}
}
