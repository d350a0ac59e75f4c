package needs

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/survey"
	"cardback/internal/survey/plates"
	"cardback/internal/words"
)

// Need is what some prints take of a stock: a material, or a blend of liquids.
// Volumes are mm³.
type Need struct {
	Process *bench.Process
	Plate   bench.Plate     // the printer class it is for; without an id where none was asked
	Stock   []release.Share // as asked
	Pieces  int
	Solid   float64 // of the parts, filled throughout
	// Put is what becomes part of the prints: liquid that turns to Solid, or a strand
	// with the usual filling. Waste is what is used up beside them, and Used
	// is both.
	Put, Waste, Used float64
	Vat              float64 // liquid that must be left in the vat at the end; not used up
	Grams            float64 // of the finished prints, cured and as filled
	// Length in mm is of the strand used, and UsedGrams of the strand or powder, waste
	// included; zero for what is measured otherwise.
	Length, UsedGrams float64
	Shares            []Share // of Used, in the order of Stock
	// Cost is of Used, in Currency, which is empty where a price is not stated.
	Cost     float64
	Currency string
	// Layers is of the tallest piece: where each layer takes as long, all pieces of a
	// plate are printed at once. Seconds is by the plate's LayerSeconds or Flow, and SecondsLeast and
	// SecondsMost are how far it may be off; zero where not stated.
	Layers                             int
	Seconds, SecondsLeast, SecondsMost float64
	Assumed                            []string // in words: everything that is not measured
	Left                               []string // names of parts that are not in it: no cut for it, unreadable, or without an inside
}

// Tenths is Used in tenths of a millilitre, rounded up: a hundredth of a µl over a
// tenth is rounding.
func (n *Need) Tenths() int { return int(min(math.Ceil(n.Used/100-1e-7), math.MaxInt32)) }

// Share is one stock's share of what is used.
type Share struct {
	release.Share
	Volume float64 // mm³; those of a need add up to its Used
	// Tenths of a millilitre of a liquid to measure out: whole numbers that add up to what
	// Used comes to in tenths, rounded up, exactly.
	Tenths int
	Cost   float64
}

// pieceOf is one part that is counted.
type pieceOf struct {
	name   string
	report *measure.Report
	count  int
	layers int
	layer  float64 // height of one, mm
	measure.Filling
	stated bool // the infill, by the release
}

// partNeed is what copies of p take, in the cut that is printed in the stock. ok is
// false where there is no such cut or it cannot be read.
func partNeed(site *release.Site, r release.Release, p release.Part, copies int, s survey.Survey, stock []release.Share, plate bench.Plate) (n Need, ok bool) {
	b := newNeed(site, &r, stock, plate)
	if len(b.stock) == 0 || !b.add(printing.PartOf(r, p, b.need.Process), copies, s) {
		return Need{}, false
	}
	return b.finish(), len(b.pieces) > 0
}

// releaseNeed is what a full print of r takes, as the designer drew it: wholes
// rather than their pieces, of each choice the first, twins included. A stock that
// bends counts the parts that are made to bend, any other stock the rest. Layers and
// seconds are of the tallest piece where each layer takes as long, as if all stood on one plate.
func releaseNeed(site *release.Site, r release.Release, s survey.Survey, stock []release.Share, plate bench.Plate) Need {
	b := newNeed(site, &r, stock, plate)
	if len(b.stock) == 0 {
		return Need{}
	}
	choice, whole := false, false
	for _, sl := range printing.Of(r, b.need.Process).Slots {
		p := sl.Drawn()
		whole = whole || len(sl.Pieces(p.Slug)) > 0
		choice = choice || sl.Choice != "" && len(sl.Ways) > 1
		if p.InStock(b.class) && !b.add(p, p.Printed(), s) {
			b.need.Left = append(b.need.Left, p.Name)
		}
	}
	if choice {
		b.assume("The first part of each choice is counted.")
	}
	if whole {
		b.assume("Wholes are counted, not the pieces that may replace them.")
	}
	if b.need.Process.Pace == bench.ByLayer && b.most() > 0 {
		b.assume(onePlate)
	}
	return b.finish()
}

