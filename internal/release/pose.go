package release

import (
	"path"
	"path/filepath"
	"strings"
)

// isPose reports whether a file beside the notes is the mesh of the standing pose:
// pose.stl or pose.3mf.
func isPose(name string) bool {
	return isMesh(name) && strings.EqualFold(strings.TrimSuffix(name, path.Ext(name)), string(CutPose))
}

// pose finds the mesh of the whole figure as it is meant to stand, which the
// release may have beside its notes: on its lowest points, upright along z. It is not
// printed.
func (l *loader) pose(rel string) *Cut {
	entries, err := l.list(rel)
	if err != nil {
		return nil // the notes were read from it; whatever is wrong is told with the parts
	}
	var found *Cut
	for _, e := range entries {
		if !isPose(e.Name()) {
			continue
		}
		at := path.Join(rel, e.Name())
		if found != nil {
			l.problem(at, "this is a second mesh of the standing pose beside %q; keep one of them", path.Base(found.Rel))
			continue
		}
		if _, err := l.stat(at); err != nil {
			l.problem(at, "the mesh of the standing pose cannot be read (%s); expected a file inside the content folder", err)
			continue
		}
		found = &Cut{Kind: CutPose, File: filepath.Join(l.abs, filepath.FromSlash(at)), Rel: at}
	}
	return found
}
