package notes

import (
	"bytes"
	"net/url"
	"strings"

	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/util"
)

// Final is an address as a page will have it: marks and references such as &#47; are
// resolved as the renderer does.
func Final(destination []byte) string { return string(util.URLEscape(destination, true)) }

// Target is where an address leads.
type Target int

const (
	Refused   Target = iota // no page may carry it
	Elsewhere               // another site, or a mail
	Within                  // from the site's root: /plates/
	Beside                  // relative to the page, or a place on it: #parts
)

// TargetOf says where a final address leads as a browser takes it. A scheme that
// neither fetches a page nor writes a mail is refused; so would be a backslash, which
// browsers take for a slash, but Final leaves none.
func TargetOf(final string) Target {
	lower := strings.ToLower(strings.TrimLeft(final, " "))
	scheme, _, found := strings.Cut(lower, ":")
	switch {
	case strings.ContainsAny(final, "\\\t\r\n"):
		return Refused
	case strings.HasPrefix(lower, "//"):
		return Elsewhere
	case found && !strings.ContainsAny(scheme, "/?#"):
		switch scheme {
		case "http", "https":
			if u, err := url.Parse(final); err != nil || u.Host == "" {
				return Refused // browsers differ in what they make of it
			}
			return Elsewhere
		case "mailto":
			return Elsewhere
		}
		return Refused
	case strings.HasPrefix(lower, "/"):
		return Within
	}
	return Beside
}

// Address is an address in a text.
type Address struct {
	Node  ast.Node // *ast.Link, *ast.Image or *ast.AutoLink
	Final string   // as the page would have it
	To    Target
}

// Addresses lists every address of a tree in the order of the text.
func Addresses(doc ast.Node, src []byte) []Address {
	var out []Address
	_ = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		var final string
		switch n := n.(type) {
		case *ast.Link:
			final = Final(n.Destination)
		case *ast.Image:
			final = Final(n.Destination)
		case *ast.AutoLink:
			final = string(util.URLEscape(n.URL(src), false))
			if n.AutoLinkType == ast.AutoLinkEmail && !bytes.HasPrefix(bytes.ToLower([]byte(final)), []byte("mailto:")) {
				final = "mailto:" + final
			}
		default:
			return ast.WalkContinue, nil
		}
		out = append(out, Address{n, final, TargetOf(final)})
		return ast.WalkContinue, nil
	})
	return out
}
