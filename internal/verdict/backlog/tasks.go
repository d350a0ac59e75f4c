// Package backlog lists what is left to do about a site that was judged, least effort
// first, and how far its releases have come. It is the designer's own: pages and commands
// ask it only where he does.
package backlog

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/measure"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/verdict"
	"cardback/internal/verdict/needs"
	"cardback/internal/verdict/standing"
	"cardback/internal/words"
)

// TaskKind is what is to be done about a part or a release.
type TaskKind string

const (
	TaskSeal     TaskKind = "seal"         // freeze what the working files are
	TaskPrint    TaskKind = "print"        // print parts once in a material, and log it
	TaskMend     TaskKind = "mend"         // a fault of a mesh, or of the notes
	TaskCut      TaskKind = "make a cut"   // a mesh for a process that has none
	TaskRedesign TaskKind = "redesign"     // a mesh that a print cannot settle
	TaskFailed   TaskKind = "failed print" // what came of a print, of one part or several
	TaskPlates   TaskKind = "other plates" // what the design standard does not ask for
	TaskStays    TaskKind = "stays"        // known and meant: nothing to do
)

// Effort is how much a task takes, in classes from least to most. The order, and
// the hours that part one evening's print from a longer one, are our own ranking:
// judged, no source. Within a class what the release itself rests on comes first, then
// what is known of the hours of printing counts, then the number of parts, then the
// release.
type Effort int

const (
	OneCommand   Effort = iota + 1 // a command in the terminal
	ShortPrint                     // a print of at most shortPrint
	MendOne                        // one mesh, in a program for meshes; one line of the notes
	LongPrint                      // a longer print, or one whose time is not stated
	NewCut                         // a new mesh of parts whose shape is known
	NewShape                       // a part is thought over again
	OnlyIfWanted                   // beyond what every release is meant to do
	Nothing                        // a limit that stays
)

// Efforts lists them from least to most.
var Efforts = []Effort{OneCommand, ShortPrint, MendOne, LongPrint, NewCut, NewShape, OnlyIfWanted, Nothing}

// shortPrint is what fits in an evening, in seconds.
const shortPrint = 4 * 3600

// String is the class in words.
func (e Effort) String() string {
	switch e {
	case OneCommand:
		return "one command"
	case ShortPrint:
		return "a short print"
	case MendOne:
		return "mend one file"
	case LongPrint:
		return "a longer print"
	case NewCut:
		return "a new cut"
	case NewShape:
		return "a redesign"
	case OnlyIfWanted:
		return "only if wanted"
	case Nothing:
		return "nothing to do"
	}
	return "not ranked"
}

// Rule says what the class is, in a sentence.
func (e Effort) Rule() string {
	switch e {
	case OneCommand:
		return "About a minute in the terminal."
	case ShortPrint:
		return "One print of at most 4 hours by what the bench states of the plate, if all of it stands on one, looked at and logged."
	case MendOne:
		return "A fault of one mesh or of the notes, whose shape and sense stay as they are."
	case LongPrint:
		return "One print of more than 4 hours, or of a time that the bench does not state."
	case NewCut:
		return "A mesh for another process, of a shape that is known already."
	case NewShape:
		return "One part thought over again, then printed."
	case OnlyIfWanted:
		return "Beyond the design standard: nothing is promised there."
	case Nothing:
		return "A limit that is known and meant. It is listed so that no word of the table is left out."
	}
	return ""
}

// Task is one thing to do, which may settle several cells of the material table.
type Task struct {
	Release int // number
	Kind    TaskKind
	Effort  Effort
	What    string          // to do, in a few words
	Parts   []string        // slugs, in chart order; none for the release as a whole
	Cut     release.CutKind // the mesh to make or to change; empty where there is none
	// Processes and Materials are those that it is done in, in bench order.
	Processes []*bench.Process
	Materials []string // ids
	// Missing is what is missing and Settles what would settle it: sentences. Command
	// is what to type for it; mostly empty.
	Missing          []string
	Settles, Command string
	// Needed says that the release's own standing rests on it, rather than that of a
	// choice or of pieces which it may do without. It is true of what is about no cell
	// and of limits that stay.
	Needed bool
	// Need is what a print takes of the material; nil for other kinds.
	Need *needs.Need
	// Cells are those that are not proven and that it bears on, by material and part.
	// What bends is printed in one material and counts for the release in others.
	Cells []CellRef
}

// CellRef names a cell of the material table: a release's, or with Part one part's.
type CellRef struct {
	Part     string // slug; empty for the release
	Material string
	Standing standing.Standing
}

