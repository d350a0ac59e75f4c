package release

import (
	"cmp"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/fields"
	"cardback/internal/words"
)

// cutKinds are the names that a part's meshes may have.
func (l *loader) cutKinds() []CutKind { return CutKinds(l.site.Bench.Processes()) }

// kindsInWords lists them: "any, filament, resin or flexible".
func (l *loader) kindsInWords() string {
	var names []string
	for _, k := range l.cutKinds() {
		names = append(names, string(k))
	}
	return fields.OneOf(names)
}

// allowedMeshes says which files a part may have.
func (l *loader) allowedMeshes() string { return l.kindsInWords() + ", ending in .stl or .3mf" }

// partNotes is a part with the document that describes it, kept open until the
// release's other parts are known.
type partNotes struct {
	part Part
	rel  string           // part.yaml's path
	doc  *fields.Document // nil where there is no part.yaml
}

// errorf reports a problem at a field of part.yaml.
func (p partNotes) errorf(name, format string, args ...any) {
	p.doc.Map().Errorf(name, format, args...)
}

// loadParts reads the release's part folders and puts them in chart order.
// notes is release.md, order its list of parts.
func (l *loader) loadParts(r *Release, rel string, notes *fields.Document, order []fields.Located) {
	folder := path.Join(rel, "parts")
	entries, err := l.list(folder)
	if err != nil {
		l.problem(folder, "the folder of parts cannot be read (%s); expected parts/SLUG/any.stl", err)
		return
	}
	var all []partNotes
	var slugs []string
	for _, e := range entries {
		at := path.Join(folder, e.Name())
		if !l.isDir(at, e) {
			if isMesh(e.Name()) {
				l.problem(at, "this mesh stands outside a part folder; move it to parts/%s/any%s", strings.ToLower(strings.TrimSuffix(e.Name(), path.Ext(e.Name()))), strings.ToLower(path.Ext(e.Name())))
			}
			continue
		}
		if len(e.Name()) > MaxSlug {
			l.problem(at, "part folder %q has a name of %d characters; expected at most %d", clipped(e.Name()), len(e.Name()), MaxSlug)
			continue
		}
		if !slugPattern.MatchString(e.Name()) {
			l.problem(at, "part folder %q has other characters than a to z, 0 to 9 and hyphen; rename it, for example upper-arm", e.Name())
			continue
		}
		all = append(all, l.loadPart(at, e.Name()))
		slugs = append(slugs, e.Name())
	}
	if len(all) == 0 {
		l.problem(folder, "there are no parts; expected at least one folder with a mesh, such as parts/upper-arm/any.stl")
	}
	checkReplaces(all, slugs)
	checkChoices(all)
	checkNames(all)
	l.checkPieces(all, folder)
	for _, p := range all {
		if p.doc != nil {
			l.finish(p.doc)
		}
	}
	place := chartOrder(notes, order, slugs)
	slices.SortStableFunc(all, func(a, b partNotes) int {
		return cmp.Or(cmp.Compare(place[a.part.Slug], place[b.part.Slug]), cmp.Compare(a.part.Slug, b.part.Slug))
	})
	for _, p := range all {
		if len(p.part.Cuts) > 0 {
			r.Parts = append(r.Parts, p.part)
		}
	}
}

// chartOrder gives each listed slug its place; the unlisted share the last one.
func chartOrder(notes *fields.Document, order []fields.Located, slugs []string) map[string]int {
	place := map[string]int{}
	for _, slug := range slugs {
		place[slug] = len(order)
	}
	seen := map[string]int{}
	for i, o := range order {
		first, dup := seen[o.Text]
		switch {
		case dup:
			notes.Errorf(o.Line, o.Column, "part %q is listed twice; the first is on line %d, remove one", o.Text, first)
		case !slices.Contains(slugs, o.Text):
			notes.Errorf(o.Line, o.Column, "part %q is not a folder of this release; %s", o.Text, fields.Suggest(o.Text, slugs))
		default:
			seen[o.Text] = o.Line
			place[o.Text] = i
		}
	}
	return place
}

