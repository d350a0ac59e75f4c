package main

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestMeshesAreSound(t *testing.T) {
	for _, f := range figures() {
		top := f.mesh.Topology()
		require.True(t, top.Closed, f.path())
		require.True(t, top.ConsistentlyOriented, f.path())
	}
}
