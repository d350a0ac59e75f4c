package release

import (
	"fmt"
	"path"
	"strings"

	"cardback/internal/fields"
	"cardback/internal/words"
)

// AppendPrint adds an entry to the text of a print log and returns the new text.
// What stands there stays as it is, see fields.AppendEntry; an empty text becomes
// a log. The caller has the result read again, by CheckLog.
func AppendPrint(data []byte, p Print) ([]byte, error) {
	lines, err := p.lines()
	if err != nil {
		return nil, err
	}
	return fields.AppendEntry(data, "prints", lines)
}

// lines are the fields of an entry, in the order in which a person would tell
// them.
func (p Print) lines() ([]string, error) {
	var out []string
	var bad error
	text := func(name, value string) string {
		s, err := fields.Scalar(value)
		if err != nil && bad == nil {
			bad = fmt.Errorf("%s %.60q cannot be written: %w", name, value, err)
		}
		return s
	}
	add := func(name, value string) {
		if value != "" {
			out = append(out, name+": "+text(name, value))
		}
	}
	out = append(out, "date: "+words.Date(p.Date))
	if p.Whole {
		out = append(out, "whole: true")
	} else {
		var parts []string
		for _, slug := range p.Parts {
			parts = append(parts, text("part", slug))
		}
		out = append(out, "parts: ["+strings.Join(parts, ", ")+"]")
	}
	if len(p.Stock) == 1 {
		add("material", p.Stock[0].Material.ID)
	} else {
		var shares []string
		for _, s := range p.Stock {
			shares = append(shares, text("material", s.Material.ID)+": "+s.Percent())
		}
		out = append(out, "blend: {"+strings.Join(shares, ", ")+"}")
	}
	add("plate", p.Plate)
	if p.Layer > 0 {
		out = append(out, "layer: "+words.Exact(p.Layer))
	}
	if p.TiltAbout != "" {
		out = append(out, "tilt: "+words.Exact(p.Tilt), "about: "+text("about", p.TiltAbout))
	}
	add("supports", p.Supports)
	add("outcome", string(p.Outcome))
	add("remark", p.Remark)
	add("photo", p.Photo)
	if len(p.Meshes) > 0 {
		out = append(out, "meshes:")
	}
	for _, m := range p.Meshes {
		// In quotes: a fingerprint may have digits alone.
		out = append(out, "  "+text("mesh", path.Join(m.Part, string(m.Cut)))+`: "`+m.Fingerprint+`"`)
	}
	return out, bad
}