// loadPart reads one part folder; a part without a mesh keeps no cuts.
func (l *loader) loadPart(rel, slug string) partNotes {
	p := partNotes{part: Part{Slug: slug, Name: nameFrom(slug), Quantity: 1}, rel: path.Join(rel, "part.yaml")}
	entries, err := l.list(rel)
	if err != nil {
		l.problem(rel, "the part folder cannot be read (%s); expected a mesh such as any.stl", err)
		return p
	}
	hasMesh := false
	var others []string // files that are neither mesh nor notes
	for _, e := range entries {
		name := e.Name()
		at := path.Join(rel, name)
		if name == "part.yaml" {
			p.doc = l.partTable(p.rel, &p.part)
			continue
		}
		if near, ok := fields.Nearest(name, []string{"part.yaml"}); ok {
			l.problem(at, "file %q is not read; did you mean %q?", name, near)
		}
		if !isMesh(name) {
			others = append(others, name)
			continue
		}
		hasMesh = true
		kind := CutKind(strings.ToLower(strings.TrimSuffix(name, path.Ext(name))))
		if !slices.Contains(l.cutKinds(), kind) {
			l.problem(at, "mesh name %q is not one of a part's; expected %s", name, l.allowedMeshes())
			continue
		}
		if i := slices.IndexFunc(p.part.Cuts, func(c Cut) bool { return c.Kind == kind }); i >= 0 {
			l.problem(at, "this is a second %s mesh of the part beside %q; keep one of them", kind, path.Base(p.part.Cuts[i].Rel))
			continue
		}
		if _, err := l.stat(at); err != nil {
			l.problem(at, "the mesh cannot be read (%s); expected a file inside the content folder", err)
			continue
		}
		p.part.Cuts = append(p.part.Cuts, Cut{Kind: kind, File: filepath.Join(l.abs, filepath.FromSlash(at)), Rel: at})
	}
	slices.SortFunc(p.part.Cuts, func(a, b Cut) int {
		return CompareCuts(a.Kind, b.Kind)
	})
	misnamed := false
	for _, name := range others { // the model that a mesh was made from may lie beside it
		stem, _, _ := strings.Cut(strings.ToLower(name), ".")
		kind := CutKind(stem)
		if slices.Contains(l.cutKinds(), kind) && !slices.ContainsFunc(p.part.Cuts, func(c Cut) bool { return c.Kind == kind }) {
			l.problem(path.Join(rel, name), "file %q is not read as a mesh; expected %s.stl or %s.3mf", name, kind, kind)
			misnamed = true
		}
	}
	if !hasMesh && !misnamed {
		l.problem(rel, "part %q has no mesh; expected a file named %s", slug, l.allowedMeshes())
	}
	if p.doc != nil {
		p.readSnaps()
	}
	ok := slices.ContainsFunc(p.part.Cuts, func(c Cut) bool {
		return slices.Contains([]CutKind{CutKind(p.part.Only.String()), CutAny, CutFlexible}, c.Kind)
	})
	for _, c := range p.part.Cuts {
		if ok && p.part.Only != nil && !c.Kind.IsFor(p.part.Only) {
			p.errorf("only", "part %q is only for %s, and nothing would print its mesh %q; remove the line or the mesh", slug, p.part.Only, path.Base(c.Rel))
		}
	}
	if p.part.Only != nil && len(p.part.Cuts) > 0 && !ok {
		p.errorf("only", "part %q is only for %s but has no mesh for it; expected %s or any", slug, p.part.Only, p.part.Only.ID)
	}
	return p
}

// readSnaps reads which cuts have snap joints: each must be a cut of the part.
func (p *partNotes) readSnaps() {
	var own []string
	for _, c := range p.part.Cuts {
		own = append(own, string(c.Kind))
	}
	for _, s := range p.doc.Map().Texts("snaps", fields.Optional) {
		kind := CutKind(s.Text)
		switch {
		case slices.Contains(p.part.Snaps, kind):
			p.doc.Errorf(s.Line, s.Column, "cut %q is named twice; remove one", s.Text)
		case slices.Contains(own, s.Text):
			p.part.Snaps = append(p.part.Snaps, kind)
		case len(own) > 0: // a part without a mesh is told as such
			p.doc.Errorf(s.Line, s.Column, "cut %q is not a mesh of this part; %s", s.Text, fields.Suggest(s.Text, own))
		}
	}
}

// partTable reads part.yaml into part, all but snaps, which wants its meshes.
func (l *loader) partTable(rel string, part *Part) *fields.Document {
	data, err := l.read(rel, fields.MaxYAML)
	if err != nil {
		l.problem(rel, "cannot be read (%s); expected the part's fields; it may also be left out", err)
		return nil
	}
	d := fields.Parse(path.Join(l.shown, rel), data)
	m := d.Map()
	if name := m.Text("name", fields.Optional); name != "" {
		part.Name = name
	}
	part.Quantity = m.Count("quantity", fields.Optional, 1)
	if part.Quantity > MostCopies {
		m.Errorf("quantity", "quantity %d is more than a figure has of one part; expected at most %d", part.Quantity, MostCopies)
		part.Quantity = 1
	}
	part.MirroredTwin = m.Bool("mirrored_twin", fields.Optional)
	part.Choice = m.Text("choice", fields.Optional)
	part.Only = l.processOf(m, "only")
	part.Replaces = m.Text("replaces", fields.Optional)
	part.Takes = l.hardware(m, "takes")
	if o := m.Table("orientation", fields.Optional); o != nil {
		part.Tilt = o.Angle("tilt", fields.Required, -180, 180)
		upright := o.OK("tilt") && part.Tilt == 0
		part.TiltAbout = o.Enum("about", fields.Need(!upright), "x", "y")
		if upright && !o.Has("about") {
			part.TiltAbout = "x" // no turn is the same about any axis
		}
		part.TiltFor = l.processOf(o, "for")
	}
	part.Flexible = m.Bool("flexible", fields.Optional)
	part.Notes = m.Text("notes", fields.Optional)
	part.Accepts = readAccepts(m)
	return d
}

