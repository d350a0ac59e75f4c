package notes

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"github.com/yuin/goldmark/ast"
)

// Bounds of a text of notes. Each is far above what anybody writes and low enough
// that the parser, whose work grows with the square of some of these, stays under a
// second (TestWhatPassesTheGuardIsQuick).
const (
	// maxLine is a line's length in bytes: some 3000 words. A paragraph may be one.
	maxLine = 20_000
	// maxBlock is the length in bytes of lines without a blank one between them.
	maxBlock = 128 << 10
	// maxNesting is how many marks of quotations and lists a line may begin with, and
	// maxDepth how deep what is made of a text may nest.
	maxNesting = 32
	maxDepth   = 100
	// maxIndent is the white space, in columns, that a line may begin with.
	maxIndent = 200
	// maxBrackets bounds the square brackets of a block, and maxAllBrackets those of a
	// text: the parser looks back over the open ones at each that closes.
	maxBrackets, maxAllBrackets = 2_000, 20_000
	// maxColumns bounds a table's columns, and maxCells its cells: a row with one cell
	// gets as many as the head has.
	maxColumns, maxCells, maxAllCells = 100, 20_000, 100_000
	// maxDefinitions bounds the lines such as [name]: address.
	maxDefinitions = 1_000
	// maxExpansion bounds, in bytes, the addresses and titles of all links of a text
	// taken together: one definition may be used many times.
	maxExpansion = 1 << 20
	// maxSections bounds the second-level headings.
	maxSections = 300
)

// guard looks over a text that nobody has parsed yet; nil where it may be.
func guard(body string) *Problem {
	g := reading{}
	for line := range strings.SplitSeq(body, "\n") {
		g.line++
		if p := g.next(line); p != nil {
			return p
		}
	}
	return nil
}

// reading is what is counted line by line.
type reading struct {
	line                         int // from 1
	brackets, cells, definitions int // of the text

	size, lines, blockBrackets, columns, blockCells int // of the block
}

func (g *reading) at(column int, format string, args ...any) *Problem {
	return &Problem{g.line, column, fmt.Sprintf(format, args...)}
}

func (g *reading) next(line string) *Problem {
	if len(line) > maxLine {
		return g.at(1, "this line is longer than %d bytes; break it into several", maxLine)
	}
	if strings.Trim(line, " \t>") == "" {
		g.size, g.blockBrackets, g.lines, g.columns, g.blockCells = 0, 0, 0, 0, 0
	}
	g.size += len(line) + 1
	g.lines++
	if g.size > maxBlock {
		return g.at(1, "there are more than %d KiB without an empty line; put some between paragraphs", maxBlock>>10)
	}
	if p := g.beginning(line); p != nil {
		return p
	}
	for i, c := range []byte(line) {
		if c != '[' && c != ']' {
			continue
		}
		g.brackets++
		g.blockBrackets++
		if g.blockBrackets > maxBrackets || g.brackets > maxAllBrackets {
			return g.at(utf8.RuneCountInString(line[:i])+1, "there are more square brackets here than notes have a use for (%d in a paragraph, %d in all); expected a few links", maxBrackets, maxAllBrackets)
		}
	}
	if strings.Contains(line, "]:") {
		if g.definitions++; g.definitions > maxDefinitions {
			return g.at(1, "there are more than %d definitions of links; write the addresses where they are used", maxDefinitions)
		}
	}
	if bars := strings.Count(line, "|"); bars > 0 {
		if bars > maxColumns {
			return g.at(1, "this line has more than %d vertical bars; expected a table with fewer columns", maxColumns)
		}
		g.columns = max(g.columns, bars+1)
	}
	if g.columns > 0 { // it may be a table, and each of its lines has cells for all columns
		g.cells -= g.blockCells
		g.blockCells = g.columns * g.lines
		g.cells += g.blockCells
		if g.blockCells > maxCells || g.cells > maxAllCells {
			return g.at(1, "the table grows too large here; expected at most %d cells, and %d in all tables of a text", maxCells, maxAllCells)
		}
	}
	return nil
}

// beginning looks at the white space and the marks that a line begins with.
func (g *reading) beginning(line string) *Problem {
	columns, marks, i := 0, 0, 0
	for i < len(line) {
		switch c := line[i]; {
		case c == ' ':
			columns++
		case c == '\t':
			columns += 4
		case c == '>':
			marks++
			columns = 0
		case c == '-', c == '+', c == '*', c == ':':
			if i+1 < len(line) && line[i+1] != ' ' && line[i+1] != '\t' {
				return nil // text begins
			}
			marks++
			columns = 0
		case c >= '0' && c <= '9':
			end := i
			for end < len(line) && line[end] >= '0' && line[end] <= '9' {
				end++
			}
			if end == len(line) || line[end] != '.' && line[end] != ')' {
				return nil
			}
			marks++
			columns, i = 0, end
		default:
			return nil
		}
		i++
		if columns > maxIndent {
			return g.at(i, "this line is set in by more than %d columns; expected plain paragraphs and lists", maxIndent)
		}
		if marks > maxNesting && !rule(line) {
			return g.at(i, "quotations and lists nest deeper than %d levels here; expected plain paragraphs and lists", maxNesting)
		}
	}
	return nil
}

// rule reports whether a line is one mark over and over: CommonMark draws a line
// across the page for it, and nests nothing.
func rule(line string) bool {
	return strings.Trim(line, " \t-") == "" || strings.Trim(line, " \t*") == ""
}

// checkTree bounds what is made of a text; nil where all is well.
func checkTree(tree ast.Node) *fault {
	depth, bytes, sections := 0, 0, 0
	var found *fault
	_ = ast.Walk(tree, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			depth--
			return ast.WalkContinue, nil
		}
		say := func(format string, args ...any) (ast.WalkStatus, error) {
			found = &fault{blockStart(n), fmt.Sprintf(format, args...)}
			return ast.WalkStop, nil
		}
		if depth++; depth > maxDepth {
			return say("this nests deeper than %d levels; expected plain paragraphs and lists", maxDepth)
		}
		switch n := n.(type) {
		case *ast.Link:
			bytes += len(n.Destination) + len(n.Title)
		case *ast.Image:
			bytes += len(n.Destination) + len(n.Title)
		case *ast.Heading:
			if n.Level == 2 && depth == 2 {
				if sections++; sections > maxSections {
					return say("there are more than %d sections; put some of them under one heading", maxSections)
				}
			}
		}
		if bytes > maxExpansion {
			return say("the addresses of all links would take more than %d KiB on the page; expected shorter ones, or fewer", maxExpansion>>10)
		}
		return ast.WalkContinue, nil
	})
	return found
}

// blockStart is where the block that a node is, or stands in, begins.
func blockStart(n ast.Node) int {
	for ; n != nil; n = n.Parent() {
		if n.Type() == ast.TypeBlock && n.Lines() != nil && n.Lines().Len() > 0 {
			return n.Lines().At(0).Start
		}
	}
	return 0
}
