package release

import (
	"maps"
	"slices"
	"strings"

	"cardback/internal/fields"
)

// Accepted is a finding about one of the part's meshes that the designer accepts,
// with the reason that is published beside it. It holds for that mesh alone: once the
// mesh changes, so may what was found in it.
type Accepted struct {
	Finding string // its code, one of Acceptable
	Mesh    string // the fingerprint of the mesh, or its first digits: leastMesh and more, in lower case
	Why     string
	Line    int // in part.yaml
}

// Of reports whether the acceptance is of the mesh with that fingerprint.
func (a Accepted) Of(fingerprint string) bool { return strings.HasPrefix(fingerprint, a.Mesh) }

// leastMesh is how many digits of a fingerprint name a mesh: of the few meshes that a
// part has in its life two agree in as many by chance once in 10^7 parts and less.
// MeshDigits is how many are shown to be pasted, as many as name sealed geometry.
const leastMesh, MeshDigits = 8, 16

// Why a finding cannot be accepted.
const (
	isFault  = "is a fault, which stands in the way of sealing and cannot be accepted; mend the mesh"
	isDanger = "warns of what stays in the part and harms whoever opens it, and cannot be accepted; open a drain hole"
)

// acceptable holds every finding about a part's mesh by its code, with the reason why
// it cannot be accepted, which is empty for those that can. Where a code is at times a
// fault the fault counts all the same: see package verdict.
var acceptable = map[string]string{
	"open-edges": isFault, "inconsistent-orientation": isFault, "inside-out": isFault, "flat": isFault, "no-volume": isFault, "unreadable": isFault,
	"cavity": isDanger, "trapped": isDanger, "placeholder": isFault,

	"buried-shell": "", "cavity-breaks-out": "", "coincident-shells": "", "cracks-closed": "", "degenerate-triangles": "", "duplicate-triangles": "", "far-from-origin": "",
	"fine-for-its-size": "", "format": "", "holes-partial": "", "intricate": "", "inward-shell": "", "large": "", "near-duplicate-corners": "", "negative-volume": "",
	"no-thickness": "", "non-manifold-edges": "", "overlapping-shells": "", "reading": "", "same-cuts": "", "same-mesh": "", "self-intersections": "", "self-touching": "",
	"several-shells": "", "shell-inside-out": "", "small": "", "t-junctions": "",

	"thin-wall": "", "cracks-partial": "", "shells-partial": "", "crossings-partial": "", "thin-pin": "", "thin-partial": "",
	"hole-other": "", "hole-shallow": "", "hole-tight": "", "hole-too-small": "", "hole-wide": "", "no-hole": "", "shallow-pocket": "", "too-few-holes": "",
	"other-unit": "", "no-plate": "",
	"cup": "", "islands": "", "lies-flat": "", "left-in": "", "only-rolled": "", "tilt-unsaid": "", "well": "",
}

// Acceptable reports whether a finding with that code may be accepted; known whether
// it is one about a part's mesh at all.
func Acceptable(code string) (ok, known bool) {
	why, known := acceptable[code]
	return known && why == "", known
}

// readAccepts reads what the designer accepts of the part's meshes.
func readAccepts(m *fields.Map) []Accepted {
	var codes []string
	for _, code := range slices.Sorted(maps.Keys(acceptable)) {
		if acceptable[code] == "" {
			codes = append(codes, code)
		}
	}
	var out []Accepted
	for _, t := range m.Tables("accept", fields.Optional) {
		a := Accepted{Finding: t.Text("finding", fields.Required), Mesh: strings.ToLower(t.Text("mesh", fields.Required)), Why: strings.TrimSpace(t.Text("why", fields.Required))}
		a.Line, _ = t.At("finding")
		bad := a.Finding == "" || a.Mesh == "" || a.Why == ""
		why, known := acceptable[a.Finding]
		switch {
		case a.Finding == "":
		case !known:
			t.Errorf("finding", "finding %q is not one about a mesh; %s", a.Finding, nearestOr(a.Finding, codes, "`cardback proof --accept` shows what can be accepted"))
			bad = true
		case why != "":
			t.Errorf("finding", "finding %q %s", a.Finding, why)
			bad = true
		}
		if a.Mesh != "" && (len(a.Mesh) < leastMesh || len(a.Mesh) > 64 || strings.Trim(a.Mesh, "0123456789abcdef") != "") {
			t.Errorf("mesh", "%q is not a mesh's fingerprint; expected its first %d digits and more, 0 to 9 and a to f, as `cardback proof --accept` shows them", a.Mesh, leastMesh)
			bad = true
		}
		if i := slices.IndexFunc(out, func(o Accepted) bool { return o.Finding == a.Finding && (o.Of(a.Mesh) || a.Of(o.Mesh)) }); !bad && i >= 0 {
			t.Errorf("finding", "finding %q of this mesh is accepted twice; the first is on line %d, remove one", a.Finding, out[i].Line)
			bad = true
		}
		if !bad {
			out = append(out, a)
		}
	}
	return out
}

// nearestOr suggests the nearest of many names, and says otherwise where none is near.
func nearestOr(name string, known []string, otherwise string) string {
	if near, ok := fields.Nearest(name, known); ok {
		return "did you mean \"" + near + "\"?"
	}
	return otherwise
}
