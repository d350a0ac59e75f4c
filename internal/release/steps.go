package release

import (
	"strings"

	"github.com/yuin/goldmark/ast"

	"cardback/internal/notes"
)

// AssemblyTitle is the title of the section of notes that tells how a figure goes
// together.
const AssemblyTitle = "Assembly"

// Step is one numbered step of a release's assembly, as plain text.
type Step struct {
	Number int
	Text   string
}

// Steps lists the numbered steps of the section called Assembly: the items of the
// ordered lists that stand in it by themselves, in order. Lists within an item are
// part of it. There are none where the section has no such list.
func (r Release) Steps() []Step {
	var out []Step
	for _, s := range r.Sections {
		if !strings.EqualFold(s.Title, AssemblyTitle) {
			continue
		}
		src := []byte(s.Body)
		doc := notes.ParsePlain(src)
		for n := doc.FirstChild(); n != nil; n = n.NextSibling() {
			list, ok := n.(*ast.List)
			if !ok || !list.IsOrdered() {
				continue
			}
			number := list.Start
			for item := list.FirstChild(); item != nil; item = item.NextSibling() {
				out = append(out, Step{number, strings.Join(strings.Fields(plainText(item, src)), " ")})
				number++
			}
		}
	}
	return out
}