// onePlate is what a need by layers takes for granted until its plates are laid.
const onePlate = "Time is of one plate with everything on it; each further plate takes its own tallest part's layers again."

// onPlates is n with the layers and the seconds of the plates that it is laid on, one
// after another, in place of those of a single plate. each is of plateNeeds.
func (n Need) onPlates(each []Need) Need {
	var times [3]float64
	plates, layers := 0, 0
	for _, e := range each {
		if e.Pieces == 0 {
			continue
		}
		plates++
		layers += e.Layers
		for i, t := range [3]float64{e.Seconds, e.SecondsLeast, e.SecondsMost} {
			times[i] += t
		}
	}
	if plates == 0 {
		return n
	}
	n.Seconds, n.SecondsLeast, n.SecondsMost = times[0], times[1], times[2]
	if n.Process.Pace == bench.ByLayer {
		n.Layers = layers
	}
	n.Assumed = slices.Clone(n.Assumed)
	if i := slices.Index(n.Assumed, onePlate); i >= 0 {
		n.Assumed[i] = fmt.Sprintf("Layers and time are of %s, one after another.", words.Count(plates, "laid plate", "laid plates"))
		if plates == 1 {
			n.Assumed[i] = "Layers and time are of the plate as it is laid."
		}
	} else if n.Process.Pace == bench.ByFlow && n.Seconds > 0 {
		n.Assumed = append(n.Assumed, fmt.Sprintf("Time is of %s, one after another.", words.Count(plates, "laid plate", "laid plates")))
	}
	return n
}

// partNeeds is what one copy of each part takes, in chart order; nil for those that a full
// print in the stock does not count, or that cannot be read.
func partNeeds(site *release.Site, r release.Release, s survey.Survey, stock []release.Share, plate bench.Plate) []*Need {
	out := make([]*Need, len(r.Parts))
	b := newNeed(site, &r, stock, plate)
	for i, p := range printing.Of(r, b.need.Process).Parts {
		if len(b.stock) == 0 || !p.InStock(b.class) {
			continue
		}
		if n, ok := partNeed(site, r, p.Part, 1, s, stock, plate); ok {
			out[i] = &n
		}
	}
	return out
}

// releaseNeeds is what a full print takes of each stock that it may be printed in by
// the plate's process: of the blend that the release's settings state, where they
// state one, and of each material of the bench. Stocks that nothing is printed in are
// left out.
func releaseNeeds(site *release.Site, r release.Release, s survey.Survey, plate bench.Plate) []Need {
	var stocks [][]release.Share
	if blend := printing.Settings(r, plate.Process).Shares; len(release.Present(blend)) > 1 {
		stocks = append(stocks, blend)
	}
	for _, m := range site.Bench.Materials {
		if m.Process == plate.Process {
			stocks = append(stocks, []release.Share{{Material: m, Share: 1}})
		}
	}
	var out []Need
	for _, stock := range stocks {
		if n := releaseNeed(site, r, s, stock, plate); n.Pieces > 0 {
			out = append(out, n)
		}
	}
	return out
}

// plateNeeds is what each plate of a set takes, and all of them together: volumes,
// costs and seconds add up. Parts that bend are left out of a stock that does not,
// and the other way about. layer is the height of one in mm.
func plateNeeds(site *release.Site, set *plates.Set, s survey.Survey, stock []release.Share, layer float64) (each []Need, all Need) {
	r := releaseOf(site, set.Release)
	total := newNeed(site, r, stock, set.Plate)
	if set.Layout == nil || len(total.stock) == 0 || !(layer > 0) {
		return nil, Need{}
	}
	var times [3]float64
	for _, placed := range set.Layout.Plates {
		b := newNeed(site, r, stock, set.Plate)
		for _, at := range placed {
			piece := set.Pieces[at.Piece]
			if !piece.InStock(b.class) {
				continue
			}
			b.addCut(piece.Part.Part, piece.Name(), piece.Cut, 1, s, layersOf(piece.Height, layer), layer)
			total.addCut(piece.Part.Part, piece.Name(), piece.Cut, 1, s, layersOf(piece.Height, layer), layer)
		}
		n := b.finish()
		for i, t := range [3]float64{n.Seconds, n.SecondsLeast, n.SecondsMost} {
			times[i] += t
		}
		each = append(each, n)
	}
	all = total.finish()
	all.Seconds, all.SecondsLeast, all.SecondsMost = times[0], times[1], times[2]
	if len(each) > 1 && all.Vat > 0 {
		all.Assumed = append(all.Assumed, "What is left in the vat serves the next plate, so it is counted once.")
	}
	return each, all
}

