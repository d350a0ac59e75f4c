// Package site turns a judged release site into pages: view models, which are
// plain values, then html/template templates from the theme, then files.
//
// It answers one question: what does a visitor see? Nothing here opens a mesh,
// measures, or decides whether a part fits; every number on a page comes from
// survey, verdict, release or pack, and is only rounded and given a unit here
// (format.go).
//
// Build writes a whole site into an empty folder and guarantees:
//
//   - the same input gives the same bytes;
//   - every link between pages is relative and names a file, so that the site
//     works from a folder, on any host, and under a sub-path (the page for
//     missing addresses is the exception: it is served at any depth, so its
//     links begin with the base address's path);
//   - no page asks another origin for anything, carries a style attribute, a
//     style element or a script but the theme's own file, and each says so in a
//     content security policy; every page says all it has to without scripts;
//   - HTML in notes is not trusted: it is dropped, not rendered.
//
// The theme (themes/quay) holds the templates, the styles, the script and the icon. Styles and
// script are published under a name that carries the hash of their content.
//
// To show a new measurement, add it to the view model of the page it belongs to
// and to that page's template; nothing else changes.
package site
