// Package mesh answers: which triangles does this file hold, in millimetres,
// and how do they join?
//
// Its one central type is Mesh, an indexed triangle mesh whose corners with
// exactly equal coordinates are one vertex. Read and ReadFile make a Mesh from
// an STL file (binary or ASCII) or a 3MF file, told apart by content and never
// by name. WriteSTL and Write3MF write one. Topology counts edges and shells,
// Fingerprint identifies the geometry whatever file it came in.
//
// Guarantees. Coordinates are those of the file: binary STL as its 32-bit
// numbers, ASCII STL and 3MF as the nearest 64-bit numbers to their decimals (0
// below 1.4·10⁻⁴⁵, the least 32-bit number); a 3MF is turned to millimetres and placed by its transforms. Nothing is moved,
// closed, turned over or dropped: an open or tangled mesh is read as it is, and
// what is wrong with it is for others to say. Every result is the same on every
// machine. A file that cannot be read gives one located error and no mesh. No
// count in a file is trusted before its bytes are there; an archive's unpacked
// size, nesting and copies are limited.
//
// Not here: volumes, areas, holes, thinness (package measure), and repair of
// any kind.
//
// Sources. STL has no standard; the two layouts are those of common use (80-byte
// header, 32-bit little-endian count, 50-byte records; and the keywords solid,
// facet, outer loop, vertex, endloop, endfacet, endsolid). 3MF is the core
// specification 1.4.0 of the 3MF Consortium, with the paths of its production
// extension. Edge and shell counts are those of combinatorial topology, defined
// at Topology.
package mesh