// Process is what a full print of a release takes by one process, on its design
// standard.
type Process struct {
	Process *bench.Process
	Plate   bench.Plate // without an id where the process has no design standard
	Stocks  []Stock     // that it may be printed in
}

// Stock is what a full print takes of one stock, and what of it parts and plates take.
// Where the print is laid on plates, its layers and its time are those of the plates.
type Stock struct {
	Need
	Parts    []*Need // one copy of each part: see partNeeds
	Plates   []Need  // each laid plate; none where nothing is laid
	Together Need    // the laid plates
}

// Of is what a full print of r takes, by every process that prints anything of it. laid are the sets in
// which the release is laid.
func Of(site *release.Site, r release.Release, s survey.Survey, laid []*plates.Set) []Process {
	var out []Process
	for _, proc := range site.Bench.Processes() {
		n := Process{Process: proc, Plate: bench.Plate{Process: proc}}
		for _, p := range site.Bench.Plates {
			if p.Process == proc && p.Standard {
				n.Plate = p
			}
		}
		var set *plates.Set
		for _, l := range laid {
			if l.Process == proc && l.Layout != nil && len(l.Layout.Plates) > 0 {
				set = l
			}
		}
		for _, need := range releaseNeeds(site, r, s, n.Plate) {
			of := Stock{Need: need, Parts: partNeeds(site, r, s, need.Stock, n.Plate)}
			if set != nil {
				of.Plates, of.Together = plateNeeds(site, set, s, need.Stock, layerOf(set, s))
				of.Need = need.onPlates(of.Plates)
			}
			n.Stocks = append(n.Stocks, of)
		}
		if len(n.Stocks) > 0 {
			out = append(out, n)
		}
	}
	return out
}

// OfParts is what one set of some parts takes of a stock on a plate, as Of counts them.
func OfParts(site *release.Site, r release.Release, parts []string, s survey.Survey, stock []release.Share, plate bench.Plate) Need {
	n := newNeed(site, &r, stock, plate)
	for _, p := range printing.Of(r, n.need.Process).Parts {
		if slices.Contains(parts, p.Slug) {
			n.add(p, p.Printed(), s)
		}
	}
	if n.need.Process.Pace == bench.ByLayer && n.most() > 0 {
		n.assume(onePlate)
	}
	return n.finish()
}

// layerOf is the height of a layer, in mm, in which a set's pieces are printed; zero where
// none of them was sliced.
func layerOf(set *plates.Set, s survey.Survey) float64 {
	for _, p := range set.Pieces {
		if cs, ok := s.Measured(p.Cut); ok && cs.Layers[set.Process] != nil {
			return cs.Layers[set.Process].Layer
		}
	}
	return 0
}

// layersOf is how many layers a height comes to: ceil(h/l − 0.001). Plain ceil
// counts one too many where the quotient is whole but for rounding (check values 5).
func layersOf(height, layer float64) int {
	if !(layer > 0) || !(height > 0) {
		return 0
	}
	return int(min(math.Ceil(height/layer-0.001), math.MaxInt32))
}

// needing is a Need in the making.
type needing struct {
	need   Need
	stock  []release.Share
	class  bench.Stiffness // of the stock
	money  string
	pieces []pieceOf
	r      *release.Release // whose settings hold; nil where there is none
}

