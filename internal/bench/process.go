package bench

import (
	"fmt"
	"slices"
	"strings"

	"cardback/internal/fields"
)

// Process is a way of printing: a row of a table, known by its pointer. One id is one
// row, and a row does not change. The nil process is none, or any, as the field says.
//
// Each field is a fact or a word; defaults/processes.yaml says what they mean and
// has the shipped rows. A designer's bench/processes.yaml adds rows.
type Process struct {
	ID       string // as materials, plates, cuts and print settings name it
	Name     string // inside a sentence
	Measured Measure
	Cures    bool // the liquid loses volume as it turns solid
	Infill   bool // insides are lines with gaps
	Film     bool // each layer is pulled off a film
	Supports Support
	Brittle  bool // snap joints break in its rigid stocks

	Layer, LayerMost float64 // the usual height of a layer and the most, mm
	LayerBound       string  // what bounds it, after "thicker than"

	Pace Pace
	// The time that is reckoned may be from PaceFrom to PaceTo times as much, for PaceWhy.
	PaceFrom, PaceTo   float64
	PaceWhy, LayerWork string

	Waste string // what is used up beside the parts

	// Left is what stays in a hollow that is closed all round, and empty where nothing
	// does; LeftHarm what that does later, Outlet what lets it out. LeftHarms says
	// that it harms people. Cup is what to do where a hollow that opens towards the plate
	// catches it; empty where none does. Cavity is what is wrong with a cavity.
	Left, LeftHarm, Outlet, Cup, Cavity string
	LeftHarms                           bool

	Softens      string // a sentence: what is known of its stocks in heat
	Points, Dust string // the stock whose points are sharpest, and whose dust is worst
	Warning      string // the caution of its downloads
	Cautions     []ProcessCaution
}

// ProcessCaution is a caution that a process brings to each release that it prints.
type ProcessCaution struct {
	ID, About, Text string
	Brief           string     // for the step of the assembly where it matters; may be empty
	Steps           [][]string // a step where it matters has a word of each list
}

// Measure is what the stock of a process is measured by.
type Measure string

const (
	ByMass   Measure = "mass"   // sold by the kilogram
	ByLength Measure = "length" // a strand, sold by the kilogram
	ByVolume Measure = "volume" // a liquid, sold by the litre; liquids can be blended
)

// Support says what becomes of what begins in mid-air.
type Support string

const (
	SupportUsual  Support = "usual"  // it hangs down, or is supported
	SupportNeeded Support = "needed" // it is lost without a support
	SupportNone   Support = "none"   // the stock around the part carries it
)

// Pace is how a print's time comes about.
type Pace string

const (
	PaceUnknown Pace = ""
	ByLayer     Pace = "layer" // each layer takes as long, whatever is on it
	ByFlow      Pace = "flow"  // so much is laid in a second
)

// String is the process's name inside a sentence.
func (p *Process) String() string {
	if p == nil {
		return ""
	}
	return p.Name
}

// MarshalText is the process's id: how JSON names it.
func (p *Process) MarshalText() ([]byte, error) {
	if p == nil {
		return nil, nil
	}
	return []byte(p.ID), nil
}

// Blends reports whether stocks can be stirred together: liquids can.
func (p *Process) Blends() bool { return p.Measured == ByVolume }

// paced reports whether times come about in that way.
func (p *Process) paced(by Pace) bool { return p != nil && p.Pace == by }

// namesOf names the processes of which something is true, for a message.
func namesOf(list []*Process, is func(*Process) bool) string {
	var names []string
	for _, p := range list {
		if is(p) {
			names = append(names, p.Name)
		}
	}
	return strings.Join(names, " or ")
}

// Processes lists the rows: the shipped ones, then the designer's, in file order.
func (b Bench) Processes() []*Process { return ProcessesWith(b.Added) }

// InUse lists the processes of which there is a plate or a material; all on a bench
// without any.
func (b Bench) InUse() []*Process {
	if len(b.Plates)+len(b.Materials) == 0 {
		return b.Processes()
	}
	return slices.DeleteFunc(b.Processes(), func(p *Process) bool {
		return !slices.ContainsFunc(b.Plates, func(q Plate) bool { return q.Process == p }) &&
			!slices.ContainsFunc(b.Materials, func(m Material) bool { return m.Process == p })
	})
}

// ProcessesWith lists the rows of a bench that adds these.
func ProcessesWith(added []*Process) []*Process { return slices.Concat(shippedProcesses, added) }

// Process finds a row by its id; nil where there is none.
func (b Bench) Process(id string) *Process { return ProcessOf(b.Processes(), id) }

// ProcessOf finds one of the processes by its id; nil where it is not among them.
func ProcessOf(list []*Process, id string) *Process {
	for _, p := range list {
		if p.ID == id {
			return p
		}
	}
	return nil
}

// ProcessIDs lists the ids of processes.
func ProcessIDs(list []*Process) []string {
	ids := make([]string, len(list))
	for i, p := range list {
		ids[i] = p.ID
	}
	return ids
}

// shippedProcesses are the rows that come with the program.
var shippedProcesses = func() []*Process {
	const name = "defaults/processes.yaml"
	data, err := defaults.ReadFile(name)
	if err != nil {
		panic(fmt.Sprintf("bench: %v", err)) // it is embedded
	}
	doc := fields.Parse(name, data)
	var rows []*Process
	for _, m := range doc.Map().Tables("processes", fields.Required) {
		p, _ := process(m.Text("id", fields.Required), m, nil, fields.Required)
		rows = append(rows, p)
	}
	if err := doc.Finish().Err(); err != nil {
		panic(fmt.Sprintf("bench: the shipped processes cannot be read: %v", err)) // a test reads them
	}
	return rows
}()

