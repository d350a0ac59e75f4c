package site

import (
	"html/template"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/fit"
	"cardback/internal/notes"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/verdict"
	"cardback/internal/words"
)

// ReleasePage is the model of one release's page, in the page's order.
type ReleasePage struct {
	Frame
	Number   string
	Summary  string
	Notice   string // what to know before anything else: a draft, a fault that stands
	Draft    bool
	Intro    template.HTML
	Facts    []Fact
	Front    Charts
	Photos   []PhotoView
	Contents []NavItem
	MyPlate  *MyPlate // nil without parts
	Script   string
	Plates   []PlateGroup
	Fits     []FitTable
	Archives []ArchiveRow
	Files    []FileRow
	Laid     []LaidSet
	Chart    Charts
	SVG, PNG string // the parts sheet as files; empty without a readable part
	Parts    []PartRow
	Thin     ThinTable
	Inches   bool
	Takes    // hardware, cut lists, material
	Holes    []HoleRow
	Print    []PrintRow
	Sections []NoteSection
	Safety   // cautions, standing, credits
	Findings []FindingGroup
	Faults   int
	Marked   bool // some are marked on drawings
	Terms    Licence
	Command  string
	Data     string

	// Standings, revisions and the print log.
	Materials     []MaterialRow
	PartStandings []PartStandings
	Since         *Since // nil where nothing was sealed
	TestPrints    TestPrints
}

// Fact is a labelled value.
type Fact struct {
	Label, Value, Machine string // Machine is the value for a time element
}

// PlateGroup is the plates of one process with this release's answers.
type PlateGroup struct {
	Process string
	Rows    []PlateRow
}

// PlateRow is the answer for one plate. Word is the answer in a word or two,
// Class the same for the style sheet.
type PlateRow struct {
	Name, Href, Size   string
	Standard           bool
	Word, Class        string
	Sentence           string
	Turned, TooLarge   string
	ReleaseName, Href2 string // set on a plate's own page
}

// FitTable is part by plate for one process.
type FitTable struct {
	Process string
	Plates  []string
	Rows    []FitRow
}

// FitRow is one part on each plate of a FitTable.
type FitRow struct {
	Number int
	Name   string
	Cells  []string
}

// PrintRow is one process: the designer's settings, and what the layers come to with
// them.
type PrintRow struct {
	Process  string
	Peeled   bool // each layer is pulled off a film, so that large ones matter
	Hung     bool // what hangs over may want a support
	Hollowed bool // hollows matter
	Columns  int  // of a part in layers, after its name
	Facts    []Fact
	Remark   string
	Layers   []LayerRow
	Largest  string // the largest layer of all, in words
	TiltGain string // what the tilt does, in a sentence
}

// NoteSection is a section of the notes.
type NoteSection struct {
	ID, Title string
	Body      template.HTML
}

func (b *builder) releasePage(r release.Release) error {
	p := ReleasePage{
		Frame:   b.frame(releasePath(r), r.Title, r.Summary),
		Number:  strconv.Itoa(r.Number),
		Summary: r.Summary,
		Draft:   r.Draft,
		Facts:   b.facts(r),
		Inches:  b.in.units().inches,
		Parts:   b.partRows(r),
		Terms:   licence(r.Licence),
		Data:    releaseDir(r) + "release.json",
	}
	p.Front = b.frontispiece(r)
	p.Chart = b.charts(r)
	if err := b.pictures(r, &p); err != nil {
		return err
	}
	b.plateAnswers(r, &p)
	if len(r.Parts) > 0 {
		p.MyPlate, p.Script = b.myPlate(r), b.script
	}
	p.Materials, p.PartStandings = b.materialRows(r), b.partStandings(r)
	p.Since = b.since(r)
	p.Thin = b.thinTable(r)
	p.Holes = b.holeRows(r)
	p.Print = b.printRows(r)
	p.Takes = b.takes(r)
	var err error
	if p.Intro, p.Sections, err = b.notes(r, p.Root); err != nil {
		return err
	}
	p.Safety = b.safety(r, p.Frame)
	p.Findings, p.Faults = b.findingGroups(r)
	p.Marked = slices.ContainsFunc(p.Findings, func(g FindingGroup) bool { return g.Figure != "" })
	p.Command = "cardback measure " + releaseContent(r) + "parts/*/*"
	if p.Photos, err = b.photos(r); err != nil {
		return err
	}
	if p.TestPrints, err = b.testPrints(r); err != nil {
		return err
	}
	if err := b.downloads(r, &p); err != nil {
		return err
	}
	if p.Laid, err = b.laidSets(r); err != nil {
		return err
	}
	p.Contents = p.contents()
	if !r.Draft {
		b.record(p.Path, newestOf(r))
	}
	p.Notice = notice(r, p.Faults)
	if err := b.releaseData(r, &p); err != nil {
		return err
	}
	return b.page("release", p.Path, p)
}

