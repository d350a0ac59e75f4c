package verdict

import (
	"fmt"
	"slices"

	"cardback/internal/measure"
	"cardback/internal/release"
	"cardback/internal/survey"
)

// What a designer accepts of a mesh stays to be seen, with the reason, and counts for
// less: a finding becomes a note, and what only wanted care passes. A rule that fails
// wants care: that a thing is accepted makes nobody know that it prints. A good print
// settles it as ever, and a failed one is not undone. Faults are not accepted, nor is
// uncured resin that stays in a part (see release.Acceptable).

// acceptedIn is why the designer accepts a finding in a cut as it is now.
func acceptedIn(p release.Part, cs *survey.CutSurvey, code string) (why string, ok bool) {
	for _, a := range p.Accepts {
		if a.Finding == code && a.Of(cs.Report.Fingerprint) {
			return a.Why, true
		}
	}
	return "", false
}

// accepted is the finding as it stands where p's notes accept it.
func (f Finding) accepted(p release.Part) Finding {
	if f.Level == measure.Fault {
		return f
	}
	for _, a := range p.Accepts {
		if a.Finding == f.Code && a.Of(f.Mesh) {
			f.Level, f.Accepted = measure.Note, a.Why
		}
	}
	return f
}

// cutFindings is what was found in one cut that could be read.
type cutFindings struct {
	place Finding // of the cut, without a finding
	found []Finding
}

func (c *cutFindings) has(code string) *Finding {
	for i := range c.found {
		if c.found[i].Code == code {
			return &c.found[i]
		}
	}
	return nil
}

// checkAccepts adds what is wrong with p's acceptances: of an earlier mesh, of a fault,
// or of what is not found. Each is told at the cut that it is of, or else at the first
// that has such a finding, or at the first of all. cuts are all of the part's: where one
// cannot be read nothing is known of which was meant.
func checkAccepts(p release.Part, cuts []cutFindings) {
	for _, a := range p.Accepts {
		of := slices.IndexFunc(cuts, func(c cutFindings) bool { return a.Of(c.place.Mesh) })
		current := of >= 0
		if !current {
			of = max(0, slices.IndexFunc(cuts, func(c cutFindings) bool { return c.has(a.Finding) != nil }))
		}
		c := &cuts[of]
		say := func(level measure.Level, code, text string, args ...any) {
			one := c.place
			one.Finding = measure.Finding{Level: level, Code: code, Text: fmt.Sprintf("Line %d of the part's notes: ", a.Line) + fmt.Sprintf(text, args...)}
			c.found = append(c.found, one)
		}
		switch its := c.has(a.Finding); {
		case !current && its == nil:
			say(measure.Caution, "accepted-earlier", "%s was accepted of an earlier mesh (%s) and no longer counts. Nothing of the kind is found now: remove the line.", a.Finding, a.Mesh)
		case !current:
			say(measure.Caution, "accepted-earlier", "%s was accepted of an earlier mesh (%s) and no longer counts. Look at it again; if it still holds, the mesh is now %s.", a.Finding, a.Mesh, shortMesh(c.place.Mesh))
		case its == nil:
			say(measure.Note, "accepted-nothing", "%s is accepted, and nothing of the kind is found: remove the line.", a.Finding)
		case its.Level == measure.Fault:
			say(measure.Caution, "accepted-fault", "%s is a fault of this mesh, which cannot be accepted: mend it, and remove the line.", a.Finding)
		}
	}
}

// AcceptLine is the line for the part's notes that accepts a finding of the mesh as it
// is; ok is false where it cannot be accepted, or is. The reason is left to be written:
// without one the line is an error.
func (f Finding) AcceptLine() (line string, ok bool) {
	can, _ := release.Acceptable(f.Code)
	if !can || f.Level == measure.Fault || f.Mesh == "" || f.Accepted != "" {
		return "", false
	}
	return fmt.Sprintf("- {finding: %s, mesh: %q, why: \"\"}", f.Code, shortMesh(f.Mesh)), true
}

func shortMesh(fingerprint string) string {
	return fingerprint[:min(len(fingerprint), release.MeshDigits)]
}
