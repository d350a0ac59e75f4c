package site

import (
	"slices"

	"cardback/internal/release"
	"cardback/internal/verdict/reprint"
	"cardback/internal/verdict/standing"
	"cardback/internal/words"
)

// sealedJSON is what release.json says of revisions and of prints.
type sealedJSON struct {
	Revisions  []revisionJSON  `json:"revisions"` // oldest first
	Unsealed   bool            `json:"unsealed"`  // the files differ from the last revision
	Reprint    []adviceJSON    `json:"reprint"`   // for each revision, oldest first
	TestPrints []testPrintJSON `json:"test_prints"`
}

type revisionJSON struct {
	Name     string       `json:"name"`
	Date     string       `json:"date"`
	Note     string       `json:"note,omitempty"`
	Faults   string       `json:"sealed_with_faults,omitempty"`
	Page     string       `json:"page"`
	Parts    []sealedPart `json:"parts"`
	Hardware []sealedItem `json:"hardware"`
}

type sealedItem struct {
	ID    string  `json:"id"`
	Name  string  `json:"name"`
	Count int     `json:"count"`
	Cut   float64 `json:"cut_mm,omitempty"`
}

type sealedPart struct {
	Slug     string      `json:"slug"`
	Name     string      `json:"name"`
	Quantity int         `json:"quantity"`
	Mirrored int         `json:"mirrored"`
	Choice   string      `json:"choice,omitempty"`
	Replaces string      `json:"replaces,omitempty"`
	Cuts     []sealedCut `json:"cuts"`
}

type sealedCut struct {
	Kind        string     `json:"kind"`
	Fingerprint string     `json:"fingerprint"`
	Triangles   int        `json:"triangles"`
	Size        [3]float64 `json:"size_mm"`
	Volume      float64    `json:"volume_mm3"`
	Area        float64    `json:"area_mm2"`
}

type adviceJSON struct {
	From      string               `json:"from"`
	Nothing   bool                 `json:"nothing"`                // to print, buy or cut
	Tolerance float64              `json:"tolerance_mm,omitempty"` // the printing tolerance, where meshes were compared
	Summary   string               `json:"summary"`
	Parts     []partAdviceJSON     `json:"parts"`
	Hardware  []hardwareAdviceJSON `json:"hardware"`
}

type partAdviceJSON struct {
	Slug    string  `json:"slug"`
	Name    string  `json:"name"`
	WasName string  `json:"was_name,omitempty"`
	Process string  `json:"process"`
	Only    string  `json:"only,omitempty"`
	Action  string  `json:"action"`
	Pieces  int     `json:"pieces,omitempty"`
	Change  string  `json:"change,omitempty"`
	AtMost  float64 `json:"at_most_mm,omitempty"`
	Text    string  `json:"text"`
}

type hardwareAdviceJSON struct {
	Action string      `json:"action"`
	Was    *sealedItem `json:"was,omitempty"`
	Is     *sealedItem `json:"is,omitempty"`
	Text   string      `json:"text"`
}

type testPrintJSON struct {
	Date     string      `json:"date"`
	Whole    bool        `json:"whole"`
	Parts    []string    `json:"parts,omitempty"`
	Meshes   []meshJSON  `json:"meshes"`
	Stock    []shareJSON `json:"stock"`
	Plate    string      `json:"plate,omitempty"`
	Layer    float64     `json:"layer_mm,omitempty"`
	Tilt     *float64    `json:"tilt_deg,omitempty"`
	About    string      `json:"about,omitempty"`
	Supports string      `json:"supports,omitempty"`
	Outcome  string      `json:"outcome"`
	Remark   string      `json:"remark,omitempty"`
	Photo    string      `json:"photo,omitempty"` // path
	Page     string      `json:"page"`
}

type meshJSON struct {
	Part        string `json:"part"`
	Cut         string `json:"cut"`
	Fingerprint string `json:"fingerprint"`
}

type shareJSON struct {
	Material string  `json:"material"`
	Share    float64 `json:"share"`
}

// groundJSON is one ground of a standing: see standing.Ground.
type groundJSON struct {
	Standing string   `json:"standing"`
	Code     string   `json:"code"`
	Parts    []string `json:"parts"`
	Kind     string   `json:"kind"`
	Target   string   `json:"target,omitempty"`
	Text     string   `json:"text"`
	Accepted string   `json:"accepted,omitempty"` // why the designer accepts it
}

type partStandingJSON struct {
	Slug     string       `json:"slug"`
	Standing string       `json:"standing"`
	Reason   string       `json:"reason"`
	Grounds  []groundJSON `json:"grounds"`
}