// notice is what a visitor is told before anything else.
func notice(r release.Release, faults int) string {
	if r.Draft {
		return "This is a draft. It is not released yet, and what stands here may change."
	}
	if faults > 0 {
		return "Published although " + plural(faults, "fault stands", "faults stand") + ": see Findings."
	}
	return ""
}

// releaseContent is the release's folder inside the content folder, as typed.
func releaseContent(r release.Release) string {
	return "content/" + strings.TrimSuffix(r.SourceFile, "release.md")
}

func (p ReleasePage) contents() []NavItem {
	var out []NavItem
	add := func(when bool, label, id string) {
		if when {
			out = append(out, NavItem{Label: label, Href: "#" + id})
		}
	}
	add(true, "Can I print it?", "print-it")
	add(true, "Downloads", "downloads")
	add(len(p.Laid) > 0, "Laid on plates", "laid")
	add(true, "Parts", "parts")
	add(true, "Hardware", "hardware")
	add(true, "Print settings", "settings")
	add(len(p.Needs) > 0, "Material needed", "material")
	for _, s := range p.Sections {
		add(true, s.Title, s.ID)
	}
	add(true, "Cautions", "cautions")
	add(p.Since != nil, "What changed", "changes")
	add(true, "Test prints", "test-prints")
	add(true, "Findings", "findings")
	add(true, "Credits and licence", "credits")
	return out
}

func (b *builder) facts(r release.Release) []Fact {
	var out []Fact
	if r.Height > 0 {
		out = append(out, Fact{Label: "Height", Value: b.in.units().length(r.Height)})
	} else if tall := b.in.Of(r.Number).Height; tall != nil {
		how := "measured from " + path.Base(tall.From.Rel) + ", as it lies"
		if tall.From.Kind == release.CutPose {
			how = "measured from the standing pose"
		}
		out = append(out, Fact{Label: "Height", Value: b.in.units().length(math.Round(tall.MM*10)/10) + ", " + how})
	}
	if r.Scale != "" {
		out = append(out, Fact{Label: "Scale", Value: r.Scale})
	}
	switch {
	case r.Draft && r.Released.IsZero():
		out = append(out, Fact{"Released", release.NotYet, ""})
	case r.Draft:
		out = append(out, Fact{"To be released", words.Day(r.Released), words.Date(r.Released)})
	case !r.Released.IsZero():
		out = append(out, Fact{"Released", words.Day(r.Released), words.Date(r.Released)})
	}
	if f, ok := b.revisionFact(r); ok {
		out = append(out, f)
	}
	pieces := 0
	for _, p := range r.Parts {
		pieces += p.Printed()
	}
	out = append(out, Fact{Label: "Parts", Value: partsFact(len(r.Parts), pieces)})
	if r.Licence != "" {
		out = append(out, Fact{Label: "Licence", Value: r.Licence})
	}
	return out
}

func partsFact(parts, pieces int) string {
	if parts == pieces {
		return count(parts)
	}
	return count(parts) + ", printed as " + count(pieces) + " pieces"
}

func (b *builder) plateAnswers(r release.Release, p *ReleasePage) {
	for _, proc := range b.in.Site.Bench.Processes() {
		g := PlateGroup{Process: proc.String()}
		t := FitTable{Process: processName(proc)}
		var answers []verdict.PlateAnswer
		for _, a := range b.in.Of(r.Number).Plates {
			if a.Plate.Process == proc {
				answers = append(answers, a)
				g.Rows = append(g.Rows, b.plateRow(r, a))
				t.Plates = append(t.Plates, a.Plate.Name)
			}
		}
		if len(answers) == 0 {
			continue
		}
		for i, part := range r.Parts {
			row := FitRow{Number: i + 1, Name: part.Name}
			for _, a := range answers {
				row.Cells = append(row.Cells, fitText(a, part.Slug))
			}
			t.Rows = append(t.Rows, row)
		}
		p.Plates = append(p.Plates, g)
		if len(t.Rows) > 0 {
			p.Fits = append(p.Fits, t)
		}
	}
}

// fitText is one part on one plate in words, with the scale to print at where
// it does not fit at full size.
func fitText(a verdict.PlateAnswer, slug string) string {
	for _, f := range a.Parts {
		if f.Part != slug {
			continue
		}
		if res := f.Result; !res.Verdict.Fits() && res.LargestScale > 0 {
			return f.Text + ", " + percent(res.LargestScale) + " would"
		}
		return f.Text
	}
	return ""
}

func (b *builder) plateRow(r release.Release, a verdict.PlateAnswer) PlateRow {
	row := PlateRow{
		Name: a.Plate.Name, Href: platePath(a.Plate.ID), Size: b.plateSize(a.Plate),
		Standard: a.Plate.Standard, Sentence: a.Sentence,
	}
	row.Word, row.Class = plateWord(a)
	var turned, large []string
	for _, f := range a.Parts {
		part, _ := partBySlug(r, f.Part)
		switch res := f.Result; {
		case res.Verdict == fit.Turned || res.Verdict == fit.RecommendedTurned:
			turned = append(turned, part.Name+" "+degrees(res.TurnDeg))
		case !res.Verdict.Fits() && res.LargestScale > 0:
			large = append(large, part.Name+" "+percent(res.LargestScale))
		}
	}
	row.Turned, row.TooLarge = strings.Join(turned, "; "), strings.Join(large, "; ")
	return row
}

