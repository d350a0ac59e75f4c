package pack

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/mesh"
	"cardback/internal/meshfile"
	"cardback/internal/release"
	"cardback/internal/store"

	"cardback/internal/survey/plates"
	"cardback/internal/words"
)

// KindPlate is a plate's arrangement: a 3MF of all pieces where they stand.
const KindPlate Kind = "plate"

// PlateFile makes a 3MF of plate number k, from 0, of the set: an object for each
// piece, in the mesh's own coordinates, and a build item for each copy, which
// turns it and moves it to its place. Lengths are millimetres; the plate's lower left
// corner is the origin and its surface Z = 0. A mirrored twin is an object of its
// own, mirrored in x = 0.
//
// It is an error if a mesh cannot be read, or is not the one that was measured. The file is
// kept in st, which may be nil.
func PlateFile(ctx context.Context, site *release.Site, r *release.Release, set *plates.Set, k int, st *store.Store) (Download, error) {
	if k < 0 || k >= len(set.Layout.Plates) {
		return Download{}, fmt.Errorf("%s has no plate %d", folderOf(r), k+1)
	}
	var objects []plateObject
	at := map[int]int{} // a piece's object
	for _, placed := range set.Layout.Plates[k] {
		p := set.Pieces[placed.Piece]
		i, seen := at[placed.Piece]
		if !seen {
			i = len(objects)
			at[placed.Piece] = i
			objects = append(objects, plateObject{Name: plateName(p), SHA256: p.SHA256, Mirrored: p.Mirrored, cut: p.Cut})
		}
		rotation, shift := p.Placement(placed)
		objects[i].Items = append(objects[i].Items, mesh.Item3MF{Rotation: rotation, Shift: shift})
	}
	data, err := plateModel(ctx, objects, plateMetadata(site, r, set, k), st)
	if ctx.Err() != nil {
		return Download{}, ctx.Err()
	}
	if err != nil {
		return Download{}, fmt.Errorf("plate %d of %s: %w", k+1, folderOf(r), err)
	}
	of := ""
	if n := len(set.Layout.Plates); n > 1 {
		of = fmt.Sprintf("-%d-of-%d", k+1, n)
	}
	lacks := unlaid(set)
	d := Download{
		Lacks: lacks,
		Name:  folderOf(r) + "-" + plainName(set.Plate.ID, "plate") + of + ifAny(lacks, "-incomplete") + ".3mf",
		Title: plateTitle(r, set, k), Kind: KindPlate, Process: set.Process, Data: data, Meshes: len(set.Layout.Plates[k]),
	}
	return d.seal(), nil
}

// plateObject is a mesh on a plate, and where its copies stand. Its fields and the
// metadata are all that a plate's file depends on.
type plateObject struct {
	Name, SHA256 string
	Mirrored     bool
	Items        []mesh.Item3MF
	cut          release.Cut
}

// plateModel writes a plate's file, or takes it from the store.
func plateModel(ctx context.Context, objects []plateObject, about []mesh.Metadata, st *store.Store) ([]byte, error) {
	key, err := json.Marshal([]any{objects, about})
	if err != nil {
		return nil, err
	}
	if data, ok := st.GetBytes("plate file", string(key)); ok {
		return data, nil
	}
	var out []mesh.Object3MF
	for _, o := range objects {
		m, err := o.mesh(ctx, st)
		if err != nil {
			return nil, fmt.Errorf("pack %s: %w", o.cut.Rel, fileError(err))
		}
		out = append(out, mesh.Object3MF{Name: o.Name, Mesh: m, Items: o.Items})
	}
	var b bytes.Buffer
	if err := mesh.Write3MF(&b, out, about); err != nil {
		return nil, err
	}
	st.PutBytes(b.Bytes(), "plate file", string(key))
	return b.Bytes(), nil
}

func (o plateObject) mesh(ctx context.Context, st *store.Store) (*mesh.Mesh, error) {
	f := meshfile.Of(o.cut.File, o.SHA256, st)
	defer f.Close()
	m, _, err := f.Mesh(ctx)
	if err == nil && o.Mirrored {
		m = m.Mirrored()
	}
	return m, err
}