// checkReplaces makes sure that each piece replaces a whole of the release.
func checkReplaces(all []partNotes, slugs []string) {
	whole := map[string]string{} // part -> what it replaces
	for _, p := range all {
		whole[p.part.Slug] = p.part.Replaces
	}
	for i, p := range all {
		target := p.part.Replaces
		if target == "" {
			continue
		}
		others := slices.DeleteFunc(slices.Clone(slugs), func(s string) bool { return s == p.part.Slug })
		switch {
		case target == p.part.Slug:
			p.errorf("replaces", "part %q replaces itself; expected the slug of the whole part", target)
		case !slices.Contains(slugs, target):
			p.errorf("replaces", "part %q to replace is not a folder of this release; %s", target, fields.Suggest(target, others))
		case whole[target] != "":
			p.errorf("replaces", "part %q is itself a piece of %q; expected the slug of a whole part", target, whole[target])
		case p.part.Choice != "":
			p.errorf("choice", "part %q is a piece of %q, and is chosen with the whole; write the choice in the whole's part.yaml and remove it here", p.part.Slug, target)
			all[i].part.Choice = ""
			continue
		default:
			continue
		}
		all[i].part.Replaces = ""
	}
}

// checkChoices makes sure that there is something to choose from.
func checkChoices(all []partNotes) {
	members := map[string]int{}
	var groups []string
	for _, p := range all {
		if g := p.part.Choice; g != "" {
			if members[g] == 0 {
				groups = append(groups, g)
			}
			members[g]++
		}
	}
	for i, p := range all {
		g := p.part.Choice
		if g == "" || members[g] > 1 {
			continue
		}
		hint := "give another part the same choice, or remove this line"
		others := slices.DeleteFunc(slices.Clone(groups), func(s string) bool { return s == g })
		if near, ok := fields.Nearest(g, others); ok {
			hint = "did you mean \"" + near + "\"?"
		}
		p.errorf("choice", "choice %q has only this part; %s", g, hint)
		all[i].part.Choice = ""
	}
}

// MostCopies and MostPieces bound the copies of a part and the pieces of a release:
// plates are laid with all of them (package layout takes as many).
const MostCopies, MostPieces = 1000, 2000

// checkPieces bounds what a release prints in all, and names the part with the most.
func (l *loader) checkPieces(all []partNotes, folder string) {
	total := 0
	var most *partNotes
	for i, p := range all {
		total += p.part.Printed()
		if most == nil || p.part.Printed() > most.part.Printed() {
			most = &all[i]
		}
	}
	if total <= MostPieces {
		return
	}
	const text = "the release prints %d pieces, of which %d are of %q; expected at most %d in all"
	if most.doc != nil && most.doc.Map().Has("quantity") {
		most.errorf("quantity", text, total, most.part.Printed(), most.part.Slug, MostPieces)
		return
	}
	l.problem(folder, text, total, most.part.Printed(), most.part.Slug, MostPieces)
}

// checkNames makes sure that people can tell parts apart: names that differ in
// capitals and blanks alone are the same to them.
func checkNames(all []partNotes) {
	first := map[string]partNotes{}
	for _, stated := range []bool{false, true} { // a name that is made of the folder's has nowhere to be told
		for _, p := range all {
			if has := p.doc != nil && p.doc.Map().OK("name"); has != stated {
				continue
			}
			key := strings.ToLower(strings.Join(strings.Fields(p.part.Name), " "))
			was, dup := first[key]
			if !dup {
				first[key] = p
				continue
			}
			if stated {
				p.errorf("name", "name %q is already that of the part in %q; give one of them another", p.part.Name, was.part.Slug)
			}
		}
	}
}

// nameFrom makes "Upper arm" of "upper-arm".
func nameFrom(slug string) string {
	s := strings.ReplaceAll(slug, "-", " ")
	return words.Capital(s)
}

func isMesh(name string) bool {
	ext := strings.ToLower(path.Ext(name))
	return ext == ".stl" || ext == ".3mf"
}

// processOf reads the name of a process that may be left out.
func (l *loader) processOf(m *fields.Map, name string) *bench.Process {
	all := l.site.Bench.Processes()
	return bench.ProcessOf(all, m.Enum(name, fields.Optional, bench.ProcessIDs(all)...))
}
