// Package measure answers what can be known of one mesh by calculation alone: its
// size, volume, area and centroid, its convex hull and diameter, the outline of its
// shadow along each axis, whether its surface is sound, where it is thin, and which
// round holes and pins it has. Its central type is Report; Measure makes one, and
// NewContract puts it in the form that other programs read. Shadow gives the
// outlines themselves.
//
// What has a place is found in packages of its own, each with its definitions and
// tolerances: sound (crossings, cavities, cracks), thin, bore (holes and pins),
// slice (layers in any pose, and tilts) and stack (islands and hollows, from layer to
// layer). They rest on tree (boxes of triangles) and exact (predicates). Layers are
// not in the Report, since they depend on a pose.
//
// What it guarantees, for any finite mesh, however broken:
//
//   - Counts are exact, by the definitions at Report and at mesh.Topology.
//     Triangles without area are told by exact arithmetic, not by a tolerance.
//   - Volume, area and centroid are sums in float64 with the roundings carried
//     along, the volume by the divergence theorem about the centre of the bounds.
//   - The hull is exact: it is decided in exact arithmetic which points are
//     extreme. Its volume and area are float64 sums over its facets.
//   - The diameter is the greatest distance between corners, to the rounding of
//     one distance.
//   - Shadows are exact up to a grid finer than 32-bit coordinates; see Shadow.
//   - The same mesh gives the same report to the last bit, on any number of
//     processors.
//
// It does not mend meshes, and does not know what the numbers mean for a material
// or a printer. Findings say what is usual at a printer. Volumes, layers and amounts
// are those of the winding: where shells overlap, what is in both counts twice, and a
// finding says so. A heap whose outlines cross beyond a bound has no shadow, and
// Measure then gives an error (see Shadow); other bounds are told by Partial.
//
// Methods are named, with their sources, beside the code: quickhull, Shewchuk's
// filtered predicates, Neumaier's summation, snap rounding.
package measure
