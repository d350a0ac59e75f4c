package draw

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"math"

	"github.com/disintegration/imaging"
	"golang.org/x/image/vector"

	"cardback/internal/measure/shadow"
)

// PNGOptions say how a thumbnail is made.
type PNGOptions struct {
	Width, Height int     // pixels; 0 means 600 and three quarters of the width
	Margin        float64 // empty border, as a part of the smaller side; 0 means 0.06
	Ink, Paper    color.NRGBA
}

// oversample is how much larger thumbnails are drawn before they are reduced.
// The rasteriser softens edges by itself; twice the size is enough for the fine
// lines, and four times took four times as long for no better look.
const oversample = 2

// mostPixels bounds the larger side of a thumbnail: the oversized picture and
// its mask take 20 bytes for each of its pixels.
const mostPixels = 2400

// PNG is a picture of all items without numbers or ruler, at one scale, laid
// out as on a chart and centred. The zero colours mean dark ink on warm paper.
func PNG(items []ChartItem, o PNGOptions) ([]byte, error) {
	if o.Width == 0 {
		o.Width = 600
	}
	if o.Height == 0 {
		o.Height = o.Width * 3 / 4
	}
	if o.Width < 16 || o.Height < 16 || o.Width > mostPixels || o.Height > mostPixels {
		return nil, fmt.Errorf("thumbnail of %d by %d pixels: both must be from 16 to %d", o.Width, o.Height, mostPixels)
	}
	if o.Margin == 0 {
		o.Margin = 0.06
	}
	if o.Ink == (color.NRGBA{}) {
		o.Ink = color.NRGBA{0x23, 0x21, 0x1d, 0xff}
	}
	if o.Paper == (color.NRGBA{}) {
		o.Paper = color.NRGBA{0xf6, 0xf1, 0xe4, 0xff}
	}
	bounds := image.Rect(0, 0, o.Width*oversample, o.Height*oversample)
	placing := placeThumbnails(items, bounds, o)
	canvas := image.NewNRGBA(bounds)
	draw.Draw(canvas, bounds, image.NewUniform(o.Paper), image.Point{}, draw.Src)
	z := vector.NewRasterizer(bounds.Dx(), bounds.Dy())
	for _, v := range placing {
		for _, r := range v.drawing.Outline {
			polygon(z, v.at.points(r))
		}
	}
	ink(canvas, z, o.Ink)
	z.Reset(bounds.Dx(), bounds.Dy())
	stroke := 0.0035 * float64(min(bounds.Dx(), bounds.Dy()))
	for _, v := range placing {
		for _, l := range v.drawing.Creases {
			brush(z, v.at.points(l), 0.6*stroke)
		}
		for _, l := range v.drawing.Depths {
			brush(z, v.at.points(l), stroke)
		}
	}
	ink(canvas, z, o.Paper)
	small := imaging.Resize(canvas, o.Width, o.Height, imaging.Lanczos)
	var out bytes.Buffer
	if err := imaging.Encode(&out, small, imaging.PNG, imaging.PNGCompressionLevel(png.DefaultCompression)); err != nil {
		return nil, fmt.Errorf("encode thumbnail: %w", err)
	}
	return out.Bytes(), nil
}

// placedDrawing is a drawing with its place in a picture.
type placedDrawing struct {
	drawing *Drawing
	at      placed
}