// Of lists what is left to do, least effort first, then by release. Every cell that is not
// proven, of a release or of a part, is in at least one task; one that is proven is in none.
func Of(in *verdict.Judged) []Task {
	var out []Task
	for _, r := range in.Site.Releases {
		b := backlog{in: in, r: r, judged: in.Of(r.Number), known: map[taskKey]*Task{}}
		for k := range b.judged.Cells {
			b.cells = append(b.cells, &b.judged.Cells[k])
		}
		for _, do := range []func(){b.faults, b.works, b.cutsMissing, b.otherPlates, b.prints, b.seal, b.releaseCells, b.whatIsLeft} {
			do()
		}
		for _, t := range b.tasks {
			out = append(out, b.tidied(*t))
		}
	}
	slices.SortStableFunc(out, func(a, b Task) int {
		return cmp.Or(cmp.Compare(a.Effort, b.Effort), a.beside()-b.beside(), cmp.Compare(a.hours(), b.hours()), cmp.Compare(len(a.Parts), len(b.Parts)), cmp.Compare(a.Release, b.Release))
	})
	return out
}

// beside is 1 for what the release does without, else 0.
func (t Task) beside() int {
	if t.Needed {
		return 0
	}
	return 1
}

// hours orders prints of one class: those of unknown length come last.
func (t Task) hours() float64 {
	switch {
	case t.Need == nil:
		return 0
	case t.Need.Seconds > 0:
		return t.Need.Seconds / 3600
	}
	return 1e9
}

// mostNamed is how many parts a sentence names; beyond that it counts them.
const mostNamed = 3

// backlog gathers the tasks of one release. They keep the order in which they were
// found, which the sort leaves for equal ones.
type backlog struct {
	in     *verdict.Judged
	r      release.Release
	judged *verdict.Release
	cells  []*standing.Cell // of the release, in bench order
	tasks  []*Task
	known  map[taskKey]*Task
}

// taskKey is what makes a task one: without a part it gathers several.
type taskKey struct {
	kind TaskKind
	part string
	cut  release.CutKind
	proc *bench.Process
	line string // of the print log
}

// task finds the one of that key, or begins it.
func (b *backlog) task(key taskKey, effort Effort) *Task {
	if t := b.known[key]; t != nil {
		return t
	}
	t := &Task{Release: b.r.Number, Kind: key.kind, Cut: key.cut, Effort: effort}
	t.add(key.part)
	b.process(t, key.proc)
	b.known[key] = t
	b.tasks = append(b.tasks, t)
	return t
}

func (b *backlog) material(id string) bench.Material {
	i := slices.IndexFunc(b.in.Site.Bench.Materials, func(m bench.Material) bool { return m.ID == id })
	if i < 0 {
		return bench.Material{ID: id, Name: id}
	}
	m := b.in.Site.Bench.Materials[i]
	if m.Name == "" {
		m.Name = id
	}
	return m
}

func (b *backlog) part(slug string) release.Part {
	i := slices.IndexFunc(b.r.Parts, func(p release.Part) bool { return p.Slug == slug })
	if i < 0 {
		return release.Part{Slug: slug, Name: slug}
	}
	return b.r.Parts[i]
}

// about adds a part's cell to what a task is about.
func (b *backlog) about(t *Task, pc standing.PartCell, m bench.Material) {
	t.add(pc.Part)
	if !slices.Contains(t.Materials, m.ID) {
		t.Materials = append(t.Materials, m.ID)
	}
	b.process(t, m.Process)
	t.cell(CellRef{pc.Part, m.ID, pc.Standing})
}

func (b *backlog) process(t *Task, proc *bench.Process) {
	if proc != nil && !slices.Contains(t.Processes, proc) {
		t.Processes = append(t.Processes, proc)
	}
}

func (t *Task) add(part string) {
	if part != "" && !slices.Contains(t.Parts, part) {
		t.Parts = append(t.Parts, part)
	}
}

func (t *Task) cell(c CellRef) {
	if c.Standing != standing.Proven && !slices.Contains(t.Cells, c) {
		t.Cells = append(t.Cells, c)
	}
}

func (t *Task) say(text string) {
	if text != "" && !slices.Contains(t.Missing, text) {
		t.Missing = append(t.Missing, text)
	}
}

// holds reports whether the task is about that part's cell.
func (t *Task) holds(part, material string) bool {
	return slices.ContainsFunc(t.Cells, func(c CellRef) bool { return c.Part == part && c.Material == material })
}

// tidied puts parts in chart order, and processes, materials and cells in bench
// order.
func (b *backlog) tidied(t Task) Task {
	onBench := func(id string) int {
		return slices.IndexFunc(b.in.Site.Bench.Materials, func(m bench.Material) bool { return m.ID == id })
	}
	b.inChartOrder(t.Parts)
	slices.SortStableFunc(t.Materials, func(x, y string) int { return cmp.Compare(onBench(x), onBench(y)) })
	known := b.in.Site.Bench.Processes()
	slices.SortStableFunc(t.Processes, func(x, y *bench.Process) int {
		return cmp.Compare(slices.Index(known, x), slices.Index(known, y))
	})
	slices.SortStableFunc(t.Cells, func(x, y CellRef) int {
		return cmp.Or(cmp.Compare(onBench(x.Material), onBench(y.Material)), cmp.Compare(b.chart(x.Part), b.chart(y.Part)))
	})
	if len(t.Cells) == 0 || t.Kind == TaskStays {
		t.Needed = true
	}
	t.What = b.what(t)
	return t
}

