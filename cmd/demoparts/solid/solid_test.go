package solid

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestBooleans(t *testing.T) {
	a := Block(20, 10, 5, 0)
	d := Drill(a, V(0, 0, -1), V(0, 0, 6), 1.5)
	top := d.Topology()
	require.True(t, top.Closed)
	require.True(t, top.ConsistentlyOriented)
	require.Equal(t, 0, top.Euler)
	u := Tidy(Union(d, Ball(4, 24)))
	top = u.Topology()
	t.Log(len(u.Triangles), top)
	require.True(t, top.Closed)
}
