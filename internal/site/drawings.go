package site

import (
	"html/template"

	"cardback/internal/release"
)

// Charts is a release's parts at one scale, laid out for two widths.
type Charts struct {
	Desk, Phone template.HTML
	Caption     string
}

func (b *builder) rangeWidth() float64                                     { return 0 }
func (b *builder) rangeChart(r release.Release, w float64) template.HTML    { return "" }
func (b *builder) charts(r release.Release) Charts                          { return Charts{} }
func (b *builder) sheetChart(r release.Release) template.HTML               { return "" }
func (b *builder) frontispiece(r release.Release) Frontispiece              { return Frontispiece{} }
