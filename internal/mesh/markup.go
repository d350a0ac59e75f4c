package mesh

import (
	"bytes"
	"context"
	"encoding/xml"
	"errors"
	"io"
)

// maxDepth bounds how deep elements nest, and maxToken how long one tag or run
// of text is: the parser holds both in memory. maxAttributes bounds a tag.
const (
	maxDepth      = 64
	maxToken      = 4 << 20
	maxAttributes = 64
)

// markup reads the elements of one XML part under limits.
type markup struct {
	name  string // of the part, for messages
	body  io.ReadCloser
	feed  *meteredReader
	xml   *xml.Decoder
	depth int // elements open
}

// element is a start tag and where it stands.
type element struct {
	xml.StartElement
	line, column int
}

func newMarkup(ctx context.Context, name string, body io.ReadCloser, limit int64) *markup {
	feed := &meteredReader{ctx: ctx, name: name, r: body, limit: limit}
	return &markup{name: name, body: body, feed: feed, xml: xml.NewDecoder(feed)}
}

// close ends reading and tells how many bytes were unpacked.
func (m *markup) close() int64 {
	_ = m.body.Close() // nothing was written
	return m.feed.total
}

// children calls do with each child of the element begun last (with the
// outermost element, before any has begun). What do does not read of a child
// with a call of children is passed over.
func (m *markup) children(do func(element) error) error {
	inside := m.depth
	for {
		e, err := m.next()
		if err == io.EOF && inside == 0 {
			return nil
		}
		if err != nil {
			return err
		}
		if m.depth < inside {
			return nil
		}
		if m.depth == inside {
			continue // the end of a child
		}
		if err := do(e); err != nil {
			return err
		}
		for m.depth > inside {
			if _, err := m.next(); err != nil {
				return err
			}
		}
	}
}

// next reads up to and with the next start or end tag; for an end tag the
// element is zero.
func (m *markup) next() (element, error) {
	for {
		line, column := m.xml.InputPos()
		m.feed.sinceToken = 0
		token, err := m.xml.Token()
		if err != nil {
			return element{}, m.failure(err)
		}
		switch t := token.(type) {
		case xml.StartElement:
			m.depth++
			e := element{t, line, column}
			return e, m.checkTag(e)
		case xml.EndElement:
			m.depth--
			return element{}, nil
		case xml.Directive:
			if bytes.HasPrefix(bytes.ToUpper(bytes.TrimSpace(t)), []byte("DOCTYPE")) {
				return element{}, m.refuse(element{line: line, column: column}, "a document type definition, which 3MF forbids")
			}
		}
	}
}

func (m *markup) checkTag(e element) error {
	if m.depth > maxDepth {
		return m.refuse(e, "elements nest deeper than %d", maxDepth)
	}
	if len(e.Attr) > maxAttributes {
		return m.refuse(e, "<%s> has more than %d attributes", e.Name.Local, maxAttributes)
	}
	for i, a := range e.Attr {
		for _, b := range e.Attr[:i] {
			if a.Name == b.Name {
				return m.refuse(e, "<%s> has the attribute %q twice", e.Name.Local, a.Name.Local)
			}
		}
	}
	return nil
}

// attr is the value of an attribute without a namespace, "" where absent.
func (e element) attr(name string) string { return e.attrIn("", name) }

func (e element) attrIn(space, name string) string {
	for i := range e.Attr {
		if e.Attr[i].Name.Local == name && e.Attr[i].Name.Space == space {
			return e.Attr[i].Value
		}
	}
	return ""
}

func (m *markup) refuse(e element, format string, args ...any) error {
	return refuse("%s:%d:%d: "+format, append([]any{m.name, e.line, e.column}, args...)...)
}

func (m *markup) failure(err error) error {
	var syntax *xml.SyntaxError
	switch {
	case err == io.EOF:
		if m.depth > 0 {
			return refuse("%s ends in the middle of an element", m.name)
		}
		return err
	case m.feed.ctx.Err() != nil:
		return m.feed.ctx.Err()
	case errors.As(err, &syntax):
		return refuse("%s:%d: not well-formed XML: %s", m.name, syntax.Line, syntax.Msg)
	case errors.As(err, new(*Error)):
		return err
	}
	return refuse("%s cannot be read (%v)", m.name, err)
}

// meteredReader stops at a limit, on a token too long to hold, and with ctx.
type meteredReader struct {
	ctx               context.Context
	name              string
	r                 io.Reader
	total, sinceToken int64
	limit             int64
}

func (r *meteredReader) Read(p []byte) (int, error) {
	if err := r.ctx.Err(); err != nil {
		return 0, err
	}
	if r.sinceToken > maxToken {
		return 0, refuse("%s has a tag or text of more than %d bytes", r.name, maxToken)
	}
	n, err := r.r.Read(p)
	r.total += int64(n)
	r.sinceToken += int64(n)
	if r.total > r.limit {
		return 0, refuse("%s unpacks to more than %d bytes, which is more than its packed size can hold of a mesh", r.name, r.limit)
	}
	return n, err
}
