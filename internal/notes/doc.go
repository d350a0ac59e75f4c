// Package notes reads the Markdown that a designer writes. It answers: may this
// text be parsed, what does it say, and what does a page show of it?
//
// The central type is [Document]: a text as one tree, made by [Parse] when the notes
// are read, and not changed afterwards. Everything that is asked of notes is asked of
// it. It knows its sections, the steps of its assembly, and its references: links,
// addresses and images, each with its place in the text and the address that a page
// gives it. An address defined anywhere in the text serves all of it. [Document.Render]
// and [Section.Render] write the HTML; what is checked is the tree that they write.
//
// What CommonMark does not know is in the nodes of this package ([Section], [Step],
// [Reference], [Caution]), which one goldmark extension puts into the tree
// (extension.go) and one renderer writes (render.go). A further kind of reference or
// block is one more node in those two files.
//
// A text is looked over before it is parsed, since the parser's time and memory grow
// with the square of some marks, and its tree is bounded before anything is made of it
// (bounds.go).
//
// The grammar is CommonMark 0.31 with tables, definition lists, struck-out text and
// printers' quotation marks, by github.com/yuin/goldmark. HTML in notes is shown nowhere.
package notes
