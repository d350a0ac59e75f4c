package site

import (
	"encoding/json"
	"fmt"

	"cardback/internal/draw"
	"cardback/internal/release"
)

// Pixels of the picture of a release's parts.
const pictureWidth, pictureHeight = 800, 600

// pictures writes the parts sheet as files of their own, for whoever wants to
// show the release elsewhere: the chart as SVG, and the parts as PNG, which the
// feed points to. A release without a readable part has neither.
func (b *builder) pictures(r release.Release, p *ReleasePage) error {
	items := b.items(r)
	if len(items) == 0 {
		return nil
	}
	p.SVG, p.PNG = releaseDir(r)+"parts.svg", releaseDir(r)+"parts.png"
	if err := b.write(p.SVG, draw.Standalone(string(p.Chart.Desk))); err != nil {
		return err
	}
	o := draw.PNGOptions{Width: pictureWidth, Height: pictureHeight}
	key, err := json.Marshal([]any{items, o})
	if err != nil {
		return fmt.Errorf("draw %s: %w", p.PNG, err)
	}
	png, ok := b.in.Store.GetBytes("picture", string(key))
	if !ok {
		if png, err = draw.PNG(items, o); err != nil {
			return fmt.Errorf("draw %s: %w", p.PNG, err)
		}
		b.in.Store.PutBytes(png, "picture", string(key))
	}
	return b.write(p.PNG, png)
}