// what puts a task in a few words.
func (b *backlog) what(t Task) string {
	names := b.named(t.Parts)
	if len(t.Parts) == len(b.r.Parts) && len(t.Parts) > mostNamed {
		names = "every part"
	}
	mesh := names
	if t.Cut != "" {
		mesh = fmt.Sprintf("the %s cut of %s", t.Cut, names)
	}
	switch t.Kind {
	case TaskSeal:
		return "Seal a revision"
	case TaskPrint:
		return fmt.Sprintf("Print %s in %s", names, bench.Named([]bench.Material{b.material(t.Materials[0])}))
	case TaskMend:
		if len(t.Parts) == 0 {
			return "Correct the notes"
		}
		return "Mend " + mesh
	case TaskCut:
		return "Make " + mesh
	case TaskFailed:
		return fmt.Sprintf("Find why the print of %s failed", names)
	case TaskPlates:
		return fmt.Sprintf("Other plates of %s", t.Processes[0])
	case TaskStays:
		return "Limits that stay"
	}
	if len(t.Parts) == 0 {
		return "Redesign"
	}
	return "Redesign " + mesh
}

// named names parts, or counts them.
func (b *backlog) named(slugs []string) string {
	if len(slugs) > mostNamed {
		return fmt.Sprintf("%d parts", len(slugs))
	}
	var names []string
	for _, s := range slugs {
		names = append(names, b.part(s).Name)
	}
	if n := len(names); n > 1 && slices.ContainsFunc(names, func(s string) bool { return strings.Contains(s, ", ") }) {
		return strings.Join(names[:n-1], "; ") + "; and " + names[n-1]
	}
	return words.List(names)
}

// chart is a part's place on the chart, −1 for none.
func (b *backlog) chart(slug string) int {
	return slices.IndexFunc(b.r.Parts, func(p release.Part) bool { return p.Slug == slug })
}

func (b *backlog) inChartOrder(slugs []string) {
	slices.SortStableFunc(slugs, func(x, y string) int { return cmp.Compare(b.chart(x), b.chart(y)) })
}

// releaseCells puts each of the release's own cells that are not proven to the tasks
// about the parts that it rests on; to a limit that stays only where nothing else
// would settle it.
func (b *backlog) releaseCells() {
	for _, c := range b.cells {
		if c.Standing == standing.Proven {
			continue
		}
		var does, stays []*Task
		for _, g := range c.Grounds {
			if g.Standing == standing.Proven {
				continue
			}
			in := c.Material
			// Where every part bends, no print makes a rigid material one to print it in.
			if g.Code == standing.GroundAside && g.Target != "" && c.Standing != standing.NotOffered {
				in = g.Target
			}
			for _, part := range g.Parts {
				for _, t := range b.tasks {
					// What bends and has no mesh for it is missed in every material.
					missed := g.Standing == standing.NotOffered && (t.Kind == TaskCut || t.Kind == TaskMend) && slices.Contains(t.Parts, part)
					switch {
					case !missed && !t.holds(part, in):
					case t.Kind == TaskStays:
						stays = append(stays, t)
					default:
						does = append(does, t)
					}
				}
			}
		}
		if len(does) == 0 {
			does = stays
		}
		for _, t := range does {
			t.cell(CellRef{"", c.Material, c.Standing})
			t.Needed = true
		}
	}
}

// whatIsLeft is for cells whose grounds say nothing of what to do: a release without
// parts, or one for which a reason was given and no more.
func (b *backlog) whatIsLeft() {
	left := func(part, material string, s standing.Standing, reason string) {
		if s == standing.Proven || slices.ContainsFunc(b.tasks, func(t *Task) bool { return t.holds(part, material) }) {
			return
		}
		kind, effort, settles := TaskRedesign, NewShape, "See the reason in the material table."
		switch {
		case len(b.r.Parts) == 0:
			settles = "Draw the first part."
		case !slices.ContainsFunc(b.r.Parts, func(p release.Part) bool { return !printing.Bends(p) }):
			kind, effort, settles = TaskStays, Nothing, "Nothing to do: it is printed in flexible materials."
		}
		t := b.task(taskKey{kind: kind, part: part}, effort)
		t.say(reason)
		if t.Settles == "" {
			t.Settles = settles
		}
		m := b.material(material)
		b.about(t, standing.PartCell{Part: part, Standing: s}, m)
		t.Needed = t.Needed || part == ""
	}
	for _, c := range b.cells {
		for _, pc := range c.Parts {
			left(pc.Part, c.Material, pc.Standing, pc.Reason)
		}
		left("", c.Material, c.Standing, c.Reason)
	}
}

// faults makes a task of each file with a fault.
func (b *backlog) faults() {
	for _, f := range b.judged.Findings {
		if f.Release != b.r.Number || f.Level != measure.Fault {
			continue
		}
		t := b.task(taskKey{kind: TaskMend, part: f.Part, cut: f.Cut}, MendOne)
		t.say(f.Text)
		switch {
		case f.Part == "":
			t.Settles = "Correct the notes, or the files that they name."
		case t.Settles == "":
			t.Settles = mendIt
		}
	}
}

const mendIt = "Mend the mesh; what it becomes is then printed."
