package verdict

import (
	"fmt"

	"cardback/internal/measure"
	"cardback/internal/release"
)

// CreditedWork is a work that a release adapts, and whether the release may be under its
// licence then.
type CreditedWork struct {
	Credit release.Credit
	release.Adaptation
}

// credits checks the licence of each adapted work against the release's own, in
// the order of the notes.
func credits(r release.Release) []CreditedWork {
	made("credits", r.Number)
	var out []CreditedWork
	for _, c := range r.Credits {
		out = append(out, CreditedWork{c, release.MayCarry(c.Licence, r.Licence)})
	}
	return out
}

// licenceFindings says which credited works do not go with the release's
// licence: a fault where an adaptation is not allowed, a caution where it is
// discouraged, a note where there is no chart to go by.
func licenceFindings(r release.Release, list []CreditedWork) []Finding {
	var out []Finding
	for _, c := range list {
		if c.Credit.Licence == "" || r.Licence == "" {
			continue // the notes have an error there, which was told
		}
		var found measure.Finding
		switch c.Adapting {
		case release.MayAdapt:
			continue
		case release.MayNotAdapt:
			found.Level, found.Code = measure.Fault, codeLicence
		case release.BetterNot:
			found.Level, found.Code = measure.Caution, "licence-discouraged"
		default:
			found.Level, found.Code = measure.Note, "licence-not-covered"
		}
		found.Text = fmt.Sprintf("The release is under %s and adapts %q, which is under %s: %s. %s", r.Licence, c.Credit.Work, c.Credit.Licence, c.Adapting, c.Why)
		out = append(out, Finding{Release: r.Number, File: r.SourceFile, Finding: found})
	}
	return out
}