func newNeed(site *release.Site, r *release.Release, stock []release.Share, plate bench.Plate) *needing {
	b := &needing{stock: release.Present(stock), money: site.Bench.Currency, r: r}
	b.need.Stock, b.need.Plate = stock, plate
	if len(b.stock) > 0 {
		b.need.Process = b.stock[0].Material.Process
		b.class = release.Stiffness(b.stock)
	}
	return b
}

func (b *needing) assume(text string, args ...any) {
	if t := fmt.Sprintf(text, args...); !slices.Contains(b.need.Assumed, t) {
		b.need.Assumed = append(b.need.Assumed, t)
	}
}

// add counts copies of a part in the cut that the stock takes; false where there is
// none.
func (b *needing) add(p printing.Part, copies int, s survey.Survey) bool {
	cut, ok := p.CutIn(b.class)
	if !ok {
		return false
	}
	layers, layer := 0, 0.0
	if cs, ok := s.Measured(cut); ok {
		if l := cs.Layers[b.need.Process]; l != nil {
			layers, layer = l.Count, l.Layer
		}
	}
	b.addCut(p.Part, p.Name, cut, copies, s, layers, layer)
	return true
}

func (b *needing) addCut(p release.Part, name string, cut release.Cut, copies int, s survey.Survey, layers int, layer float64) {
	cs, ok := s.Measured(cut)
	if !ok || !cs.Report.Solid() || cs.Report.Volume <= 0 {
		if !slices.Contains(b.need.Left, name) {
			b.need.Left = append(b.need.Left, name)
		}
		return
	}
	fill, stated := fillingOf(b.r, p, b.need.Process)
	b.pieces = append(b.pieces, pieceOf{name, cs.Report, copies, layers, layer, fill, stated})
}

// most is the layers of the tallest piece.
func (b *needing) most() int {
	n := 0
	for _, p := range b.pieces {
		n = max(n, p.layers)
	}
	return n
}

// finish reckons what the pieces take.
func (b *needing) finish() Need {
	n := &b.need
	about := 0.0
	for _, p := range b.pieces {
		n.Pieces += p.count
		n.Solid += float64(float64(p.count) * p.report.Volume)
		filled, _ := p.Extruded(p.report.Volume, p.report.Area)
		about += float64(float64(p.count) * filled)
	}
	n.Layers = b.most()
	if n.Pieces == 0 {
		return *n
	}
	switch n.Process.Measured {
	case bench.ByVolume:
		b.liquid()
	case bench.ByLength:
		b.solid(about)
		n.Length = measure.FilamentLength(n.Used, measure.FilamentDiameter)
	default:
		b.solid(about)
	}
	b.share()
	b.time()
	return *n
}

// liquid: shares are of volume, as they are poured. A millilitre of liquid leaves
// 1 − shrinkage of solid, so that Put·Σ share·(1 − shrinkage) = Solid.
func (b *needing) liquid() {
	n := &b.need
	yield, density, waste := 0.0, 0.0, 0.0
	for _, s := range b.stock {
		shrinkage := s.Material.Shrinkage
		if !n.Process.Cures {
			shrinkage = 0
		} else if shrinkage == 0 {
			shrinkage = measure.VatShrinkage
			b.assume("%s is taken to lose %s %% of its volume as it cures, since its own is not stated.", s.Material.Name, shrinkageText(shrinkage))
		} else {
			b.assume("%s loses %s %% of its volume as it cures.", s.Material.Name, shrinkageText(shrinkage))
		}
		solid := float64(s.Share * (1 - shrinkage))
		yield += solid
		density += float64(solid * s.Material.Density)
		waste += float64(s.Share * s.Material.Waste)
	}
	n.Put = n.Solid / yield
	n.Grams = measure.Grams(n.Put, density)
	b.waste(waste)
	if n.Vat = n.Plate.VatLeast * 1000; n.Vat > 0 {
		b.assume("%s ml more must be in the vat for the last layer to print; they are left at the end and not in the cost.", words.Plain(n.Plate.VatLeast))
	}
	if len(b.stock) > 1 {
		b.assume("Shares of the blend are of volume.")
	}
}

