package release

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheStandingPoseLiesBesideTheNotes(t *testing.T) {
	root := t.TempDir()
	require.NoError(t, os.CopyFS(root, os.DirFS("../../testdata/content")))
	s, err := Load(root)
	require.NoError(t, err)
	r := s.Releases[0]
	require.Nil(t, r.Pose)
	cuts := len(s.Cuts())

	require.NoError(t, os.WriteFile(filepath.Join(r.Dir, "pose.3mf"), []byte("not opened here"), 0o600))
	s, err = Load(root)
	require.NoError(t, err)
	rel := filepath.ToSlash(filepath.Join("releases", filepath.Base(r.Dir), "pose.3mf"))
	require.Equal(t, &Cut{Kind: CutPose, File: filepath.Join(s.Root, filepath.FromSlash(rel)), Rel: rel}, s.Releases[0].Pose)
	require.Len(t, s.Cuts(), cuts, "the pose is not printed")
}
