// Package quay is the default theme: an identification chart. Warm paper, one
// ink, one spot colour, hairlines, solid silhouettes and tabular figures.
//
// templates/ holds one template a page, each defining "main", and the layout
// and pieces they share; styles/ the style sheets, published as one file in the
// order of Styles; scripts/ the one script, without which every page says all that
// it has to say; assembly.css the styles that travel inside an assembly sheet;
// icon.svg the site's icon. Nothing refers to another origin.
package quay

import "embed"

// Files is the theme.
//
//go:embed templates styles scripts icon.svg assembly.css
var Files embed.FS

// Styles are the parts of the style sheet, in the order they are joined.
var Styles = []string{"ground.css", "frame.css", "sheets.css", "tables.css", "forms.css", "drawings.css", "takes.css", "revisions.css", "print.css"}
