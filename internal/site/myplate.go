package site

import (
	"encoding/json"
	"strings"

	"cardback/internal/fit/frontier"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/verdict"
)

// MyPlate is what the page's script needs to answer for any plate. It stands in
// the page as JSON, since a page read from a folder can fetch nothing.
type MyPlate struct {
	Processes []MyProcess `json:"processes"`
}

// MyProcess is a release as one process prints it. The slots and the parts are
// those that verdict.Judge goes by.
type MyProcess struct {
	Name   string   `json:"name"`
	Label  string   `json:"-"`
	Within string   `json:"within"` // the tolerance, in a sentence
	Parts  []MyPart `json:"parts"`
	Slots  []MySlot `json:"slots"`
}

// MyPart is one part. Without a frontier, None says why there is none.
type MyPart struct {
	Number   int             `json:"number"`
	Name     string          `json:"name"`
	Offered  bool            `json:"offered"`
	Declared bool            `json:"declared"` // an orientation is recommended
	Tilted   bool            `json:"tilted"`   // and it is not the file's
	None     string          `json:"none,omitempty"`
	Frontier json.RawMessage `json:"frontier,omitempty"` // of the part as recommended
}

// MySlot is a slot, its parts by their index in Parts.
type MySlot struct {
	Name string  `json:"name"`
	Ways []MyWay `json:"ways"`
}

// MyWay is one way to fill a slot.
type MyWay struct {
	Parts []int `json:"parts"`
	Split bool  `json:"split"`
}

func (b *builder) myPlate(r release.Release) *MyPlate {
	out := &MyPlate{}
	for _, on := range b.in.Of(r.Number).Prints {
		plan, proc := on.Plan, on.Plan.Process
		p := MyProcess{Name: proc.ID, Label: processName(proc), Parts: []MyPart{}, Slots: []MySlot{}}
		var coarse []string
		for i, part := range plan.Parts {
			m, f := b.myPart(part, on.Parts[i])
			if f != nil && f.Within > 1 {
				coarse = append(coarse, part.Name+" "+trimmed(f.Within, 1)+thin+"mm")
			}
			p.Parts = append(p.Parts, m)
		}
		for _, s := range plan.Slots {
			slot := MySlot{Name: s.Name}
			for _, w := range s.Ways {
				way := MyWay{Split: w.Split}
				for _, q := range w.Parts {
					way.Parts = append(way.Parts, q.Number-1)
				}
				slot.Ways = append(slot.Ways, way)
			}
			p.Slots = append(p.Slots, slot)
		}
		p.Within = "What fits here fits. A plate on which a part has 1" + thin + "mm to spare is never missed"
		if len(coarse) > 0 {
			p.Within += " (" + strings.Join(coarse, "; ") + ")"
		}
		p.Within += ", so “does not fit” means by less than that at best."
		out.Processes = append(out.Processes, p)
	}
	return out
}

// myPart is a part in its process, as pf says it is printed, and its frontier where it
// has one.
func (b *builder) myPart(part printing.Part, pf verdict.PartFit) (MyPart, *frontier.Frontier) {
	m := MyPart{Number: part.Number, Name: part.Name, Offered: pf.Offered, None: pf.Text, Declared: part.Declared(), Tilted: part.Pose.Tilt != 0}
	cs, ok := b.in.Survey.Measured(pf.Cut)
	if !ok || pf.Text != "" {
		return m, nil
	}
	f := cs.Frontiers[part.Process]
	if f == nil {
		m.None = "not known: its mesh has no size that a plate could take"
		return m, nil
	}
	m.Frontier = f.Text()
	return m, f
}
