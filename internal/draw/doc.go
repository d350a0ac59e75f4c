// Package draw answers: what does a part look like, to scale and in few lines?
//
// Its central type is Drawing, one orthographic view of one part in mm: the
// outline of its shadow, and the visible lines inside. Drawings are shown as an
// identification chart shows them: solid silhouettes in one ink, with fine
// lines in the colour of the paper over them. Figure shows one, Chart all parts
// of a release at one scale with a ruler, Hardware a cut length of bought
// stock, Curve the areas of a part's layers, Standalone makes a file of any of
// them, PNG a thumbnail.
//
// Guarantees. The outline is shadow.Of's, exact, then simplified: no point
// of either is farther than Drawing.Tolerance from the other, but rings smaller
// than Tolerance² are left out. Printed coordinates are rounded to 0.01 mm, or
// finer where the tolerance asks for it. The same mesh gives the same text on
// every machine; PNG bytes depend on the rasteriser of golang.org/x/image,
// which is the same on machines of one kind.
//
// Inner lines are found with a depth buffer and are drawn, not measured: a line
// may begin or end up to four of its pixels (1/400 of the view's larger extent)
// off, lines shorter than minLine are left out as specks, and where a rough
// surface yields more than maxLines, only the longest are kept. Lines between
// surfaces that cross without sharing an edge are not drawn. A chart leaves out
// what would merge at its scale.
//
// Inline SVG carries class names and plain attributes only, no style, so that it
// passes a strict content security policy; the page's style sheet colours it.
// Without one, silhouettes take the text's colour and lines the page's.
package draw
