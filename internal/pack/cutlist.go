package pack

import (
	"fmt"
	"strings"

	"cardback/internal/release"
	"cardback/internal/verdict/hardware"
	"cardback/internal/words"
)

// CutListFile is the name of the cut list in an archive.
const CutListFile = "cut-list.txt"

// cutListFile is the release's cut list as plain text for the workshop; none where
// nothing is cut from a stock of stated length.
func cutListFile(r *release.Release, lists []hardware.CutList) []File {
	if len(lists) == 0 {
		return nil
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n", wrap(fmt.Sprintf("%02d %s: how to cut the hardware. Lengths are in millimetres; what is left over is after the last cut.", r.Number, oneLine(r.Title))))
	for _, l := range lists {
		fmt.Fprintf(&b, "%s\n%s\n", wrap(oneLine(l.Item.Name)), wrap(l.Sentence))
		for _, bar := range l.Plan.Bars {
			var parts []string
			for _, p := range bar.Pieces {
				if p.Count > 1 {
					parts = append(parts, fmt.Sprintf("%d of %s", p.Count, words.Rounded(p.Length, 3)))
				} else {
					parts = append(parts, words.Rounded(p.Length, 3))
				}
			}
			b.WriteString(bullet(fmt.Sprintf("%d x %s: %s; %s left over", bar.Times, words.Rounded(l.Item.StockLength, 3), strings.Join(parts, ", "), words.Rounded(bar.Offcut, 3))))
		}
		if l.Loose > 0 {
			b.WriteString(bullet(fmt.Sprintf("Not in it, because no length is stated: %d.", l.Loose)))
		}
		b.WriteString("\n")
	}
	return []File{{CutListFile, []byte(strings.TrimSuffix(b.String(), "\n"))}}
}
