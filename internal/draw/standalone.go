package draw

import (
	"bytes"
	"strings"
)

// drawnBy stands at the head of every file that Standalone makes, so that one is
// known again.
const drawnBy = `<?xml version="1.0" encoding="UTF-8"?>` + "\n<!-- Drawn by Cardback -->\n"

// fileStyle colours a picture that stands alone: ink on warm paper, and the
// other way round for those who ask for dark.
const fileStyle = `<style>svg{background:#f6f1e4;color:#23211d;--paper:#f6f1e4}` +
	`@media (prefers-color-scheme:dark){svg{background:#1d1c1a;color:#e6dfcd;--paper:#1d1c1a}}` +
	`.silhouette{fill:currentColor}.onink{fill:var(--paper)}.halo{stroke:var(--paper)}.crease,.depth{stroke:var(--paper)}` +
	`text{font-family:ui-sans-serif,system-ui,sans-serif;font-variant-numeric:tabular-nums}</style>`

// Standalone makes a file of a picture that Figure, Chart or Hardware made: an
// XML document with its own style, for downloads and feeds.
func Standalone(svg string) []byte {
	svg = strings.Replace(svg, "<svg ", `<svg xmlns="http://www.w3.org/2000/svg" `, 1)
	if i := strings.Index(svg, ">"); i >= 0 {
		svg = svg[:i+1] + fileStyle + svg[i+1:]
	}
	return []byte(drawnBy + svg + "\n")
}

// IsStandalone reports whether a file that begins with head was made by Standalone.
func IsStandalone(head []byte) bool { return bytes.HasPrefix(head, []byte(drawnBy)) }