func plateWord(a verdict.PlateAnswer) (word, class string) {
	offered, known := false, true
	for _, f := range a.Parts {
		offered = offered || f.Offered
		if slices.Contains(a.Blocking, f.Part) && (f.Result.Verdict == "" || f.Result.Verdict == fit.Undecided) {
			known = false
		}
	}
	switch {
	case !offered:
		return "no cut", "none"
	case a.Fits && len(a.Tilted) > 0:
		return "fits, tilted", "split"
	case a.Fits && len(a.UseSplit) > 0:
		return "fits, split", "split"
	case a.Fits:
		return "fits", "yes"
	case !known:
		return "not known", "none"
	case len(a.Blocking) > 0:
		return "does not fit", "no"
	default:
		return "incomplete", "none"
	}
}

func (b *builder) plateSize(p bench.Plate) string {
	if p.Round {
		return "⌀" + thin + trimmed(p.Width, 1) + times + trimmed(p.Height, 1) + thin + "mm"
	}
	return trimmed(p.Width, 1) + times + trimmed(p.Depth, 1) + times + trimmed(p.Height, 1) + thin + "mm"
}

func processName(p *bench.Process) string { return words.Capital(p.String()) }

// printRows are the processes that the designer states settings for, or that
// print anything.
func (b *builder) printRows(r release.Release) []PrintRow {
	var out []PrintRow
	for _, proc := range b.in.Site.Bench.Processes() {
		row := settings(r, proc)
		row.Layers, row.Largest = b.layerRows(r, proc), largestLayer(r, b.in.Survey, proc)
		if proc.Film {
			row.TiltGain = tiltGain(r, b.in.Survey, proc)
		}
		if row.stated() || len(row.Layers) > 0 {
			out = append(out, row)
		}
	}
	return out
}

// LayerWords explains the words of the tables of layers.
func (p ReleasePage) LayerWords() string {
	any := func(is func(PrintRow) bool) bool { return slices.ContainsFunc(p.Print, is) }
	var out []string
	if any(func(p PrintRow) bool { return p.Peeled }) {
		out = append(out, "a jump is the growth from one layer to the next")
	}
	if any(func(p PrintRow) bool { return p.Hung }) {
		out = append(out, "overhang leans out more than 45°", "what begins in mid-air needs a support")
	}
	switch {
	case any(func(p PrintRow) bool { return p.Peeled && p.Hollowed }):
		out = append(out, "a cup is a hollow open towards the plate, a well one open away from it")
	case any(func(p PrintRow) bool { return p.Hollowed }):
		out = append(out, "a trapped hollow is closed all round")
	}
	return strings.Join(out, "; ")
}

// stated reports whether the designer says anything of the process.
func (p PrintRow) stated() bool { return len(p.Facts) > 0 || p.Remark != "" }

func settings(r release.Release, proc *bench.Process) PrintRow {
	row := PrintRow{
		Process: processName(proc), Peeled: proc.Film, Hung: proc.Supports != bench.SupportNone, Hollowed: proc.Film || proc.Left != "", Columns: 3,
	}
	for _, c := range []struct {
		has bool
		n   int
	}{{row.Peeled, 2}, {row.Hung, 2}, {row.Hollowed, 1}} {
		if c.has {
			row.Columns += c.n
		}
	}
	s := printing.Settings(r, proc)
	row.Remark = s.Remark
	add := func(label, value string) {
		if value != "" {
			row.Facts = append(row.Facts, Fact{Label: label, Value: value})
		}
	}
	if s.Layer > 0 {
		add("Layer", plain(s.Layer))
	}
	if s.Tilt != 0 {
		add("Tilt", degrees(s.Tilt))
	}
	add("Supports", s.Supports)
	add("Infill", s.Infill)
	if s.Walls > 0 {
		add("Walls", plural(s.Walls, "line", "lines"))
	}
	add("Blend", s.Blend)
	return row
}

// notes renders the release's notes. Text before the first heading introduces
// the release; sections keep their order.
func (b *builder) notes(r release.Release, root string) (intro template.HTML, sections []NoteSection, err error) {
	page := notes.Page{Root: root, Top: 3, Cautions: b.in.Of(r.Number).AtSteps}
	for _, s := range r.Notes.Sections() {
		body, err := s.Render(page)
		if err != nil {
			return "", nil, err
		}
		if s.Title == "" {
			intro = body
			continue
		}
		sections = append(sections, NoteSection{ID: s.Anchor, Title: s.Title, Body: body})
	}
	return intro, sections, nil
}

// fixed is a coordinate in a drawing: thousandths of a millimetre are finer
// than any screen or printer.
func fixed(v float64) string {
	return words.Rounded(v, 3)
}
