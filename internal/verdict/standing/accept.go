package standing

import "strings"

// Accept lessens what the rule says by one step, and leaves no more of it after a
// print than before.
func (r *Rule) Accept(why string) {
	switch r.Answer {
	case Care:
		r.Answer, r.Accepted = Passes, why
	case Fails:
		r.Answer, r.Accepted = Care, why
	}
	r.Left = min(r.Left, r.Answer)
}

// AcceptedText is what stands beside an accepted finding.
func AcceptedText(why string) string {
	if !strings.ContainsAny(why[len(why)-1:], ".!?") {
		why += "."
	}
	return "Accepted by the designer for this mesh: " + why
}
