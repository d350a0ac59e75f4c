package mesh

import (
	"context"
	"fmt"
	"io"
	"strconv"
)

// The ASCII reader is our own. hschendel/stl (v1.0.4) wants lower-case keywords
// and "solid " with a space, stops at the first endsolid, takes lines of at most
// 64 KiB and LF or CRLF only, skips what it cannot read and reports no columns;
// and it keeps 32 bits of each coordinate, where the decimals have more. A
// rewriting reader before it would have to be this parser, and would still lose
// the digits and the places.

// readSTLASCII reads all solid blocks of a text STL as one mesh. Keywords in any
// case; any white space, with LF, CRLF or CR line ends; names and normals are
// not read; an endsolid may be missing at the end, with a note.
func readSTLASCII(ctx context.Context, r io.ReadSeeker, size int64) (*Mesh, Info, error) {
	info := Info{Format: STLASCII}
	if _, err := r.Seek(0, io.SeekStart); err != nil {
		return nil, info, err
	}
	words, err := newWordReader(&window{ctx: ctx, r: r, length: size})
	if err != nil {
		return nil, info, err
	}
	p := &asciiParser{words: words, welder: newWelder(0)}
	if err := p.file(); err != nil {
		return nil, info, err
	}
	info.Notes = p.notes
	if len(p.welder.mesh.Triangles) == 0 {
		return nil, info, refuse("no triangles: the text STL has no facet")
	}
	return &p.welder.mesh, info, nil
}

type asciiParser struct {
	words  *wordReader
	welder *welder
	notes  []string
}

// file = { "solid" name-line { facet } "endsolid" name-line }.
func (p *asciiParser) file() error {
	solids := 0
	for {
		w, err := p.words.next()
		if err == io.EOF {
			break
		}
		if err != nil {
			return err
		}
		if !w.is("solid") {
			if solids > 0 && !w.couldBegin() {
				p.notes = append(p.notes, fmt.Sprintf("Text after the last endsolid was passed over (line %d).", w.line))
				break
			}
			return w.refuse(`"solid" expected, found %s`, w)
		}
		solids++
		if err := p.words.skipName(); err != nil {
			return err
		}
		if err := p.solid(); err != nil {
			return err
		}
	}
	if solids > 1 {
		p.notes = append(p.notes, fmt.Sprintf("%d solids were read as one mesh.", solids))
	}
	return nil
}

func (p *asciiParser) solid() error {
	for {
		w, err := p.words.next()
		if err == io.EOF {
			p.notes = append(p.notes, "The last solid has no endsolid.")
			return nil
		}
		if err != nil {
			return err
		}
		switch {
		case w.is("endsolid"):
			if err := p.words.skipName(); err != nil {
				return err
			}
			return nil
		case w.is("facet"):
			if err := p.facet(); err != nil {
				return err
			}
		case w.is("end"):
			// "end solid" in two words.
			s, err := p.words.next()
			if err != nil || !s.is("solid") {
				return w.refuse(`"facet" or "endsolid" expected, found %s`, w)
			}
			if err := p.words.skipName(); err != nil {
				return err
			}
			return nil
		default:
			return w.refuse(`"facet" or "endsolid" expected, found %s`, w)
		}
		if len(p.welder.mesh.Triangles) > MaxTriangles {
			return w.refuse("more than %d triangles", MaxTriangles)
		}
	}
}

// facet is read after its keyword. The normal, which the winding gives better,
// may be missing or nonsense: everything up to "outer" on at most eight words is
// passed over.
func (p *asciiParser) facet() error {
	w, err := p.word(`"outer loop"`)
	loopLine := w.line
	for skipped := 0; err == nil && !w.is("outer"); skipped++ {
		if skipped == 8 || w.is("vertex") || w.is("facet") || w.is("endsolid") {
			return w.refuse(`"outer loop" expected, found %s`, w)
		}
		w, err = p.word(`"outer loop"`)
		loopLine = w.line
	}
	if err != nil {
		return err
	}
	if err := p.keyword("loop"); err != nil {
		return err
	}
	var corners [3]Vec
	for n := 0; ; n++ {
		w, err := p.word(`"vertex" or "endloop"`)
		if err != nil {
			return err
		}
		switch {
		case w.is("endloop") && n == 3:
			p.welder.add(corners[0], corners[1], corners[2])
			return p.keyword("endfacet")
		case w.is("endloop"):
			return w.refuse("the loop begun on line %d has %d vertices; a triangle has 3", loopLine, n)
		case !w.is("vertex"):
			return w.refuse(`"vertex" or "endloop" expected, found %s`, w)
		case n == 3:
			return w.refuse("the loop begun on line %d has a fourth vertex; a triangle has 3", loopLine)
		}
		if corners[n], err = p.point(); err != nil {
			return err
		}
	}
}

func (p *asciiParser) point() (v Vec, err error) {
	var x [3]float64
	for k := range x {
		w, err := p.word("a coordinate")
		if err != nil {
			return v, err
		}
		if x[k], err = w.number(len(p.welder.mesh.Triangles) + 1); err != nil {
			return v, err
		}
	}
	return Vec{x[0], x[1], x[2]}, nil
}

func (p *asciiParser) keyword(k string) error {
	w, err := p.words.next()
	if err == io.EOF {
		return p.ended(strconv.Quote(k))
	}
	if err == nil && !w.is(k) {
		err = w.refuse("%q expected, found %s", k, w)
	}
	return err
}

// word is the next word where one must be.
func (p *asciiParser) word(expected string) (word, error) {
	w, err := p.words.next()
	if err == io.EOF {
		return w, p.ended(expected)
	}
	return w, err
}

func (p *asciiParser) ended(expected string) error {
	return refuseAt(p.words.line+1, p.words.column+1, "the file ends where %s is expected", expected)
}
