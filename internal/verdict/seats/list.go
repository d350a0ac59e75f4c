package seats

import (
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/verdict/hardware"
	"cardback/internal/words"
)

// OfRelease holds a release's hardware list against what its parts take and
// against the holes that were found. A list and parts contradict each other only
// where no way of sharing rods between parts can bring them together, since a rod
// that joins two parts is in the notes of both.
func OfRelease(site *release.Site, r release.Release, s survey.Survey, items []hardware.Bought) []measure.Finding {
	var out []measure.Finding
	add := func(level measure.Level, code, text string) {
		out = append(out, measure.Finding{Level: level, Code: code, Text: text})
	}
	say := func(code, text string, args ...any) { add(measure.Caution, code, fmt.Sprintf(text, args...)) }
	for _, b := range items {
		listFindings(r, b, say)
	}
	perProcess := map[*bench.Process][]jointFinding{}
	known := r.Processes()
	for _, proc := range known {
		perProcess[proc] = jointFindings(site, r, s, proc)
	}
	var told []jointFinding
	for _, proc := range known {
		for _, f := range perProcess[proc] {
			if slices.Contains(told, f) {
				continue
			}
			told = append(told, f)
			var in []string
			for _, q := range known {
				if slices.Contains(perProcess[q], f) {
					in = append(in, q.Name)
				}
			}
			text := f.text
			if len(in) < len(known) {
				text += fmt.Sprintf(" (Found in the cuts for %s.)", words.List(in))
			}
			add(f.level, f.code, text)
		}
	}
	return out
}

func listFindings(r release.Release, b hardware.Bought, say func(code, text string, args ...any)) {
	for _, p := range b.Pieces {
		if stock := b.Item.StockLength; b.Item.Kind.Cuttable() && stock > 0 && p.Cut > stock {
			say("hardware-length", "A piece of %s of %s is longer than the %s in which it is sold.", words.Length(p.Cut), b.Item.Name, words.Length(stock))
		}
	}
	if len(r.Hardware) == 0 || b.Item.Kind == bench.Adhesive {
		return
	}
	if b.FromParts {
		say("hardware-missing", "The parts take %s of %s, and the hardware list has none.", words.Count(b.Taken, "piece", "pieces"), b.Item.Name)
		return
	}
	name, least := "", 0
	for _, p := range r.Parts {
		here := 0
		for _, u := range p.Takes {
			if u.Item.ID != b.Item.ID {
				continue
			}
			here += u.Count
			if u.Cut > 0 && !slices.ContainsFunc(b.Pieces, func(o hardware.Piece) bool { return o.Cut == u.Cut || o.Cut == 0 }) {
				say("hardware-cut", "%s takes a piece of %s mm of %s, and the hardware list has no piece of that length; it has %s.", p.Name, words.Plain(u.Cut), b.Item.Name, lengthsList(b.Pieces))
			}
		}
		if b.Item.Kind != bench.Magnet && here > least {
			name, least = p.Name, here
		}
	}
	switch {
	case b.Item.Kind == bench.Magnet && b.Taken > 0 && b.Taken != b.Count: // in one pocket each
		say("hardware-count", "The hardware list has %d of %s and the parts take %d.", b.Count, b.Item.Name, b.Taken)
	case b.Taken > 0 && b.Count > b.Taken:
		say("hardware-count", "The hardware list has %s of %s and the parts take %d: one is in no part's notes, or too many are in the list.", words.Count(b.Count, "piece", "pieces"), b.Item.Name, b.Taken)
	case least > b.Count:
		say("hardware-count", "The hardware list has %s of %s and one %s alone takes %d.", words.Count(b.Count, "piece", "pieces"), b.Item.Name, name, least)
	}
}

func lengthsList(pieces []hardware.Piece) string {
	var out []string
	for _, p := range pieces {
		out = append(out, words.Plain(p.Cut)+" mm")
	}
	return words.List(out)
}
