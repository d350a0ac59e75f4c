package pack

import (
	"fmt"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/meshfile"
	"cardback/internal/release"
	"cardback/internal/verdict/reprint"
	"cardback/internal/words"
)

// line is a piece and its name in the archive.
type line struct {
	piece
	meshfile.Packed
	name string
}

const displayPiece = "This is a display piece, not a tested toy. Small parts can be swallowed: keep " +
	"them from small children."

// readme says what is in the archive.
func readme(site *release.Site, r *release.Release, proc *bench.Process, changes reprint.Changes, packed, lost []line, extra []File, lacks []string) []byte {
	var b strings.Builder
	para := func(s string) { b.WriteString(wrap(s) + "\n\n") }
	heading := func(s string) { b.WriteString(s + "\n" + strings.Repeat("-", len(s)) + "\n\n") }

	para(fmt.Sprintf("%02d %s: %s", r.Number, oneLine(r.Title), setWords(proc, lacks)))
	if len(lacks) > 0 {
		para(fmt.Sprintf("This is not everything that a print in %s needs. There is no mesh for it here of: %s.", proc, strings.Join(lacks, "; ")))
	}
	published := "Published " + words.Date(r.Released)
	if r.Draft {
		published = "A draft, not released yet"
	}
	para(fmt.Sprintf("By %s. %s.%s", oneLine(site.Designer), published, sizeOf(r)))
	if site.Address != "" {
		para(site.Address)
	}
	para(r.Summary)
	if changes.Any() {
		para(revisionText(changes) + " What changed, and what to print again, is in " + ChangesFile + ".")
	}
	para("All meshes are in millimetres. Import them at 100 per cent.")

	heading("Meshes")
	para("The number is the part's on the chart. A file that ends in x2 is to be printed twice, " +
		"and so on. \"Mirrored\" is the mirror image of the part of that number.")
	for _, f := range foldersUsed(packed) {
		b.WriteString(bullet(f))
	}
	b.WriteString("\n")
	for _, l := range packed {
		fmt.Fprintf(&b, "%s\n  %s, print %d, %d triangles\n  fingerprint %s\n", l.name, oneLine(l.part.Name), l.part.Quantity, l.Triangles, l.Fingerprint)
	}
	b.WriteString("\n")
	para("The fingerprint is that of the geometry: it stays the same when a mesh is only saved anew.")
	if len(lost) > 0 {
		heading("Left out")
		para("These meshes could not be read when the archive was made:")
		for _, l := range lost {
			b.WriteString(l.name + "\n")
		}
		b.WriteString("\n")
	}

	heading("Other files")
	for _, name := range namesOf(extra) {
		b.WriteString(name + "\n")
	}
	if changes.Any() {
		b.WriteString(ChangesFile + ": the revisions, and what to print again\n")
	}
	b.WriteString("hardware.csv: what to buy and cut\n" +
		"licence.txt: the terms, and whose work this adapts\n" +
		"SHA256SUMS: checksums; in this folder, run: sha256sum -c SHA256SUMS\n\n")

	heading("Cautions")
	for _, c := range cautions(r, proc) {
		b.WriteString(bullet(c))
	}
	return []byte(b.String())
}

func namesOf(files []File) []string {
	var out []string
	for _, f := range files {
		out = append(out, f.Name)
	}
	slices.Sort(out)
	return out
}

// cautions are those of the process, the release and its hardware, each once.
func cautions(r *release.Release, proc *bench.Process) []string {
	out := []string{displayPiece, proc.Warning}
	seen := map[string]bool{}
	add := func(s string) {
		if s = oneLine(s); s != "" && !seen[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	for _, c := range r.Cautions {
		add(c)
	}
	for _, u := range r.Hardware {
		add(u.Item.Caution)
	}
	return out
}

func sizeOf(r *release.Release) string {
	s := ""
	if r.Height > 0 {
		s += " Height " + mm(r.Height) + " mm."
	}
	if r.Scale != "" {
		s += " Scale " + r.Scale + "."
	}
	return s
}

// foldersUsed explains the folders that occur.
func foldersUsed(packed []line) []string {
	var out []string
	has := func(f string) bool {
		for _, l := range packed {
			if strings.Contains(l.name, "/"+f) {
				return true
			}
		}
		return false
	}
	for _, f := range []struct{ name, meaning string }{
		{"choose-one-", "choose-one-…: print one of the parts in the folder."},
		{"large-plates/", "large-plates: wholes, for printers that take them."},
		{"small-plates/", "small-plates: the pieces that replace those wholes; print either, not both."},
		{"flexible/", "flexible: cuts for a flexible material; where the number also has a file elsewhere, print one of the two."},
	} {
		if has(f.name) {
			out = append(out, f.meaning)
		}
	}
	if len(out) == 0 {
		out = []string{"Print every file."}
	}
	return out
}
