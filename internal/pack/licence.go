package pack

import (
	"embed"
	"fmt"
	"strings"

	"cardback/internal/release"
)

//go:embed licences/*.txt
var texts embed.FS

// LicenceText is a licence with its full legal text.
type LicenceText struct {
	release.Licence
	Text string
}

// Licence looks up one of the licences a release may carry.
func Licence(id string) (LicenceText, bool) {
	l, ok := release.FindLicence(id)
	if !ok || !l.ForReleases {
		return LicenceText{}, false
	}
	data, err := texts.ReadFile("licences/" + id + ".txt")
	if err != nil {
		return LicenceText{}, false
	}
	return LicenceText{Licence: l, Text: string(data)}, true
}

// licenceFile is licence.txt: whose work this is and under what terms, whose
// work it adapts, then the legal text.
func licenceFile(site *release.Site, r *release.Release) ([]byte, error) {
	l, ok := Licence(r.Licence)
	if !ok {
		return nil, fmt.Errorf("licence %q has no text to pack", r.Licence)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s\nby %s\n\n%s\n", oneLine(r.Title), oneLine(site.Designer), wrap("Published under "+l.Label()+"."))
	fmt.Fprintf(&b, "%s\n", l.URL)
	if len(r.Credits) > 0 {
		fmt.Fprintf(&b, "\n%s\n", wrap("It adapts the works below. Their own licences still bind what comes from them."))
		for _, c := range r.Credits {
			terms := c.Licence
			if known, ok := release.FindLicence(c.Licence); ok {
				terms = known.Label()
			}
			b.WriteString("\n" + bullet(sentence(oneLine(c.Work)+", by "+oneLine(c.By), terms)))
			for _, more := range []string{c.URL, oneLine(c.Note)} {
				if more != "" {
					b.WriteString(indent(wrap(more)) + "\n")
				}
			}
		}
	}
	b.WriteString("\n" + strings.Repeat("-", 72) + "\n\n" + l.Text)
	return []byte(b.String()), nil
}

func sentence(what, terms string) string {
	if terms == "" {
		return what + "."
	}
	return what + ", under " + terms + "."
}
