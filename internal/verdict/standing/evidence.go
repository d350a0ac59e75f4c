package standing

import (
	"cmp"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/printing"
	"cardback/internal/release"
)

// SameShape says what became of a mesh, by the fingerprints of what it was and is:
// OnlyMoved, BelowTolerance or ChangedSince. Nil stands for "not known".
type SameShape func(was, now string) Before

// evidence is what the print log and the revisions say of one mesh in one
// material.
type evidence struct {
	log    Logged
	print  *release.Print // the newest of those with the best outcome; nil where Unlogged
	prints int            // of exactly this mesh in this material
	good   int            // of those
	before Before
	was    *release.Print // the newest good print of the earlier mesh; nil where NeverProven
	// revision is the newest that has the earlier mesh; empty where none has.
	revision string
}

// evidenceFor looks for prints of the mesh with the fingerprint now, which is
// part p's, in m. Entries count whatever the part was called then: the mesh is
// known by its fingerprint, and an earlier one by a name that the log or a
// revision gives to a mesh of today's part.
func evidenceFor(r release.Release, p release.Part, now string, m bench.Material, fingerprints map[string]string, same SameShape) evidence {
	var ev evidence
	var earlier []earlierPrint
	names := namesOf(r, p, fingerprints)
	for i := range r.Log {
		print := &r.Log[i]
		if !provesIn(print.Stock, m, r) {
			continue
		}
		exact := false
		for _, u := range print.Meshes {
			if u.Fingerprint == "" {
				continue // not recorded: it proves nothing of any mesh
			}
			exact = exact || u.Fingerprint == now
			if u.Fingerprint != now && print.Outcome == release.Good && slices.Contains(names, u.Part) {
				earlier = append(earlier, earlierPrint{print, u.Fingerprint})
			}
		}
		if !exact {
			continue
		}
		ev.prints++
		got := loggedAs(print.Outcome)
		if got == LogGood {
			ev.good++
		}
		if got > ev.log || got == ev.log && newer(print, ev.print) {
			ev.log, ev.print = got, print
		}
	}
	if ev.log != Unlogged {
		return ev
	}
	ev.since(earlier, r, names, now, same)
	return ev
}

// earlierPrint is a good print of an earlier mesh of the part.
type earlierPrint struct {
	print *release.Print
	mesh  string // fingerprint
}

// since sets what became of the mesh that was proven: one of the same shape
// before any other, then the newest print.
func (ev *evidence) since(earlier []earlierPrint, r release.Release, names []string, now string, same SameShape) {
	mesh := ""
	for _, e := range earlier {
		how := ChangedSince
		if same != nil {
			how = same(e.mesh, now)
		}
		switch {
		case ev.was == nil, how < ev.before:
		case how != ev.before:
			continue
		case !newer(e.print, ev.was) && (newer(ev.was, e.print) || e.mesh >= mesh):
			continue
		}
		ev.before, ev.was, mesh = how, e.print, e.mesh
	}
	if ev.was == nil {
		return
	}
	for _, rev := range r.Revisions {
		for _, p := range rev.Parts {
			if slices.Contains(names, p.Slug) && slices.ContainsFunc(p.Cuts, func(c release.SealedCut) bool { return c.Fingerprint == mesh }) {
				ev.revision = rev.Name
			}
		}
	}
}

// newer orders prints by date. Those of one day go by what they say, the fullest
// first, so that their order in the file does not matter.
func newer(a, b *release.Print) bool {
	if b == nil {
		return true
	}
	if c := cmp.Or(a.Date.Compare(b.Date), cmp.Compare(len(a.Meshes), len(b.Meshes))); c != 0 {
		return c > 0
	}
	for i, u := range a.Meshes {
		v := b.Meshes[i]
		if c := cmp.Or(cmp.Compare(v.Fingerprint, u.Fingerprint), cmp.Compare(v.Part, u.Part)); c != 0 {
			return c > 0
		}
	}
	return cmp.Or(cmp.Compare(b.Plate, a.Plate), cmp.Compare(b.Remark, a.Remark), cmp.Compare(b.Layer, a.Layer), cmp.Compare(b.Tilt, a.Tilt),
		cmp.Compare(release.BlendText(b.Stock), release.BlendText(a.Stock))) > 0
}

func loggedAs(o release.Outcome) Logged {
	switch o {
	case release.Good:
		return LogGood
	case release.Usable:
		return LogUsable
	case release.Failed:
		return LogFailed
	}
	return Unlogged
}

// namesOf lists what p is and was called: its folder's name, and each name that
// a revision or the log gives to a mesh that p has today, or had under a name
// already found, unless another part of the release is called so today.
// fingerprints are of the release's cuts that could be read, by their Rel.
func namesOf(r release.Release, p release.Part, fingerprints map[string]string) []string {
	names := []string{p.Slug}
	known := map[string]bool{} // fingerprints of p, today's and earlier
	for _, c := range p.Cuts {
		if fp := fingerprints[c.Rel]; fp != "" {
			known[fp] = true
		}
	}
	taken := func(name string) bool {
		return slices.ContainsFunc(r.Parts, func(q release.Part) bool { return q.Slug == name })
	}
	// Each round adds a name or a fingerprint, or is the last.
	for grew := true; grew; {
		grew = false
		learn := func(name, fingerprint string) {
			own := slices.Contains(names, name)
			switch {
			case fingerprint == "" || own && known[fingerprint]:
			case own:
				known[fingerprint], grew = true, true
			case known[fingerprint] && !taken(name):
				names, grew = append(names, name), true
			}
		}
		for _, rev := range r.Revisions {
			for _, sealed := range rev.Parts {
				for _, c := range sealed.Cuts {
					learn(sealed.Slug, c.Fingerprint)
				}
			}
		}
		for _, print := range r.Log {
			for _, u := range print.Meshes {
				learn(u.Part, u.Fingerprint)
			}
		}
	}
	return names
}

// provesIn reports whether a print in that stock is one in m: m alone, the blend
// that the release states for m's process where m is its base, or a blend that a
// rule of the bench says is as stiff as m. Any other blend proves nothing of m.
func provesIn(stock []release.Share, m bench.Material, r release.Release) bool {
	stock = release.Present(stock)
	if len(stock) == 1 {
		return stock[0].Material.ID == m.ID
	}
	if stated := StatedBlend(r, m); len(stated) > 0 && release.SameBlend(stock, stated) {
		return true
	}
	rule, ok := release.BlendRule(stock, m)
	return ok && rule.Stiffness == m.Stiffness
}

// StatedBlend is the blend that the release's settings state for m's process, if
// m is its base: the stock that a rule of the bench takes the other to be stirred
// into, or else the greatest share. Nil where they state none for m.
func StatedBlend(r release.Release, m bench.Material) []release.Share {
	shares := release.Present(printing.Settings(r, m.Process).Shares)
	if len(shares) > 1 && release.Base(shares).ID == m.ID {
		return shares
	}
	return nil
}
