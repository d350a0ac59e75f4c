package verdict

import (
	"fmt"
	"math"
	"path"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/words"
)

const (
	// A stated height is rounded, and a figure is measured to its crown by one and to the
	// tip of its hat by another: heightSlack (a share of the height, but at least
	// leastHeightSlack in mm) is let pass. Judgement of ours, no source.
	heightSlack, leastHeightSlack = 0.05, 1.0
	// Past this ratio it is another scale, or another unit.
	heightWrong = 2.0
)

// FigureHeight is how tall a release's figure is, in mm, and the mesh that it was measured
// of.
type FigureHeight struct {
	MM   float64
	From release.Cut
}

// figureHeight is how tall a release's figure is, in mm, as it was measured: of its
// standing pose, or of the one part that it is, as that lies in its file. ok is false
// where there is neither, or it could not be read.
func figureHeight(r release.Release, s survey.Survey) (mm float64, from release.Cut, ok bool) {
	if r.Pose != nil {
		if cs, read := s.Measured(*r.Pose); read && cs.Tall() > 0 {
			return cs.Tall(), *r.Pose, true
		}
		return 0, release.Cut{}, false
	}
	p, one := printing.OnePiece(r)
	if !one {
		return 0, release.Cut{}, false
	}
	for _, c := range p.Cuts {
		if cs, read := s.Measured(c); read && cs.Tall() > mm {
			mm, from, ok = cs.Tall(), c, true
		}
	}
	return mm, from, ok
}

// statedFindings holds what a release's notes state against what was measured.
func statedFindings(r release.Release, s survey.Survey, of *CheckedRelease) []Finding {
	return slices.Concat(heightFindings(r, s, of), sameMeshes(r, s), unknownInLog(r, s))
}

// heightFindings holds the stated height against the figure's, or, where there is no
// figure, against all its pieces end to end, which it cannot be taller than.
func heightFindings(r release.Release, s survey.Survey, of *CheckedRelease) []Finding {
	if r.Height <= 0 {
		return nil
	}
	found := Finding{Release: r.Number, File: r.SourceFile}
	if of.Height != nil {
		mm, from := of.Height.MM, of.Height.From
		if cs, read := s.Measured(from); read && from.Kind != release.CutPose { // it need not stand in its file
			for k := range 3 {
				if side := cs.Report.Bounds.Size().Component(k); math.Abs(side-r.Height) < math.Abs(mm-r.Height) {
					mm = side
				}
			}
		}
		if math.Abs(mm-r.Height) <= max(leastHeightSlack, heightSlack*r.Height) {
			return nil
		}
		what := "the figure in " + path.Base(from.Rel) + " is"
		if from.Kind != release.CutPose {
			what = "the part in " + path.Base(from.Rel) + " is, the way that comes nearest,"
		}
		found.Finding = measure.Finding{Level: measure.Caution, Code: "height-differs", Text: fmt.Sprintf(
			"The notes state a height of %s, and %s %s tall: state what was measured, or leave the height out.", words.Length(r.Height), what, words.Length(tenth(mm)))}
		if max(mm, r.Height) >= heightWrong*min(mm, r.Height) {
			found.Level = measure.Fault
			found.Text = fmt.Sprintf(
				"The notes state a height of %s, and %s %s tall: one of the two is of another scale or in another unit.", words.Length(r.Height), what, words.Length(tenth(mm)))
		}
		return []Finding{found}
	}
	if r.Pose != nil {
		return nil // it could not be read, which is told
	}
	reach := 0.0
	for _, p := range r.Parts {
		longest := 0.0
		for _, c := range p.Cuts {
			cs, read := s.Measured(c)
			if !read {
				return nil
			}
			longest = max(longest, cs.Report.Diameter)
		}
		reach += longest * float64(p.Printed())
	}
	for _, b := range of.Hardware {
		if b.Item.Kind != bench.Adhesive {
			reach += b.Length + float64(b.Count)*(b.Item.Length+b.Item.Thickness+b.Item.Diameter)
			if b.Item.Kind.Cuttable() && b.Length == 0 {
				return nil // of rods without a length nothing is known
			}
		}
	}
	if reach <= 0 || r.Height <= reach {
		return nil
	}
	found.Finding = measure.Finding{Level: measure.Fault, Code: "height-differs", Text: fmt.Sprintf(
		"The notes state a height of %s, and all pieces and hardware laid end to end reach %s: one of the two is of another scale or in another unit.", words.Length(r.Height), words.Length(tenth(reach)))}
	return []Finding{found}
}

func tenth(mm float64) float64 { return math.Round(mm*10) / 10 }

// sameMeshes points out parts, and cuts of a part, with the very same mesh: one may be
// a copy that was to be replaced.
func sameMeshes(r release.Release, s survey.Survey) []Finding {
	type owner struct {
		part release.Part
		cut  release.Cut
	}
	first := map[string]owner{}
	var out []Finding
	for _, p := range r.Parts {
		for _, c := range p.Cuts {
			cs, read := s.Measured(c)
			if !read || cs.Report == nil || cs.Report.Fingerprint == "" {
				continue
			}
			was, dup := first[cs.Report.Fingerprint]
			if !dup {
				first[cs.Report.Fingerprint] = owner{p, c}
				continue
			}
			f := Finding{Release: r.Number, Part: p.Slug, Cut: c.Kind, File: c.Rel}
			if was.part.Slug == p.Slug {
				f.Finding = measure.Finding{Level: measure.Note, Code: "same-cuts", Text: fmt.Sprintf(
					"The %s cut has the very mesh of the %s cut: if that is meant, one mesh named any would do.", c.Kind, was.cut.Kind)}
			} else {
				f.Finding = measure.Finding{Level: measure.Caution, Code: "same-mesh", Text: fmt.Sprintf(
					"The mesh is the very one of %s: one of the two may be a copy that was never replaced. If both are meant, one part with a higher quantity would do.", was.part.Name)}
			}
			out = append(out, f)
		}
	}
	return out
}

// unknownInLog points out entries of the print log that name a part which there is not
// and, as far as revisions tell, never was.
func unknownInLog(r release.Release, s survey.Survey) []Finding {
	slugs, meshes := map[string]bool{}, map[string]bool{}
	for _, p := range r.Parts {
		slugs[p.Slug] = true
		for _, c := range p.Cuts {
			if cs, read := s.Measured(c); read && cs.Report != nil {
				meshes[cs.Report.Fingerprint] = true
			}
		}
	}
	for _, rev := range r.Revisions {
		for _, p := range rev.Parts {
			slugs[p.Slug] = true
			for _, c := range p.Cuts {
				meshes[c.Fingerprint] = true
			}
		}
	}
	var out []Finding
	told := map[string]bool{}
	for _, e := range r.Log {
		names := slices.Clone(e.Parts)
		for _, u := range e.Meshes {
			if meshes[u.Fingerprint] {
				names = slices.DeleteFunc(names, func(n string) bool { return n == u.Part }) // it has another name now
			} else if !slices.Contains(names, u.Part) {
				names = append(names, u.Part)
			}
		}
		for _, n := range names {
			if slugs[n] || told[n] {
				continue
			}
			told[n] = true
			out = append(out, Finding{Release: r.Number, File: path.Join(path.Dir(r.SourceFile), release.LogFile), Finding: measure.Finding{
				Level: measure.Caution, Code: "log-part-unknown", Text: fmt.Sprintf(
					"The print of %s in line %d names the part %q, which is no folder of the release, in no revision, and whose mesh no part has: correct the name, or take the entry for one that proves nothing.", words.Day(e.Date), e.Line, n)}})
		}
	}
	return out
}
