package history

import (
	"context"

	"cardback/internal/draw"
	"cardback/internal/measure/change"
	"cardback/internal/mesh"
	"cardback/internal/words"
)

// Overlay is a cut as it was and as it is, drawn where their files place them, in
// the view that shows most of what is between them.
type Overlay struct {
	Was, Is draw.Laid
	// Marks holds the place of the largest distance, labelled with it; it is empty
	// for a mesh that was mirrored or rescaled.
	Marks []draw.Mark
}

// Picture is the overlay as inline SVG. The Marks and, where it is empty, the
// Description of o are filled in.
func (c CutStep) Picture(o draw.OverlayOptions) string {
	if c.Overlay == nil {
		return ""
	}
	o.Marks = c.Overlay.Marks
	if o.Description == "" {
		o.Description = c.Change.Sentence()
	}
	return draw.Overlay(c.Overlay.Was, c.Overlay.Is, o)
}

// overlayOf draws two meshes that differ by c, where that is something to print
// again; nil else. The error is the context's.
func overlayOf(ctx context.Context, was, is *mesh.Mesh, c *change.Change) (*Overlay, error) {
	if !c.MustReprint() {
		return nil, nil
	}
	out := &Overlay{}
	offset, d, marked := c.Shown()
	view := draw.Showing(offset)
	if marked {
		out.Marks = []draw.Mark{draw.MarkAt(view, d.At, words.Fixed(d.Largest, 2)+" mm")}
	}
	var err error
	if out.Was, err = draw.Lay(ctx, was, view); err == nil {
		out.Is, err = draw.Lay(ctx, is, view)
	}
	if err != nil {
		return nil, ctx.Err() // a mesh that cannot be drawn has its numbers all the same
	}
	return out, nil
}
