package verdict

import (
	"fmt"
	"math"
	"regexp"
	"strconv"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/measure/slice"
	"cardback/internal/mesh"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/rotation"
	"cardback/internal/survey"
	"cardback/internal/words"
)

const (
	// A part is long where it is at least slender times as long as it is wide: one that
	// is less so is raised by a tilt about either axis.
	slender = 3
	// A tilt of less than leastTilt degrees is not meant to raise a part.
	leastTilt = 10
	// A tilt only rolls a long part where the part rises by less than rolls of it.
	rolls = 1. / 3
	// Angles in words are round ones: "about 35 degrees" is said of a tilt this near.
	asSaid = 5
)

// layFindings says where a recommended pose is not what it seems: a tilt that only rolls a
// long part about its own length, so that it lies as flat as before, and an angle that the
// notes speak of and no orientation states. It is about the processes in by.
func layFindings(r release.Release, p release.Part, cs *survey.CutSurvey, by []*bench.Process) []measure.Finding {
	var out []measure.Finding
	for _, proc := range by {
		if cs.Layers[proc] != nil {
			out = append(out, rolled(proc, printing.PartOf(r, p, proc).Pose, cs.Report.Hull)...)
		}
	}
	return append(out, unsaid(r, p, cs, by)...)
}

func rolled(proc *bench.Process, pose slice.Pose, hull []mesh.Vec) []measure.Finding {
	tilt, about := pose.Tilt, pose.About
	long, wide := lengthOf(hull)
	if math.Abs(tilt) < leastTilt || long.Norm() == 0 || !(long.Norm() >= float64(slender*wide)) {
		return nil
	}
	after := riseOf(long, tilt, about)
	if after >= float64(math.Abs(tilt)*rolls) {
		return nil
	}
	f := measure.Finding{Level: measure.Note, Code: "only-rolled", Text: fmt.Sprintf("In %s it is tilted %s° about %s, which only rolls it about its own length of %s mm: it still lies flat, at about %s from the plate.",
		proc, words.Plain(tilt), about, words.Fixed(long.Norm(), 0), words.Degrees(math.Round(after)))}
	if proc.Film { // a long layer comes off the film at once
		f.Level = measure.Caution
	}
	other := "y"
	if about == "y" {
		other = "x"
	}
	if raised := riseOf(long, tilt, other); raised > math.Abs(tilt)*(1-rolls) {
		f.Text += fmt.Sprintf(" About %s the same tilt raises one end, to about %s.", other, words.Degrees(math.Round(raised)))
	}
	return []measure.Finding{f}
}

// lengthOf is the direction and length of a body, from one end to the other, and how wide
// it is across that, as twice the greatest distance of a point from the line between its
// ends. The ends are farthest from each other, as going from a point to the farthest from
// it again and again finds them, which is the longest way but for bodies that are as wide
// as they are long.
func lengthOf(hull []mesh.Vec) (long mesh.Vec, wide float64) {
	if len(hull) == 0 {
		return long, 0
	}
	farthest := func(p mesh.Vec) mesh.Vec {
		best := p
		for _, q := range hull {
			if q.Sub(p).Norm() > best.Sub(p).Norm() {
				best = q
			}
		}
		return best
	}
	a := hull[0]
	b := farthest(a)
	for range 4 {
		a, b = b, farthest(b)
	}
	long = b.Sub(a)
	if long.Norm() == 0 {
		return long, 0
	}
	u := long.Scale(1 / long.Norm())
	for _, q := range hull {
		d := q.Sub(a)
		wide = max(wide, 2*d.Sub(u.Scale(u.Dot(d))).Norm())
	}
	return long, wide
}

// riseOf is the angle in degrees, from 0 to 90, between a direction and the plate once the
// part is tilted.
func riseOf(long mesh.Vec, tilt float64, about string) float64 {
	d := rotation.Apply(rotation.Tilted(tilt, about == "y"), long)
	return math.Asin(min(math.Abs(d.Z)/long.Norm(), 1)) * 180 / math.Pi
}

var (
	angleInWords = regexp.MustCompile(`(\d{1,2}(?:\.\d+)?) ?(?:°|degrees?\b|deg\b)`)
	layingWord   = regexp.MustCompile(`(?i)\b(?:tilt|tilted|raise|raised|lean|leaning|incline|inclined|slant|slanted|angled)\b`)
)

// unsaid finds an angle that the part's notes would have it laid at, where no process lays
// it so. Plates are arranged by the orientation, which a sentence cannot set.
func unsaid(r release.Release, p release.Part, cs *survey.CutSurvey, by []*bench.Process) []measure.Finding {
	m := angleInWords.FindStringSubmatch(p.Notes)
	if m == nil || !layingWord.MatchString(p.Notes) {
		return nil
	}
	angle, err := strconv.ParseFloat(m[1], 64)
	if err != nil {
		return nil
	}
	var poses []string
	for _, proc := range by {
		if cs.Layers[proc] == nil {
			continue
		}
		in := printing.PartOf(r, p, proc)
		if math.Abs(math.Abs(in.Pose.Tilt)-angle) <= asSaid && in.Oriented {
			return nil
		}
		poses = append(poses, fmt.Sprintf("for %s %s", proc, in.Pose))
	}
	if len(poses) == 0 {
		return nil
	}
	return []measure.Finding{{Level: measure.Caution, Code: "tilt-unsaid", Text: fmt.Sprintf("Its notes speak of laying it at %s°, but plates are arranged by what orientation says, and by that it is laid %s. Add a line such as orientation: {tilt: %s, about: x}.",
		words.Plain(angle), words.List(poses), words.Plain(angle))}}
}
