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
// The notes stay Markdown: only their second-level headings are found, by
// the parser of package notes, so that a "## " inside a code block or a
// quotation does not end a section. A link definition therefore serves the
// section it stands in.
package release
