package site

import (
	"bytes"
	"fmt"
	"html/template"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/themes/quay"
)

// AssemblySheet is the model of the sheet that goes into an archive: one page
// that needs nothing beside it, made to be printed.
type AssemblySheet struct {
	*ReleasePage
	Process string
	Style   template.CSS
	Figure  template.HTML
}

// assemblySheet renders the sheet of a release for one process. It is the one
// page with its styles inside, because it travels alone.
func (b *builder) assemblySheet(r release.Release, proc *bench.Process, p *ReleasePage) ([]byte, error) {
	t, err := template.ParseFS(quay.Files, "templates/pieces.html", "templates/assembly.html")
	if err != nil {
		return nil, fmt.Errorf("read the theme: %w", err)
	}
	style, err := quay.Files.ReadFile("assembly.css")
	if err != nil {
		return nil, fmt.Errorf("read the theme: %w", err)
	}
	// Links in the notes lead to pages that are not in the archive: they get
	// the site's address.
	model := *p
	if _, model.Sections, err = b.notes(r, b.in.address()); err != nil {
		return nil, err
	}
	model.Cautions = slices.Clone(p.Cautions)
	for i := range model.Cautions {
		model.Cautions[i].Method = ""
	}
	model.Print = nil
	for _, s := range p.Print {
		if s.Process == processName(proc) && s.stated() {
			model.Print = append(model.Print, s)
		}
	}
	sheet := AssemblySheet{ReleasePage: &model, Process: processName(proc), Style: template.CSS(style), Figure: b.sheetChart(r)}
	var out bytes.Buffer
	if err := t.ExecuteTemplate(&out, "assembly", sheet); err != nil {
		return nil, fmt.Errorf("render the assembly sheet: %w", err)
	}
	return out.Bytes(), nil
}
