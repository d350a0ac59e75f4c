package survey

import (
	"cardback/internal/draw"
	"cardback/internal/fit"
	"cardback/internal/measure"
	"cardback/internal/mesh"
	"cardback/internal/release"
)

// CutSurvey is everything measured from one cut's mesh. Err is set, and the
// rest zero, where the file could not be read.
type CutSurvey struct {
	Cut     release.Cut
	Bytes   int64  // size of the file
	SHA256  string // of the file's bytes
	Info    mesh.Info
	Report  *measure.Report
	Fits    map[string]fit.Result // by plate id
	Drawing [3]*draw.Drawing      // by measure.View
	Err     error
}

// Survey is a whole site measured: by the cut's path relative to the content
// root (release.Cut.Rel).
type Survey map[string]*CutSurvey

// Of returns the survey of a cut.
func (s Survey) Of(c release.Cut) *CutSurvey { return s[c.Rel] }