// plateName is "3 Upper arm, mirrored", numbered as on the chart.
func plateName(p plates.Piece) string { return strconv.Itoa(p.Number) + " " + oneLine(p.Name()) }

// plateTitle is "Walking Dredger, small resin plate 1 of 3".
func plateTitle(r *release.Release, set *plates.Set, k int) string {
	return fmt.Sprintf("%s, %s %d of %d", oneLine(r.Title), words.Inside(oneLine(set.Plate.Name)), k+1, len(set.Layout.Plates)) + ifAny(unlaid(set), ", incomplete")
}

// unlaid names what is on none of the set's plates, each with why.
func unlaid(set *plates.Set) []string {
	var out []string
	for _, m := range set.Missing {
		out = append(out, oneLine(m))
	}
	for _, u := range set.Layout.Unplaced {
		out = append(out, oneLine(set.Pieces[u.Piece].Name())+": no place for it was found")
	}
	return out
}

// plateMetadata says in the words of the 3MF core specification what the file is,
// whose, and under what terms. Nothing in it depends on when it is written.
func plateMetadata(site *release.Site, r *release.Release, set *plates.Set, k int) []mesh.Metadata {
	designer := oneLine(site.Designer)
	out := []mesh.Metadata{
		{Name: "Title", Value: plateTitle(r, set, k)},
		{Name: "Designer", Value: designer},
		{Name: "Description", Value: plateDescription(set, k)},
	}
	terms := r.Licence
	if l, ok := release.FindLicence(r.Licence); ok {
		terms = l.Label() + ", " + l.URL
	}
	for _, c := range r.Credits {
		terms += ". Adapts " + oneLine(c.Work) + " by " + oneLine(c.By)
		if c.Licence != "" {
			terms += ", " + c.Licence
		}
	}
	if !r.Released.IsZero() && r.Licence != "CC0-1.0" { // which waives copyright
		out = append(out, mesh.Metadata{Name: "Copyright", Value: fmt.Sprintf("© %d %s", r.Released.Year(), designer)})
	}
	out = append(out, mesh.Metadata{Name: "LicenseTerms", Value: terms})
	if !r.Released.IsZero() {
		out = append(out, mesh.Metadata{Name: "CreationDate", Value: words.Date(r.Released)})
	}
	return append(out, mesh.Metadata{Name: "Application", Value: "Cardback"})
}

// plateDescription counts what stands on the plate: "5 pieces: 1 Boom; 3 Foot
// ×4. Plate 120 × 68 × 155 mm, …".
func plateDescription(set *plates.Set, k int) string {
	plate := set.Layout.Plates[k]
	counts := make([]int, len(set.Pieces))
	for _, p := range plate {
		counts[p.Piece]++
	}
	var names []string
	for i, n := range counts {
		switch {
		case n > 1:
			names = append(names, fmt.Sprintf("%s ×%d", plateName(set.Pieces[i]), n))
		case n == 1:
			names = append(names, plateName(set.Pieces[i]))
		}
	}
	p := set.Plate
	size := words.Plain(p.Width) + " × " + words.Plain(p.Depth) + " × " + words.Plain(p.Height) + " mm"
	if p.Round {
		size = "⌀ " + words.Plain(p.Width) + " × " + words.Plain(p.Height) + " mm"
	}
	without := ""
	if lacks := unlaid(set); len(lacks) > 0 {
		without = " A complete print needs more than stands on these plates: " + strings.Join(lacks, "; ") + "."
	}
	noun := "pieces"
	if len(plate) == 1 {
		noun = "piece"
	}
	return fmt.Sprintf("%d %s: %s. For a plate of %s; %s mm between pieces, %s mm kept free along the edge. Supports are not included.%s",
		len(plate), noun, strings.Join(slices.Clip(names), "; "), size, mm(set.Spacing), words.Plain(p.Margin), without)
}
