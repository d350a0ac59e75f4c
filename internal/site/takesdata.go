package site

import (
	"cardback/internal/bench"
	"cardback/internal/release"
	"cardback/internal/verdict/hardware"
	"cardback/internal/verdict/needs"
)

// takesJSON is the part of a release's data that says what it takes, what is dangerous in
// it, whether it stands, and whether its licence may stand on what it adapts.
type takesJSON struct {
	Needs      []needJSON    `json:"needs"`
	CutLists   []cutListJSON `json:"cut_lists"`
	Scaled     []scaledJSON  `json:"rods_at_scale"`
	SmallParts smallJSON     `json:"small_parts"`
	Stands     *stanceJSON   `json:"stands,omitempty"`
	Cautions   []cautionJSON `json:"cautions"`
	Credits    []creditJSON  `json:"credits"`
}

// amountJSON is how much of a stock something takes: see needs.Need.
type amountJSON struct {
	Pieces       int     `json:"pieces"`
	Used         float64 `json:"used_ml"`
	Waste        float64 `json:"waste_ml"`
	Length       float64 `json:"filament_m,omitempty"`
	Spool        float64 `json:"spool_g,omitempty"` // of a strand
	Stock        float64 `json:"stock_g,omitempty"` // of what is measured by mass
	Grams        float64 `json:"print_g"`
	Cost         float64 `json:"cost,omitempty"`
	Layers       int     `json:"layers,omitempty"`
	Seconds      float64 `json:"seconds,omitempty"`
	SecondsLeast float64 `json:"seconds_least,omitempty"`
	SecondsMost  float64 `json:"seconds_most,omitempty"`
}

type needJSON struct {
	Process string           `json:"process"`
	Plate   string           `json:"plate,omitempty"`
	Stock   []stockShareJSON `json:"stock"`
	Solid   float64          `json:"solid_ml"`
	amountJSON
	Vat      float64        `json:"vat_ml,omitempty"`
	Currency string         `json:"currency,omitempty"`
	Assumed  []string       `json:"assumed"`
	Left     []string       `json:"left_out,omitempty"`
	Parts    []partNeedJSON `json:"parts"`
	Plates   []amountJSON   `json:"plates,omitempty"`
}

type stockShareJSON struct {
	Material string  `json:"material"`
	Share    float64 `json:"share"`
	Used     float64 `json:"used_ml"`
	Measure  float64 `json:"measure_out_ml,omitempty"` // resin, in whole tenths
	Cost     float64 `json:"cost,omitempty"`
}

type partNeedJSON struct {
	Slug string `json:"slug"`
	amountJSON
}

type cutListJSON struct {
	ID      string      `json:"id"`
	Stock   float64     `json:"stock_mm"`
	Kerf    float64     `json:"kerf_mm"`
	Bars    int         `json:"bars"`
	AtLeast int         `json:"at_least"` // proved
	Cuts    []barJSON   `json:"cuts"`
	TooLong []pieceJSON `json:"too_long,omitempty"`
	Loose   int         `json:"without_length,omitempty"`
	Answer  string      `json:"answer"`
}

type barJSON struct {
	Times  int         `json:"times"`
	Pieces []pieceJSON `json:"pieces"`
	Offcut float64     `json:"offcut_mm"`
}

type pieceJSON struct {
	Length float64 `json:"length_mm"`
	Count  int     `json:"count"`
}

type scaledJSON struct {
	ID        string         `json:"id"`
	Materials []string       `json:"materials"`
	At        []rodScaleJSON `json:"at"`
}

type rodScaleJSON struct {
	Scale float64 `json:"scale"`
	Hole  float64 `json:"hole_mm"`
	Rod   string  `json:"rod,omitempty"`
	Tight string  `json:"tight_rod,omitempty"`
	Drill float64 `json:"drill_mm,omitempty"`
}

type smallJSON struct {
	Parts     []smallPartJSON `json:"parts"`
	Undecided []smallPartJSON `json:"undecided"`
	Hardware  []smallItemJSON `json:"hardware"`
}

type smallPartJSON struct {
	Slug  string `json:"slug"`
	Cut   string `json:"cut"`
	Loose bool   `json:"loose_piece,omitempty"`
	// How the part lies in the gauge: rows of the rotation, then what is added.
	Rotation *[3][3]float64 `json:"rotation,omitempty"`
	Offset   *[3]float64    `json:"offset_mm,omitempty"`
}

type smallItemJSON struct {
	ID    string `json:"id"`
	Count int    `json:"count"`
}

type stanceJSON struct {
	Known  bool    `json:"known"`
	Stands bool    `json:"stands"`
	Tip    float64 `json:"tip_deg"`
	Toward string  `json:"toward,omitempty"`
	Answer string  `json:"answer"`
	Ground string  `json:"ground"`
}

type cautionJSON struct {
	Code  string `json:"code"`
	About string `json:"about"`
	Text  string `json:"text"`
	Why   string `json:"why,omitempty"`
	Steps []int  `json:"steps,omitempty"`
}

type creditJSON struct {
	Work     string `json:"work"`
	By       string `json:"by,omitempty"`
	Licence  string `json:"licence"`
	Adapting string `json:"adapting"`
	Why      string `json:"why"`
}

