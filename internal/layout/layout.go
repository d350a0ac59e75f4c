package layout

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"cardback/internal/fit"
	"cardback/internal/measure/shadow"
	"cardback/internal/parallel"
)

// Tolerance, in mm, is what rounding may take from the spacing and the margin.
// The grid's cells are tested with a slack of cellSlack of a cell, the exact
// turn of package fit with its slop of 1e-9 mm, and coordinates below 10 m round
// by less than 1e-12 mm: together less than 1e-8 mm for plates up to 10 m.
const Tolerance = 1e-6

// mostPieces bounds how many copies are laid out at once.
const mostPieces = 2000

// farthest is the greatest length, in mm, that a plate, spacing or coordinate
// may have: within it the sizes above hold.
const farthest = 1e4

// Piece is something to be laid on a plate, in the orientation it prints in.
type Piece struct {
	Name    string
	Number  int            // shown on charts; not used here
	Outline shadow.Outline // its shadow seen from above, in mm; X along the plate's width
	Height  float64        // mm
	Copies  int            // none where zero or less
}

// Options says onto what pieces are laid.
type Options struct {
	Plate   fit.Plate
	Spacing float64 // mm between the outlines of any two pieces
}

// Placed is one copy of a piece on a plate. Turn the outline counter-clockwise
// about its origin, then move it by X and Y. The plate's lower left corner is
// the origin, of a round plate that of the square around it.
type Placed struct {
	Piece   int     // index into the pieces given
	Copy    int     // from 0
	TurnDeg float64 // in [0, 360)
	X, Y    float64 // mm
}

// Unplaced is a piece none of whose copies can be laid.
type Unplaced struct {
	Piece  int
	Reason string // one plain sentence
}

// Layout is the pieces laid on plates, the fullest plate first.
type Layout struct {
	Plates   [][]Placed
	Bound    int    // no layout of the placed pieces has fewer plates
	Why      string // one plain sentence: what proves the bound
	Unplaced []Unplaced
}

// Sentence tells how many plates there are, and what is known about fewer.
func (l *Layout) Sentence() string {
	s := plates(len(l.Plates))
	switch {
	case len(l.Plates) == 0:
		return "no plates"
	case len(l.Plates) == l.Bound:
		return s + "; fewer will not do"
	}
	if l.Bound == 1 {
		return s + "; whether one would do is undecided"
	}
	return s + "; no fewer than " + strconv.Itoa(l.Bound)
}

func plates(n int) string {
	if n == 1 {
		return "1 plate"
	}
	return strconv.Itoa(n) + " plates"
}

// Lay lays every copy of the pieces on plates of the one kind. It returns an
// error for a plate or spacing that is not a length, for more than 2000 copies,
// and when ctx ends first.
func Lay(ctx context.Context, pieces []Piece, o Options) (*Layout, error) {
	return lay(ctx, pieces, o, 0)
}

// lay is Lay with a budget, or 0 for that of so many pieces.
func lay(ctx context.Context, pieces []Piece, o Options, budget int) (*Layout, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	total := 0
	for _, p := range pieces {
		if total += max(p.Copies, 0); total > mostPieces || p.Copies > mostPieces {
			return nil, fmt.Errorf("lay out plates: more than %d pieces", mostPieces)
		}
	}
	out := &Layout{}
	t := newTable(o)
	shapes := make([]*shape, len(pieces))
	reasons := make([]string, len(pieces))
	err := parallel.Tasks(ctx, len(pieces), func(i int) {
		if pieces[i].Copies > 0 {
			shapes[i], reasons[i] = newShape(ctx, pieces[i], o, t)
		}
	})
	if err != nil {
		return nil, err
	}
	var all []int // a shape's number for each copy
	for i, p := range pieces {
		switch {
		case reasons[i] != "":
			out.Unplaced = append(out.Unplaced, Unplaced{i, reasons[i]})
		case shapes[i] != nil:
			for range p.Copies {
				all = append(all, i)
			}
		}
	}
	out.Bound, out.Why = bound(pieces, shapes, all, o)
	if len(all) == 0 {
		return out, nil
	}
	if budget == 0 {
		budget = budgetFor(len(all))
	}
	s := searcher{table: t, shapes: shapes, bound: out.Bound, budget: budget}
	best, err := s.search(ctx, all)
	if err != nil {
		return nil, err
	}
	out.Plates = best.number(len(pieces))
	return out, nil
}

func (o Options) check() error {
	p := o.Plate
	for _, v := range []float64{p.Width, p.Depth, p.Height, p.Margin, o.Spacing} {
		if !(math.Abs(v) <= farthest) {
			return errors.New("lay out plates: the plate or the spacing has a size beyond 10 m, or none")
		}
	}
	switch {
	case p.Margin < 0 || o.Spacing < 0:
		return errors.New("lay out plates: the margin or the spacing is below zero")
	case p.Height <= 0 || min(p.Width, p.Depth)-2*p.Margin <= 0:
		return errors.New("lay out plates: nothing is left of the plate within its margin")
	case p.Round && p.Width != p.Depth:
		return errors.New("lay out plates: a round plate has one diameter")
	}
	return nil
}

// number turns a plan into plates: the fullest first, the pieces of a plate in
// the order given and from the lower left, and copies counted in that order.
func (p plan) number(pieces int) [][]Placed {
	order := make([]int, len(p.sheets))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return compare(p.sheets[b].fill, p.sheets[a].fill) })
	next := make([]int, pieces)
	var out [][]Placed
	for _, k := range order {
		var plate []Placed
		for _, l := range p.sheets[k].laid {
			plate = append(plate, Placed{Piece: l.shape, TurnDeg: l.deg, X: l.x, Y: l.y})
		}
		slices.SortStableFunc(plate, func(a, b Placed) int {
			if a.Piece != b.Piece {
				return a.Piece - b.Piece
			}
			if a.Y != b.Y {
				return compare(a.Y, b.Y)
			}
			return compare(a.X, b.X)
		})
		for i := range plate {
			plate[i].Copy = next[plate[i].Piece]
			next[plate[i].Piece]++
		}
		out = append(out, plate)
	}
	return out
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}
