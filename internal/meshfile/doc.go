// Package meshfile answers: what is in this mesh file? It opens a file once for all who
// ask in a build, and not at all where the file is what it was when it was last read.
//
// Its type is [File]. [Look] says which bytes a file holds, by their SHA-256. A file is
// known without being opened by what the system says of it (see identity). Whoever wants
// the mesh, or the bytes for an archive, asks the File; what was kept in the store under
// the SHA-256 is handed out, and only what is not there has the file opened. [Of] is a
// file whose SHA-256 is known: it gives those bytes and no others, whatever the file holds
// by now.
//
// What is kept is the file as a zip holds it (package deflate), once for each content, and
// what its mesh is. So a cache takes about as much as the archives of all releases would if
// each mesh were in one. Without a store every question opens the file.
package meshfile
