package verdict

import (
	"fmt"
	"math"
	"path"

	"cardback/internal/measure"
	"cardback/internal/measure/stand"
	"cardback/internal/mesh"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/words"
)

// Stance is how a release's figure stands.
type Stance struct {
	Known    bool // false where the mesh could not be read or encloses nothing
	Stands   bool
	TipDeg   float64 // by how many degrees it may be tipped in the worst direction
	Toward   string  // that direction in words, as seen in the front view
	Sentence string
	Ground   string // what was measured, and what was not
	Report   *stand.Report
}

// stands answers for a release whose standing pose lies beside its notes, or which is
// one part printed once; ok is false for all others, of which nothing is said. Of a part
// with several cuts the one that stands worst counts.
func stands(r release.Release, s survey.Survey) (Stance, bool) {
	made("stance", r.Number)
	if r.Pose != nil {
		st := stance(s.Of(*r.Pose))
		st.Ground = fmt.Sprintf("Measured from %s as one rigid body of even density: where its pieces overlap their weight counts twice, hardware weighs as plastic where the pose has it and nothing where not, and hollows and filling are left out.", path.Base(r.Pose.Rel))
		return st, true
	}
	p, ok := printing.OnePiece(r)
	if !ok {
		return Stance{}, false
	}
	var worst *Stance
	for _, c := range p.Cuts {
		st := stance(s.Of(c))
		if worst == nil || worse(st, *worst) {
			worst = &st
		}
	}
	if worst == nil {
		return Stance{}, false
	}
	worst.Ground = "Measured from the part as its mesh lies, as one rigid body of even density: hollows and filling are left out."
	return *worst, true
}

func worse(a, b Stance) bool {
	if a.Known != b.Known {
		return !a.Known
	}
	if a.Stands != b.Stands {
		return !a.Stands
	}
	return a.TipDeg < b.TipDeg
}

func stance(cs *survey.CutSurvey) Stance {
	switch {
	case cs == nil || cs.Err != nil:
		return Stance{Sentence: "Whether it stands is not known: its mesh could not be read."}
	case cs.Stands == nil:
		return Stance{Sentence: "Whether it stands is not known: its mesh does not enclose a volume, so it has no centre of mass."}
	}
	r := cs.Stands
	out := Stance{Known: true, Stands: r.Stands, TipDeg: r.Tip * 180 / math.Pi, Toward: toward(r.Toward), Report: r}
	switch {
	case r.Stands:
		out.Sentence = fmt.Sprintf("Stands: tips at %s° towards %s.", words.AtLeast(out.TipDeg, tipDecimals(out.TipDeg)), out.Toward)
	case r.Margin < 0 && -r.Margin >= 0.05:
		out.Sentence = fmt.Sprintf("Does not stand by itself: its weight lies %s mm outside what it rests on, towards %s.", words.Fixed(-r.Margin, 1), out.Toward)
	case len(r.Support) > 2:
		out.Sentence = fmt.Sprintf("Does not stand by itself: its weight lies on the edge of what it rests on, towards %s.", out.Toward)
	case len(r.Support) == 2:
		out.Sentence = "Does not stand by itself: it rests on a line."
	default:
		out.Sentence = "Does not stand by itself: it rests on one point."
	}
	return out
}

// toward names a direction along the floor as the front view shows it: right is
// +x, and the back is +y.
func toward(v mesh.Vec) string {
	if v == (mesh.Vec{}) {
		return "any side"
	}
	eighth := int(math.Round(math.Atan2(v.Y, v.X)/(math.Pi/4))+8) % 8
	return [8]string{"the right", "the back right", "the back", "the back left", "the left", "the front left", "the front", "the front right"}[eighth]
}

// poseFindings says what is wrong with the mesh of a standing pose.
func poseFindings(r release.Release, s survey.Survey) []Finding {
	if r.Pose == nil {
		return nil
	}
	cs := s.Of(*r.Pose)
	place := Finding{Release: r.Number, File: r.Pose.Rel}
	switch {
	case cs == nil:
		return nil
	case cs.Err != nil:
		place.Finding = measure.Finding{Level: measure.Caution, Code: "pose-unreadable", Text: fmt.Sprintf("The standing pose cannot be read, so nothing is said of whether the figure stands: %s.", cs.Err)}
	case cs.Stands == nil:
		place.Finding = measure.Finding{Level: measure.Note, Code: "pose-open", Text: "The mesh of the standing pose does not enclose a volume, so nothing is said of whether the figure stands."}
	default:
		return nil
	}
	return []Finding{place}
}

// tipDecimals is how many decimals an angle of tipping is told with: tenths below ten
// degrees. It is rounded down, so that "tips at" is never too much.
func tipDecimals(deg float64) int {
	if deg < 10 {
		return 1
	}
	return 0
}