// placeThumbnails finds every drawing's place.
func placeThumbnails(items []ChartItem, bounds image.Rectangle, o PNGOptions) []placedDrawing {
	w, h := float64(bounds.Dx()), float64(bounds.Dy())
	margin := o.Margin * min(w, h)
	// One unit of the layout is a pixel; gaps are a part of the picture.
	room := ChartOptions{WidthMM: w - 2*margin, HeightMM: h - 2*margin, TextMM: 0.02 * min(w, h)}
	l := largestLayout(items, room)
	var height, width float64
	for _, r := range l.rows {
		height += r.height
		last := r.cells[len(r.cells)-1]
		width = max(width, last.x+last.width)
	}
	height += float64(max(len(l.rows)-1, 0)) * l.viewGap
	var out []placedDrawing
	y := (h - height) / 2
	for _, r := range l.rows {
		last := r.cells[len(r.cells)-1]
		indent := (w - last.x - last.width) / 2
		for _, c := range r.cells {
			x := indent + c.x + (c.width-c.drawn)/2
			for _, v := range c.views {
				t := placed{x: x, bottom: y + r.height, scale: l.scale}
				if v.mirrored {
					t.mirror = v.drawing.Width
				}
				out = append(out, placedDrawing{v.drawing, t})
				x += float64(v.drawing.Width*l.scale) + l.viewGap
			}
		}
		y += r.height + l.viewGap
	}
	return out
}

// largestLayout is the layout of the drawings alone at the largest scale that
// fits the room, to within 1 %.
func largestLayout(items []ChartItem, room ChartOptions) layout {
	bare := make([]ChartItem, 0, len(items))
	larger := 0.0
	for _, it := range items {
		if len(it.Drawings) == 0 {
			continue
		}
		bare = append(bare, ChartItem{Drawings: it.Drawings, Twin: it.Twin})
		for _, d := range it.Drawings {
			larger = max(larger, d.Width, d.Height)
		}
	}
	if larger == 0 {
		return layout{}
	}
	at := func(scale float64) layout {
		l := layOutAt(bare, room, scale)
		l.labelHeight = l.viewGap
		return l
	}
	scale := max(room.WidthMM, room.HeightMM) / larger
	l := at(scale)
	for i := 0; !l.fits(room) && i < 2000; i++ {
		scale *= 0.99
		l = at(scale)
	}
	return l
}

// ink lays a colour over the canvas where the rasteriser's lines cover it. All
// of a colour are laid at once: a pass costs the whole picture.
func ink(canvas *image.NRGBA, z *vector.Rasterizer, c color.NRGBA) {
	mask := image.NewAlpha(canvas.Rect)
	z.DrawOp = draw.Src
	z.Draw(mask, mask.Rect, image.Opaque, image.Point{})
	for i, cover := range mask.Pix {
		if cover == 0 {
			continue
		}
		a, under := int(cover), canvas.Pix[4*i:4*i+4]
		for k, v := range [4]uint8{c.R, c.G, c.B, c.A} {
			under[k] = uint8((int(v)*a + int(under[k])*(255-a) + 127) / 255)
		}
	}
}

func polygon(z *vector.Rasterizer, points []shadow.Point) {
	for i, p := range points {
		if i == 0 {
			z.MoveTo(float32(p.X), float32(p.Y))
		} else {
			z.LineTo(float32(p.X), float32(p.Y))
		}
	}
	z.ClosePath()
}

// brush adds a line of the given width with round joints: a bar for each
// stretch and an octagon for each point, all wound the same way.
func brush(z *vector.Rasterizer, line []shadow.Point, width float64) {
	r := width / 2
	for i, p := range line {
		octagon := make([]shadow.Point, 8)
		for k := range octagon {
			s, c := math.Sincos(float64(k) * math.Pi / 4)
			octagon[k] = shadow.Point{X: p.X + float64(r*c), Y: p.Y + float64(r*s)}
		}
		polygon(z, octagon)
		if i == 0 {
			continue
		}
		q := line[i-1]
		dx, dy := p.X-q.X, p.Y-q.Y
		l := math.Hypot(dx, dy)
		if l == 0 {
			continue
		}
		nx, ny := float64(-dy/l*r), float64(dx/l*r)
		polygon(z, []shadow.Point{{X: q.X - nx, Y: q.Y - ny}, {X: p.X - nx, Y: p.Y - ny}, {X: p.X + nx, Y: p.Y + ny}, {X: q.X + nx, Y: q.Y + ny}})
	}
}