func (b *builder) takesData(r release.Release) takesJSON {
	of := b.in.Of(r.Number)
	d := takesJSON{
		Needs: b.needsData(r), CutLists: []cutListJSON{}, Scaled: []scaledJSON{},
		SmallParts: b.smallData(r), Cautions: []cautionJSON{}, Credits: []creditJSON{},
	}
	for _, l := range of.CutLists {
		d.CutLists = append(d.CutLists, cutListData(l))
	}
	for _, c := range of.Scaled {
		j := scaledJSON{ID: c.Item.ID}
		for _, m := range c.Materials {
			j.Materials = append(j.Materials, m.ID)
		}
		for _, a := range c.At {
			s := rodScaleJSON{Scale: a.Scale, Hole: a.Hole, Drill: a.Drill}
			if a.Free != nil {
				s.Rod = a.Free.ID
			}
			if a.Tight != nil {
				s.Tight = a.Tight.ID
			}
			j.At = append(j.At, s)
		}
		d.Scaled = append(d.Scaled, j)
	}
	if st := of.Stance; st != nil {
		d.Stands = &stanceJSON{st.Known, st.Stands, st.TipDeg, st.Toward, st.Sentence, st.Ground}
	}
	for _, c := range of.Cautions {
		d.Cautions = append(d.Cautions, cautionJSON{string(c.Code), c.About, c.Text, c.Why, c.Steps()})
	}
	for _, c := range of.Credits {
		d.Credits = append(d.Credits, creditJSON{c.Credit.Work, c.Credit.By, c.Credit.Licence, string(c.Adapting), c.Why})
	}
	return d
}

func (b *builder) needsData(r release.Release) []needJSON {
	out := []needJSON{}
	for _, n := range b.in.Of(r.Number).Needs {
		for _, need := range n.Stocks {
			j := needJSON{
				Process: need.Process.ID, Plate: need.Plate.ID, Solid: need.Solid / 1000, amountJSON: amountData(need.Need),
				Vat: need.Vat / 1000, Currency: need.Currency, Assumed: append([]string{}, need.Assumed...), Left: need.Left, Parts: []partNeedJSON{},
			}
			for _, s := range need.Shares {
				sh := stockShareJSON{Material: s.Material.ID, Share: s.Share.Share, Used: s.Volume / 1000, Cost: s.Cost}
				if need.Process.Measured == bench.ByVolume {
					sh.Measure = float64(s.Tenths) / 10
				}
				j.Stock = append(j.Stock, sh)
			}
			for i, p := range need.Parts {
				if p != nil {
					j.Parts = append(j.Parts, partNeedJSON{r.Parts[i].Slug, amountData(*p)})
				}
			}
			for _, plate := range need.Plates {
				j.Plates = append(j.Plates, amountData(plate))
			}
			out = append(out, j)
		}
	}
	return out
}

func amountData(n needs.Need) amountJSON {
	a := amountJSON{
		Pieces: n.Pieces, Used: n.Used / 1000, Waste: n.Waste / 1000, Length: n.Length / 1000, Grams: n.Grams,
		Cost: n.Cost, Layers: n.Layers, Seconds: n.Seconds, SecondsLeast: n.SecondsLeast, SecondsMost: n.SecondsMost,
	}
	if n.Process != nil && n.Process.Measured == bench.ByLength {
		a.Spool = n.UsedGrams
	} else {
		a.Stock = n.UsedGrams
	}
	return a
}

func cutListData(l hardware.CutList) cutListJSON {
	j := cutListJSON{
		ID: l.Item.ID, Stock: l.Item.StockLength, Kerf: l.Item.Kerf, Bars: l.Plan.Count, AtLeast: l.Plan.Least,
		Cuts: []barJSON{}, Loose: l.Loose, Answer: l.Sentence,
	}
	for _, bar := range l.Plan.Bars {
		c := barJSON{Times: bar.Times, Offcut: bar.Offcut}
		for _, p := range bar.Pieces {
			c.Pieces = append(c.Pieces, pieceJSON(p))
		}
		j.Cuts = append(j.Cuts, c)
	}
	for _, p := range l.Plan.TooLong {
		j.TooLong = append(j.TooLong, pieceJSON(p))
	}
	return j
}

func (b *builder) smallData(r release.Release) smallJSON {
	d := smallJSON{Parts: []smallPartJSON{}, Undecided: []smallPartJSON{}, Hardware: []smallItemJSON{}}
	sp := b.in.Of(r.Number).Small
	for _, p := range sp.Fits {
		m := p.Gauged.Rotation
		d.Parts = append(d.Parts, smallPartJSON{
			Slug: p.Part.Slug, Cut: string(p.Cut.Kind), Loose: p.Loose,
			Rotation: &[3][3]float64{{m[0], m[1], m[2]}, {m[3], m[4], m[5]}, {m[6], m[7], m[8]}}, Offset: extents(p.Gauged.Offset),
		})
	}
	for _, p := range sp.Undecided {
		d.Undecided = append(d.Undecided, smallPartJSON{Slug: p.Part.Slug, Cut: string(p.Cut.Kind), Loose: p.Loose})
	}
	for _, h := range sp.Hardware {
		d.Hardware = append(d.Hardware, smallItemJSON{h.Item.ID, h.Count})
	}
	return d
}