func groundsData(grounds []standing.Ground) []groundJSON {
	out := []groundJSON{}
	for _, g := range grounds {
		out = append(out, groundJSON{string(g.Standing), g.Code, append([]string{}, g.Parts...), string(g.Kind), g.Target, g.Text, g.Accepted})
	}
	return out
}

func materialData(c standing.Cell) materialJSON {
	j := materialJSON{ID: c.Material, Standing: string(c.Standing), Reason: c.Reason, Grounds: groundsData(c.Grounds), Parts: []partStandingJSON{}}
	for _, p := range c.Parts {
		j.Parts = append(j.Parts, partStandingJSON{p.Part, string(p.Standing), p.Reason, groundsData(p.Grounds)})
	}
	return j
}

func (b *builder) sealedData(r release.Release, prints TestPrints) sealedJSON {
	out := sealedJSON{Revisions: []revisionJSON{}, Reprint: []adviceJSON{}, TestPrints: []testPrintJSON{}}
	for _, v := range r.Revisions {
		out.Revisions = append(out.Revisions, revisionData(r, v))
	}
	c := b.in.Of(r.Number).Changes
	out.Unsealed = c.Unsealed()
	for _, a := range c.Now {
		out.Reprint = append(out.Reprint, adviceData(a))
	}
	for _, p := range r.Log {
		j := testPrintJSON{
			Date: words.Date(p.Date), Whole: p.Whole, Parts: p.Parts, Meshes: []meshJSON{}, Stock: []shareJSON{}, Plate: p.Plate,
			Layer: p.Layer, Supports: p.Supports, Outcome: string(p.Outcome), Remark: p.Remark, Page: releasePath(r) + "#" + printID(p),
		}
		if p.TiltAbout != "" {
			j.Tilt, j.About = &p.Tilt, p.TiltAbout
		}
		for _, m := range p.Meshes {
			j.Meshes = append(j.Meshes, meshJSON{m.Part, string(m.Cut), m.Fingerprint})
		}
		for _, s := range p.Stock {
			j.Stock = append(j.Stock, shareJSON{s.Material.ID, s.Share})
		}
		for _, row := range slices.Concat(prints.Rows, prints.Older) {
			if row.ID == printID(p) && row.Photo != nil {
				j.Photo = row.Photo.Href
			}
		}
		out.TestPrints = append(out.TestPrints, j)
	}
	return out
}

func revisionData(r release.Release, v release.Revision) revisionJSON {
	j := revisionJSON{
		Name: v.Name, Date: words.Date(v.Date), Note: v.Note, Faults: v.Faults, Page: releasePath(r) + "#" + revisionID(v.Name),
		Parts: []sealedPart{}, Hardware: []sealedItem{},
	}
	for _, p := range v.Parts {
		q := sealedPart{Slug: p.Slug, Name: p.Name, Quantity: p.Quantity, Mirrored: p.Mirrored(), Choice: p.Choice, Replaces: p.Replaces, Cuts: []sealedCut{}}
		for _, c := range p.Cuts {
			q.Cuts = append(q.Cuts, sealedCut{string(c.Kind), c.Fingerprint, c.Triangles, c.Size, c.Volume, c.Area})
		}
		j.Parts = append(j.Parts, q)
	}
	for _, h := range v.Hardware {
		j.Hardware = append(j.Hardware, sealedHardware(h))
	}
	return j
}

func sealedHardware(h release.SealedHardware) sealedItem {
	return sealedItem{ID: h.Item, Name: h.Name, Count: h.Count, Cut: h.Cut}
}

func adviceData(a reprint.Advice) adviceJSON {
	j := adviceJSON{From: a.From, Nothing: a.Nothing(), Tolerance: a.Tolerance, Summary: a.Summary, Parts: []partAdviceJSON{}, Hardware: []hardwareAdviceJSON{}}
	for _, p := range a.Parts {
		j.Parts = append(j.Parts, partAdviceJSON{
			Slug: p.Part, Name: p.Name, WasName: p.WasName, Process: p.Process.ID, Only: string(p.Only),
			Action: string(p.Action), Pieces: p.Pieces, Change: string(p.Kind), AtMost: p.AtMost, Text: p.Sentence,
		})
	}
	for _, h := range a.Hardware {
		k := hardwareAdviceJSON{Action: string(h.Action), Text: h.Sentence}
		if h.Was.Item != "" {
			was := sealedHardware(h.Was)
			k.Was = &was
		}
		if h.Is.Item != "" {
			is := sealedHardware(h.Is)
			k.Is = &is
		}
		j.Hardware = append(j.Hardware, k)
	}
	return j
}
