// Package hardware sums what a release takes of bought items, and says how rods, wire and
// cord are cut from the fewest lengths that are sold.
package hardware

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/cutstock"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/words"
)

// Bought is what a release takes of one item.
type Bought struct {
	Item  bench.Hardware
	Count int // pieces: rods cut, magnets, drops of adhesive are one
	// Pieces are of cuttable items, longest first, those without a stated length
	// last; of others there is one entry.
	Pieces []Piece
	Length float64 // mm in all pieces whose length is stated
	// Taken is how many the parts say that they take, all copies counted, and of
	// each choice the most demanding. A rod that joins two parts is counted at both,
	// so it is mostly more than Count.
	Taken int
	// FromParts says that the release's own list does not have the item: Count is
	// then Taken, which is the most that can be needed.
	FromParts bool
}

// Piece is a number of pieces of one length. Cut is mm, zero where the notes
// state none. Where a part's notes name no place, the part is the place.
type Piece struct {
	Cut   float64
	Count int
	Where []string
}

// Of sums what r takes of each bought item: by its own list, which is for the
// whole release, and where that is silent by what its parts take. Items are in the
// list's order, then in the parts'.
func Of(r release.Release) []Bought {
	var out []Bought
	at := func(item bench.Hardware) *Bought {
		i := slices.IndexFunc(out, func(b Bought) bool { return b.Item.ID == item.ID })
		if i < 0 {
			out = append(out, Bought{Item: item})
			i = len(out) - 1
		}
		return &out[i]
	}
	for _, u := range r.Hardware {
		at(u.Item).add(u, u.Count)
	}
	listed := len(out)
	for _, d := range demands(r) {
		b := at(d.item)
		b.Taken = d.count()
		if i := slices.IndexFunc(out, func(o Bought) bool { return o.Item.ID == d.item.ID }); i >= listed {
			out[i].FromParts = true
			for _, u := range d.uses {
				out[i].add(u, u.Count)
			}
		}
	}
	for i := range out {
		slices.SortStableFunc(out[i].Pieces, func(a, b Piece) int { return cmp.Compare(b.Cut, a.Cut) })
	}
	return out
}

func (b *Bought) add(u release.HardwareUse, count int) {
	b.Count += count
	b.Length += float64(float64(count) * u.Cut)
	i := slices.IndexFunc(b.Pieces, func(p Piece) bool { return p.Cut == u.Cut })
	if i < 0 {
		b.Pieces = append(b.Pieces, Piece{Cut: u.Cut})
		i = len(b.Pieces) - 1
	}
	p := &b.Pieces[i]
	p.Count += count
	if u.Where != "" && !slices.Contains(p.Where, u.Where) {
		p.Where = append(p.Where, u.Where)
	}
}

// demand is what the parts of a release take of one item, copies counted.
type demand struct {
	item bench.Hardware
	uses []release.HardwareUse
}

func (d demand) count() int {
	n := 0
	for _, u := range d.uses {
		n += u.Count
	}
	return n
}

func (d demand) length() float64 {
	l := 0.0
	for _, u := range d.uses {
		l += float64(float64(u.Count) * u.Cut)
	}
	return l
}

// demands sums what the parts take, item by item, in the order in which they come:
// of each choice, and of a whole and its pieces, the way that takes most of the
// item; of the processes the one that does.
func demands(r release.Release) []demand {
	var items []bench.Hardware
	for _, p := range r.Parts {
		for _, u := range p.Takes {
			if !slices.ContainsFunc(items, func(h bench.Hardware) bool { return h.ID == u.Item.ID }) {
				items = append(items, u.Item)
			}
		}
	}
	var out []demand
	for _, item := range items {
		most := demand{item: item}
		for _, proc := range r.Processes() {
			if d := demandFor(r, item, proc); more(d, most) {
				most = d
			}
		}
		out = append(out, most)
	}
	return out
}

func demandFor(r release.Release, item bench.Hardware, proc *bench.Process) demand {
	sum := demand{item: item}
	for _, sl := range printing.Of(r, proc).Slots {
		most := demand{item: item}
		for _, w := range sl.Ways {
			way := demand{item: item}
			for _, p := range w.Parts {
				for _, u := range p.Takes {
					if u.Item.ID == item.ID {
						u.Count *= p.Printed()
						if u.Where == "" {
							u.Where = p.Name
						}
						way.uses = append(way.uses, u)
					}
				}
			}
			if more(way, most) {
				most = way
			}
		}
		sum.uses = append(sum.uses, most.uses...)
	}
	return sum
}

// more says which demand is the greater: by pieces, then by length.
func more(a, b demand) bool {
	return cmp.Or(cmp.Compare(a.count(), b.count()), cmp.Compare(a.length(), b.length())) > 0
}

// CutList is how the pieces of one item are cut from what is sold.
type CutList struct {
	Item   bench.Hardware
	Pieces []Piece // those with a stated length, longest first
	Plan   *cutstock.Plan
	// Loose is how many pieces have no stated length and so are not in the plan.
	Loose    int
	Sentence string
}

// CutLists says for each rod, wire and cord among the items how to cut it from the
// fewest bars. Items without a stock length on the bench, or without a piece of a
// stated length, have no list.
func CutLists(ctx context.Context, items []Bought) ([]CutList, error) {
	var out []CutList
	for _, b := range items {
		if !b.Item.Kind.Cuttable() || b.Item.StockLength <= 0 || b.Length <= 0 {
			continue
		}
		c := CutList{Item: b.Item}
		var pieces []cutstock.Piece
		for _, p := range b.Pieces {
			if p.Cut <= 0 {
				c.Loose += p.Count
				continue
			}
			c.Pieces = append(c.Pieces, p)
			pieces = append(pieces, cutstock.Piece{Length: p.Cut, Count: p.Count})
		}
		var err error
		c.Plan, err = cutstock.Solve(ctx, pieces, cutstock.Stock{Length: b.Item.StockLength, Kerf: min(b.Item.Kerf, b.Item.StockLength)}, 0)
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			c.Sentence = fmt.Sprintf("No cut list: %s.", err) // lengths no workshop has
			c.Plan = &cutstock.Plan{}
		} else {
			c.Sentence = c.sentence()
		}
		out = append(out, c)
	}
	return out, nil
}

// sentence tells how many lengths to buy, and what is known about fewer.
func (c *CutList) sentence() string {
	if c.Plan.Count == 0 {
		return fmt.Sprintf("No piece is as short as the %s that are sold.", words.Length(c.Item.StockLength))
	}
	s := fmt.Sprintf("Buy %d %s of %s", c.Plan.Count, words.Noun(c.Plan.Count, "length", "lengths"), words.Length(c.Item.StockLength))
	if c.Item.Kerf > 0 {
		s += fmt.Sprintf("; each cut takes %s mm", words.Plain(c.Item.Kerf))
	}
	switch {
	case c.Plan.Optimal() && c.Plan.Count > 1:
		s += ". Fewer will not do."
	case c.Plan.Optimal():
		s += "."
	default:
		s += fmt.Sprintf(". The best found; at least %d %s needed.", c.Plan.Least, words.Noun(c.Plan.Least, "is", "are"))
	}
	for _, p := range c.Plan.TooLong {
		s += fmt.Sprintf(" A piece of %s mm is longer than what is sold.", words.Plain(p.Length))
	}
	return s
}
