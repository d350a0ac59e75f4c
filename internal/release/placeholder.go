package release

// What a new content folder says until its designer has written something else. Each
// is fit to be built and looked at, and none is fit to be published.
const (
	PlaceholderAddress  = "https://figures.example/"
	PlaceholderTitle    = "My figures"
	PlaceholderDesigner = "The designer"
	PlaceholderSummary  = "A placeholder. Write here in one sentence what this release is."
	PlaceholderNotes    = "This page is a placeholder."
	PlaceholderPage     = "A placeholder. Write here who you are and what this range is."
	// PlaceholderBlock is the fingerprint of the mesh that stands for the first part.
	PlaceholderBlock = "b82fdd907500ce8efe8dfbeca43e5d8a14bc38fae20ec4fb8ec9a4635e1df1ff"
)

// Placeholder is a text that the designer has still to write.
type Placeholder struct {
	File string // relative to the content folder
	What string // "the address, https://figures.example/"
}

// Placeholders are those of the site, its releases apart.
func (s *Site) Placeholders() []Placeholder {
	var out []Placeholder
	if s.Address == PlaceholderAddress {
		out = append(out, Placeholder{"site.yaml", "address " + PlaceholderAddress})
	}
	if s.Title == PlaceholderTitle {
		out = append(out, Placeholder{"site.yaml", "title " + PlaceholderTitle})
	}
	if s.Designer == PlaceholderDesigner {
		out = append(out, Placeholder{"site.yaml", "designer " + PlaceholderDesigner})
	}
	for _, p := range s.Pages {
		if p.Text.Says(PlaceholderPage) {
			out = append(out, Placeholder{"pages/" + p.Slug + ".md", "the page " + p.Title})
		}
	}
	return out
}

// Placeholders are those of the release's notes.
func (r Release) Placeholders() []Placeholder {
	var out []Placeholder
	if r.Summary == PlaceholderSummary {
		out = append(out, Placeholder{r.SourceFile, "the summary"})
	}
	if r.Notes.Says(PlaceholderNotes) {
		out = append(out, Placeholder{r.SourceFile, "the notes"})
	}
	return out
}
