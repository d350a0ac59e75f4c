package cli

import (
	"fmt"
	"io"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"cardback/internal/measure"
	"cardback/internal/release"
	"cardback/internal/verdict"
	"cardback/internal/words"
)

// gate is what stands between the checks and publishing. A release with a fault is held
// back, and the whole site with it: without that release its page and downloads,
// which people may have the addresses of, would vanish from the web.
//
// A draft is not published: its faults are told and hold nothing back, and where all
// that is built are drafts, neither do the site's own. What a licence does not allow
// holds back in any case, since a site that is built may be put on the web.
type gate struct {
	content  string
	findings []verdict.Finding
	held     []verdict.Finding // faults of what is published
	breaches []verdict.Finding // those of them and of drafts that nothing excuses
}

func newGate(content string, s *release.Site, findings []verdict.Finding) gate {
	g := gate{content: content, findings: findings}
	published := map[int]bool{}
	for _, r := range s.Releases {
		if !r.Draft {
			published[r.Number] = true
		}
	}
	published[0] = len(published) > 0 // the site's own findings
	for _, f := range findings {
		if f.Breach() {
			g.breaches = append(g.breaches, f)
		}
		if f.Level == measure.Fault && published[f.Release] {
			g.held = append(g.held, f)
		}
	}
	return g
}

// mostHeldTold bounds the findings that are told one by one; proof tells all.
const mostHeldTold = 10

// check says what holds the build back, and reports whether anything does.
func (g gate) check(withFaults bool, stderr io.Writer) error {
	tell := func(list []verdict.Finding) {
		for _, f := range list[:min(len(list), mostHeldTold)] {
			fmt.Fprintln(stderr, g.line(f))
		}
		if n := len(list) - mostHeldTold; n > 0 {
			fmt.Fprintf(stderr, "and %d more; %s\n", n, g.readOn())
		}
	}
	switch {
	case len(g.breaches) > 0:
		tell(g.breaches)
		fmt.Fprintln(stderr, "what a licence does not allow is never published; nothing was written")
		return errInput
	case len(g.held) > 0 && !withFaults:
		tell(g.held)
		fmt.Fprintf(stderr, "%s; nothing was written. Mend what is wrong, or publish it as it is with --with-faults: the pages say so then\n", faultsWhere(g.held))
		return errInput
	}
	return nil
}

// sum ends a build: how much was found, the worst of it, and where to read on.
func (g gate) sum(stdout io.Writer) {
	var t findingTally
	for _, f := range g.findings {
		t.count(f.Level)
	}
	if t == (findingTally{}) {
		fmt.Fprintln(stdout, "found: nothing")
		return
	}
	worst := g.findings[0]
	for _, level := range []measure.Level{measure.Fault, measure.Caution, measure.Note} {
		if i := slices.IndexFunc(g.findings, func(f verdict.Finding) bool { return f.Level == level }); i >= 0 {
			worst = g.findings[i]
			break
		}
	}
	fmt.Fprintf(stdout, "found: %s; the worst: %s\n%s\n", t, g.line(worst), g.readOn())
}

// line is a finding with its file.
func (g gate) line(f verdict.Finding) string {
	file := f.File
	if file == "" {
		file = "releases"
	}
	return fmt.Sprintf("%s: %s: %s", path.Join(filepath.ToSlash(g.content), file), f.Level, f.Text)
}

func (g gate) readOn() string {
	command := "cardback proof"
	if g.content != "content" {
		command += " --content " + g.content
	}
	return fmt.Sprintf("%q lists all that was found", command)
}

// faultsWhere is "3 faults in 2 releases and the site's own files".
func faultsWhere(faults []verdict.Finding) string {
	in := map[int]bool{}
	for _, f := range faults {
		in[f.Release] = true
	}
	var where []string
	own := in[0]
	delete(in, 0)
	if len(in) > 0 {
		where = append(where, words.Count(len(in), "release", "releases"))
	}
	if own {
		where = append(where, "the site's own files")
	}
	return words.Count(len(faults), "fault", "faults") + " in " + words.List(where)
}

// toBuild is what build works on: the site without its drafts, or with them marked. It says
// which are left out.
func toBuild(s *release.Site, day time.Time, drafts bool) (*release.Site, []release.Release) {
	if drafts {
		return s.WithDrafts(day), nil
	}
	return s.Published(day)
}

// draftNames is "9 Eel Courier (not yet), 10 Fog Moths (2027-01-01)".
func draftNames(drafts []release.Release) string {
	var out []string
	for _, r := range drafts {
		when := release.NotYet
		if !r.Released.IsZero() {
			when = words.Date(r.Released)
		}
		out = append(out, fmt.Sprintf("%d %s (%s)", r.Number, r.Title, when))
	}
	return strings.Join(out, ", ")
}