// The shipped rows.
var (
	Filament = shippedProcesses[0]
	Resin    = shippedProcesses[1]
)

// reservedCuts are the names of meshes that no process may take: see package release.
var reservedCuts = []string{"any", "flexible", "pose"}

// added reads a row of the designer's own.
func added(id string, m *fields.Map, p *Process, need fields.Need) (*Process, bool) {
	if slices.ContainsFunc(shippedProcesses, func(s *Process) bool { return s.ID == id }) {
		m.Errorf("id", "process %q comes with the program and stays as it is; give yours an id of its own", id)
	}
	if slices.Contains(reservedCuts, id) {
		m.Errorf("id", "process %q has the name of a kind of mesh; give it another id", id)
	}
	p, ok := process(id, m, p, need)
	return p, ok && m.OK("id")
}

// Bounds of a layer in mm and of how far a time may be off: beyond them is a slip.
const (
	leastPrinted, mostPrinted = 0.005, 10
	leastPace, mostPace       = 0.01, 100
)

// process reads a row.
func process(id string, m *fields.Map, _ *Process, _ fields.Need) (*Process, bool) {
	name := strings.ReplaceAll(id, "-", " ")
	p := &Process{
		ID: id, Name: name, Measured: ByMass, Supports: SupportUsual,
		Layer: 0.1, LayerMost: 1, LayerBound: "printers of the process lay",
		Waste: "what is not part of the print", Outlet: "a hole to let it out",
		Softens: fmt.Sprintf("Of some stocks for %s it is not stated from what heat they soften.", name),
		Warning: generalCaution,
	}
	text := func(field string, v *string) { set(m, field, v, m.Text, fields.Optional) }
	text("name", &p.Name)
	set(m, "measured", &p.Measured, oneOf(m, ByMass, ByLength, ByVolume), fields.Optional)
	set(m, "cures", &p.Cures, m.Bool, fields.Optional)
	set(m, "infill", &p.Infill, m.Bool, fields.Optional)
	set(m, "film", &p.Film, m.Bool, fields.Optional)
	set(m, "supports", &p.Supports, oneOf(m, SupportUsual, SupportNeeded, SupportNone), fields.Optional)
	set(m, "brittle", &p.Brittle, m.Bool, fields.Optional)
	set(m, "layer", &p.Layer, within(m, leastPrinted, mostPrinted), fields.Optional)
	set(m, "layer_most", &p.LayerMost, within(m, leastPrinted, mostPrinted), fields.Optional)
	text("layer_bound", &p.LayerBound)
	set(m, "pace", &p.Pace, oneOf(m, ByLayer, ByFlow), fields.Optional)
	set(m, "pace_from", &p.PaceFrom, within(m, leastPace, 1), fields.Optional)
	set(m, "pace_to", &p.PaceTo, within(m, 1, mostPace), fields.Optional)
	text("pace_why", &p.PaceWhy)
	text("layer_work", &p.LayerWork)
	text("waste", &p.Waste)
	text("left", &p.Left)
	text("left_harm", &p.LeftHarm)
	set(m, "left_harms", &p.LeftHarms, m.Bool, fields.Optional)
	text("outlet", &p.Outlet)
	text("cup", &p.Cup)
	if p.Left != "" {
		p.Cavity = "it stays full of " + p.Left
	}
	text("cavity", &p.Cavity)
	text("softens", &p.Softens)
	text("points", &p.Points)
	text("dust", &p.Dust)
	text("warning", &p.Warning)
	for _, t := range m.Tables("cautions", fields.Optional) {
		c := ProcessCaution{ID: t.Text("id", fields.Required), About: t.Text("about", fields.Required), Text: t.Text("text", fields.Required), Brief: t.Text("brief", fields.Optional)}
		for _, line := range t.Texts("steps", fields.Optional) {
			c.Steps = append(c.Steps, strings.Fields(strings.ToLower(line.Text)))
		}
		p.Cautions = append(p.Cautions, c)
	}
	if len(p.Cautions) == 0 { // silence is no safety
		p.Cautions = []ProcessCaution{{ID: id, About: "Printing in " + p.Name, Text: generalCaution}}
	}
	p.check(m)
	return p, id != ""
}

// generalCaution is true of any process.
const generalCaution = "Printing machines and fresh prints can burn and cut, and unprinted stock, its dust and its fumes can harm. Read the safety data sheet of the material and the instructions of the machine before you print, air the room, and keep children away."

// check holds the facts of a row to each other.
func (p *Process) check(m *fields.Map) {
	if p.Cures && p.Measured != ByVolume {
		m.Errorf("cures", "%s is measured by %s, and only a liquid cures; expected measured: volume", p.Name, p.Measured)
		p.Cures = false
	}
	if p.Infill && p.Measured != ByLength {
		m.Errorf("infill", "%s is measured by %s, and only a strand is laid in lines; expected measured: length", p.Name, p.Measured)
		p.Infill = false
	}
	if p.LayerMost < p.Layer {
		m.Errorf("layer_most", "the thickest layer, %g mm, is thinner than the usual one, %g mm", p.LayerMost, p.Layer)
		p.LayerMost = p.Layer
	}
	ranged := p.PaceFrom > 0 && p.PaceTo > 0 && p.PaceWhy != ""
	if p.Pace != PaceUnknown && !ranged {
		m.Errorf("pace", "%s has a pace and not how far it may be off; expected pace_from, pace_to and pace_why too", p.Name)
		p.Pace = PaceUnknown
	}
	if p.LeftHarms && p.Left == "" {
		m.Errorf("left_harms", "nothing is said to stay in a hollow; expected left too")
		p.LeftHarms = false
	}
}
