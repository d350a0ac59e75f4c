package draw

import (
	"cmp"
	"math"
	"slices"

	"cardback/internal/measure/shadow"
)

// minLine is the shortest line drawn, as a part of the view's larger extent:
// 3 %, three millimetres on a drawing the width of a hand. Closed lines, which
// are holes and studs more often than noise, may be half as long. Judged by eye
// on scans and machined parts; no source.
const minLine = 0.03

// maxLines is the most lines of one kind. A machined part has some dozens; a
// rough scan has thousands of short ones, which say nothing.
const maxLines = 250

// tidy joins stretches to lines, drops specks, and simplifies to within tol.
// Lines come longest first; equal lengths by their first point.
func tidy(stretches [][2]shadow.Point, pixel, tol, larger float64) [][]shadow.Point {
	lines := join(stretches, pixel/2)
	lines = dropShort(lines, minLine*larger)
	slices.SortStableFunc(lines, func(p, q []shadow.Point) int { return cmp.Compare(length(q), length(p)) })
	lines = lines[:min(len(lines), maxLines)]
	for i, l := range lines {
		lines[i] = simplify(l, tol)
	}
	return lines
}

// dropShort leaves out lines shorter than least, or half of it if they are closed.
func dropShort(lines [][]shadow.Point, least float64) [][]shadow.Point {
	return slices.DeleteFunc(lines, func(l []shadow.Point) bool {
		if l[0] == l[len(l)-1] {
			return length(l) < least/2
		}
		return length(l) < least
	})
}

func length(line []shadow.Point) float64 {
	var sum float64
	for i := 1; i < len(line); i++ {
		sum += math.Hypot(line[i].X-line[i-1].X, line[i].Y-line[i-1].Y)
	}
	return sum
}

// mostJoined is how many stretches may meet for a line to go on there: past a hub of
// more there is no telling which, and trying each with each would take for ever.
const mostJoined = 64

// join chains stretches whose ends fall into the same square of a grid of the
// given step. Equal stretches are one. At a crossing a line goes straight on,
// if something leads on within 45°; past a plain joint it goes on at any angle.
func join(stretches [][2]shadow.Point, step float64) [][]shadow.Point {
	type node struct{ x, y int32 }
	key := func(p shadow.Point) node { return node{int32(math.Round(p.X / step)), int32(math.Round(p.Y / step))} }
	compare := func(p, q node) int { return cmp.Or(cmp.Compare(p.x, q.x), cmp.Compare(p.y, q.y)) }
	type link struct{ a, b node }
	var links []link
	place := map[node]shadow.Point{}
	for _, s := range stretches {
		a, b := key(s[0]), key(s[1])
		for i, k := range [2]node{a, b} {
			if _, taken := place[k]; !taken {
				place[k] = s[i]
			}
		}
		switch c := compare(a, b); {
		case c < 0:
			links = append(links, link{a, b})
		case c > 0:
			links = append(links, link{b, a})
		}
	}
	slices.SortFunc(links, func(p, q link) int { return cmp.Or(compare(p.a, q.a), compare(p.b, q.b)) })
	links = slices.Compact(links)
	at := map[node][]int{} // links by node, in order
	for i, l := range links {
		at[l.a] = append(at[l.a], i)
		at[l.b] = append(at[l.b], i)
	}
	used := make([]bool, len(links))
	other := func(i int, n node) node {
		if links[i].a == n {
			return links[i].b
		}
		return links[i].a
	}
	// onward is the unused link that leads on from b, coming from a; −1 for none.
	onward := func(a, b node) int {
		best, straightest := -1, math.Inf(-1)
		if len(at[b]) > mostJoined {
			return best
		}
		if len(at[b]) > 2 {
			straightest = math.Sqrt2 / 2
		}
		p, q := place[a], place[b]
		for _, i := range at[b] {
			r := place[other(i, b)]
			if used[i] || other(i, b) == a {
				continue
			}
			ux, uy, vx, vy := q.X-p.X, q.Y-p.Y, r.X-q.X, r.Y-q.Y
			if c := dot(ux, uy, vx, vy) / (math.Hypot(ux, uy) * math.Hypot(vx, vy)); c > straightest {
				best, straightest = i, c
			}
		}
		return best
	}
	walk := func(from node, first int) []node {
		path := []node{from}
		for i := first; i >= 0; i = onward(path[len(path)-2], path[len(path)-1]) {
			used[i] = true
			path = append(path, other(i, path[len(path)-1]))
		}
		return path
	}
	var lines [][]shadow.Point
	for i, l := range links {
		if used[i] {
			continue
		}
		path := walk(l.a, i)
		if back := onward(path[1], path[0]); back >= 0 { // and the other way from its start
			behind := walk(path[0], back)
			slices.Reverse(behind)
			path = append(behind, path[1:]...)
		}
		line := make([]shadow.Point, len(path))
		for k, n := range path {
			line[k] = place[n]
		}
		lines = append(lines, line)
	}
	return lines
}

// simplify is Douglas and Peucker's method; the ends stay, and a closed line
// keeps the point farthest from its end.
func simplify(line []shadow.Point, tol float64) []shadow.Point {
	keep := make([]bool, len(line))
	keep[0], keep[len(line)-1] = true, true
	type span struct{ from, to int }
	todo := []span{{0, len(line) - 1}}
	for len(todo) > 0 {
		s := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		far, most := -1, tol
		for i := s.from + 1; i < s.to; i++ {
			if d := distance(line[i], line[s.from], line[s.to]); d > most {
				far, most = i, d
			}
		}
		if far >= 0 {
			keep[far] = true
			todo = append(todo, span{s.from, far}, span{far, s.to})
		}
	}
	var out []shadow.Point
	for i, k := range keep {
		if k {
			out = append(out, line[i])
		}
	}
	return out
}

// distance is that of p from the segment ab.
func distance(p, a, b shadow.Point) float64 {
	px, py, dx, dy := p.X-a.X, p.Y-a.Y, b.X-a.X, b.Y-a.Y
	if l := dot(dx, dy, dx, dy); l > 0 {
		t := min(max(dot(px, py, dx, dy)/l, 0), 1)
		px, py = px-float64(t*dx), py-float64(t*dy)
	}
	return math.Hypot(px, py)
}