// shrinkageText is a share in per cent, to a tenth: sources give no more, and differ by
// whole per cents.
func shrinkageText(share float64) string { return words.Rounded(share*100, 1) }

// solid is of a stock that keeps its volume: filled with lines and gaps, which comes to
// about so many mm³, or throughout.
func (b *needing) solid(about float64) {
	n := &b.need
	if n.Put = n.Solid; n.Process.Infill {
		n.Put = about
	}
	density, waste := 0.0, 0.0
	for _, s := range b.stock {
		density += float64(s.Share * s.Material.Density)
		waste += float64(s.Share * s.Material.Waste)
	}
	if n.Process.Infill {
		b.filled()
	} else {
		b.assume("Parts are solid throughout.")
	}
	n.Grams = measure.Grams(n.Put, density)
	b.waste(waste)
	n.UsedGrams = measure.Grams(n.Used, density)
}

func (b *needing) waste(share float64) {
	n := &b.need
	n.Waste = float64(n.Put * share)
	n.Used = n.Put + n.Waste
	if share > 0 {
		b.assume("%s %% more is used up: %s.", words.Plain(share*100), n.Process.Waste)
	} else {
		b.assume("Nothing is added for %s, since the bench states no share.", n.Process.Waste)
	}
}

// share divides what is used, and prices it: liquids by the litre, all else by the
// kilogram.
func (b *needing) share() {
	n := &b.need
	left, priced := n.Used, b.money != ""
	shares := make([]float64, len(b.stock))
	for i, s := range b.stock {
		v := float64(n.Used * s.Share)
		if i == len(b.stock)-1 {
			v = left // what the others leave, so that all add up
		}
		left -= v
		shares[i] = s.Share
		d := Share{Share: s, Volume: v}
		if n.Process.Measured == bench.ByVolume {
			d.Cost = float64(v*s.Material.Price) / 1e6
		} else {
			d.Cost = float64(measure.Grams(v, s.Material.Density)*s.Material.Price) / 1000
		}
		priced = priced && s.Material.Price > 0
		n.Shares = append(n.Shares, d)
	}
	if n.Process.Measured == bench.ByVolume {
		for i, t := range apportion(n.Tenths(), shares) {
			n.Shares[i].Tenths = t
		}
	}
	if !priced {
		for i := range n.Shares {
			n.Shares[i].Cost = 0
		}
		return
	}
	n.Currency = b.money
	for _, d := range n.Shares {
		n.Cost += d.Cost
	}
	b.assume("Cost is of what is used, at the bench's prices.")
}

// apportion divides a whole number into whole shares that add up to it, by the
// method of largest remainders (Hamilton): each share is rounded down, and what is
// left goes to those that lost the most, the first of equal ones. Shares that are
// not finite or not above zero get nothing; with none above zero all are zero.
func apportion(total int, shares []float64) []int {
	out := make([]int, len(shares))
	sum := 0.0
	for _, s := range shares {
		if s > 0 && !math.IsInf(s, 0) {
			sum += s
		}
	}
	if sum <= 0 || total <= 0 || math.IsInf(sum, 0) {
		return out
	}
	type rest struct {
		at   int
		lost float64
	}
	var order []rest
	left := total
	for i, s := range shares {
		if !(s > 0) || math.IsInf(s, 0) {
			continue
		}
		due := float64(float64(total)*s) / sum
		out[i] = int(math.Floor(due))
		left -= out[i]
		order = append(order, rest{i, due - float64(out[i])})
	}
	slices.SortStableFunc(order, func(a, b rest) int { return cmp.Compare(b.lost, a.lost) })
	for k := 0; left > 0; k = (k + 1) % len(order) {
		out[order[k].at]++
		left--
	}
	for k := len(order) - 1; left < 0; k = (k + len(order) - 1) % len(order) { // by rounding, if ever
		if i := order[k].at; out[i] > 0 {
			out[i]--
			left++
		}
	}
	return out
}
