// Package notes reads the Markdown that a designer writes. It answers: may this
// text be parsed, what does it say, and what would a page made of it ask for?
//
// There is one parser for all: what is checked is the tree that is rendered, so no
// table cell, definition or mark that one part of the program reads and another does
// not can hide an address. Guard looks over a text before anything parses it, since
// the parser's time and memory grow with the square of some marks; CheckTree bounds
// what a text grows to when it is rendered.
//
// The grammar is CommonMark with tables, definition lists, struck-out text and
// printers' quotation marks, by github.com/yuin/goldmark.
package notes

import (
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
)

// Markdown is how notes are read and written as HTML. Raw HTML is left out.
func Markdown(options ...parser.Option) goldmark.Markdown {
	return goldmark.New(
		goldmark.WithExtensions(extension.Table, extension.DefinitionList, extension.Strikethrough, extension.Typographer),
		goldmark.WithParserOptions(options...),
	)
}

// Parse is the tree that Markdown renders.
func Parse(src []byte) ast.Node { return Markdown().Parser().Parse(text.NewReader(src)) }

// ParsePlain is the tree with quotation marks and dashes as they were typed, for
// whoever wants its words. Its blocks are those of Parse.
func ParsePlain(src []byte) ast.Node {
	return goldmark.New(goldmark.WithExtensions(extension.Table, extension.DefinitionList, extension.Strikethrough)).
		Parser().Parse(text.NewReader(src))
}
