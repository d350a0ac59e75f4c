// Package fields reads the tables a designer writes: YAML files and the YAML
// front matter of notes. It answers, for each field, what was meant, or where
// and why it cannot be read, and what was expected instead.
//
// The central type is [Map]: a caller asks it for each field it knows, by name
// and kind. What was never asked for is an unknown field; [Document.Finish]
// reports it with the nearest name that was.
//
// Guarantees: every error carries file, line and column (columns count
// characters from 1); one bad field never hides the others; a syntax error
// loses only the top-level entry it stands in; no input panics. Text larger
// than [MaxYAML], [MaxLines] or [MaxLine] or nested deeper than [MaxDepth] is
// refused before it is parsed, and anchors, aliases, tags and merge keys are errors, so that a small
// file cannot grow into a large one. Of a file that grows by entries, see
// [ParseEntries], that holds for each entry.
//
// Lengths are millimetres, angles degrees. Numbers are decimal: 07 is seven,
// and neither exponents nor decimal commas are read.
//
// The YAML grammar is github.com/goccy/go-yaml's; only its syntax tree is used.
package fields
