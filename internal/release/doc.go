// Package release reads the content folder: what the designer wrote about each
// numbered release, and which parts and cuts lie beside it.
//
// The central type is [Site]; [Load] reads a whole folder and reports every
// problem of the run together, each with file, line and column, as a
// fields.Errors. With errors the Site holds what was good, so that a caller can
// still show it.
//
// Nothing outside the content folder is read: the folder is opened as an
// os.Root, and a symbolic link that leads out of it is an error. Files larger
// than their kind has any use for are refused, and so is anything but regular
// files and folders. Meshes are found here but not opened.
//
// The text of notes becomes a notes.Document, which is parsed here and nowhere else.
// Its links within the site are held to the site's pages once all are known.
package release
