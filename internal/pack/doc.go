// Package pack makes the files a visitor downloads: for each release and
// process one zip, and every mesh by itself, mirrored twins included.
//
// The central type is [Download]: bytes, their SHA-256 and an address that
// contains sixteen digits of it, so that a published address never changes its
// content. [Archive] makes a zip, [Parts] the single meshes.
//
// Guarantees. The same content gives the same bytes: entries are sorted, their
// time is that of SOURCE_DATE_EPOCH or else the release's date, compression is
// a pinned library's. Names inside an archive are lower-case ASCII without
// spaces (but for README.txt and SHA256SUMS), use forward slashes, never lead
// upwards, and differ by more than case. A mesh is read before it is packed;
// one that cannot be is left out, named in the archive's README.txt and in the
// error. Meshes are packed byte for byte as supplied; a mirrored twin is
// written anew as binary STL in 32-bit coordinates.
//
// SHA256SUMS lists everything else in the archive and passes
// "sha256sum -c --strict". hardware.csv follows RFC 4180; cells that a
// spreadsheet would take for a formula begin with an apostrophe. cut-list.txt is there
// where something is cut from a stock of stated length.
//
// Sources: PKWARE APPNOTE 6.3 (zip), GNU coreutils manual (checksum lines),
// RFC 4180 (CSV), SOURCE_DATE_EPOCH specification 1.1.
package pack
