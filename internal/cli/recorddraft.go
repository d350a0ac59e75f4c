package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"cardback/internal/bench"
	"cardback/internal/fields"
	"cardback/internal/printing"
	"cardback/internal/release"
	"cardback/internal/words"
)

// printDraft is an entry in the making.
type printDraft struct {
	site    *release.Site
	release *release.Release
	today   time.Time
	print   release.Print
	cuts    []printedCut
	chosen  [][]string // with whole: of each slot with several ways, the one taken
}

// printedCut is a mesh that was on the plate.
type printedCut struct {
	part string
	cut  release.Cut
}

func (d *printDraft) process() *bench.Process {
	if len(d.print.Stock) == 0 {
		return nil
	}
	return d.print.Stock[0].Material.Process
}

// fill answers every question from the flags, or by asking. Later questions
// depend on earlier answers, so that they are put one by one. Where nobody can be
// asked, all that is missing is told together.
func (d *printDraft) fill(ctx context.Context, o *recordOptions, ask *asker) error {
	for _, pair := range [][2]string{{"material", "blend"}, {"parts", "whole"}} {
		if o.changed(pair[0]) && o.changed(pair[1]) {
			return usageError{fmt.Errorf("--%s and --%s are two answers to one question; leave one out", pair[0], pair[1])}
		}
	}
	if o.changed("choice") && !o.whole && !(ask != nil && !o.changed("parts") && !o.changed("whole")) {
		return usageError{errors.New("--choice says what was printed with --whole; with --parts, name the part there")}
	}
	var missing []string
	put := func(q question) error {
		text, given := q.given()
		switch {
		case given && text == "" && q.required == "":
			return nil
		case given:
			if err := q.take(text); err != nil {
				return usageError{fmt.Errorf("--%s: %w", strings.Join(q.flags, " and --"), err)}
			}
			return nil
		case ask != nil:
			return ask.ask(ctx, q)
		case q.usual:
			return q.take(q.preset)
		case q.required != "":
			missing = append(missing, q.required)
		}
		return nil
	}
	for _, next := range []func(*recordOptions) []question{d.askDateAndStock, d.askParts, d.askChoices, d.askSettings} {
		for _, q := range next(o) {
			if err := put(q); err != nil {
				return err
			}
		}
	}
	if len(missing) > 0 {
		return usageError{fmt.Errorf("record asks only in a terminal; still missing: %s", strings.Join(missing, "; "))}
	}
	return d.findCuts()
}

// flag is what a question knows of the flags that answer it.
func (o *recordOptions) flag(name string, value *string) func() (string, bool) {
	return func() (string, bool) { return *value, o.changed(name) }
}

func (d *printDraft) askDateAndStock(o *recordOptions) []question {
	var materials []string
	for _, m := range d.site.Bench.Materials {
		materials = append(materials, m.ID)
	}
	stock := question{
		flags: []string{"material"}, prompt: "Material, or a blend such as rigid-resin=80,tough-resin=20", choices: materials,
		given: o.flag("material", &o.material), required: "--material or --blend", take: d.takeStock,
	}
	if o.changed("blend") {
		stock.flags, stock.given = []string{"blend"}, func() (string, bool) { return strings.Join(o.blend, ","), true }
		stock.take = func(text string) error {
			if !strings.Contains(text, "=") {
				return fmt.Errorf("%q has no shares; expected some such as rigid-resin=80,tough-resin=20", text)
			}
			return d.takeStock(text)
		}
	}
	return []question{{
		flags: []string{"date"}, prompt: "Date of the print", preset: words.Date(d.today), usual: true, required: "--date", given: o.flag("date", &o.date),
		take: func(text string) error {
			date, err := fields.ParseDate(text)
			if err == nil && words.Date(date) > words.Date(d.today) {
				err = fmt.Errorf("date %s is still to come; expected today, %s, or a day before", text, words.Date(d.today))
			}
			if err == nil {
				d.print.Date = date
			}
			return err
		},
	}, stock}
}

// takeStock reads a material, or shares that add up to 100.
func (d *printDraft) takeStock(text string) error {
	stock, err := release.ParseStock(d.site.Bench, text)
	if err != nil {
		return err
	}
	for _, p := range printing.Of(*d.release, stock[0].Material.Process).Parts {
		if _, ok := p.CutIn(release.Stiffness(stock)); ok {
			d.print.Stock = stock
			return nil
		}
	}
	return fmt.Errorf("no part of %s has a mesh for %s", d.release.Title, stock[0].Material.Process)
}

// printable are the slugs of the parts that have a cut for the stock.
func (d *printDraft) printable() []string {
	var out []string
	for _, p := range d.release.Parts {
		if _, ok := d.cutFor(p); ok {
			out = append(out, p.Slug)
		}
	}
	return out
}

func (d *printDraft) cutFor(p release.Part) (release.Cut, bool) {
	return printing.PartOf(*d.release, p, d.process()).CutIn(release.Stiffness(d.print.Stock))
}

func (d *printDraft) askParts(o *recordOptions) []question {
	q := question{
		flags: []string{"parts"}, prompt: "Parts, or whole for all that a print needs", choices: d.printable(), required: "--parts or --whole",
		given: func() (string, bool) { return strings.Join(o.parts, ","), o.changed("parts") },
		take:  d.takeParts,
	}
	if o.changed("whole") {
		q.flags, q.given = []string{"whole"}, func() (string, bool) {
			if o.whole {
				return "whole", true
			}
			return "", false
		}
	}
	if len(d.release.Parts) == 1 {
		q.preset = d.release.Parts[0].Slug
	}
	return []question{q}
}

func (d *printDraft) takeParts(text string) error {
	if text == "whole" && !slices.ContainsFunc(d.release.Parts, func(p release.Part) bool { return p.Slug == "whole" }) {
		d.print.Whole, d.print.Parts = true, nil
		if len(d.print.Stock) == 0 {
			return nil
		}
		for _, s := range printing.Of(*d.release, d.process()).Slots {
			if len(d.ways(s)) == 0 {
				return fmt.Errorf("%s has no mesh for %s, so that not all can have been printed; name the parts that were", words.List(slugsOf(s.Ways[0].Parts)), d.process())
			}
		}
		return nil
	}
	var known, out []string
	for _, p := range d.release.Parts {
		known = append(known, p.Slug)
	}
	for slug := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == ',' || r == ' ' }) {
		i := slices.Index(known, slug)
		switch {
		case i < 0:
			return fmt.Errorf("there is no part %q; %s", slug, fields.Suggest(slug, known))
		case slices.Contains(out, slug):
			continue
		}
		if _, ok := d.cutFor(d.release.Parts[i]); !ok && len(d.print.Stock) > 0 {
			return fmt.Errorf("part %q has no mesh for %s", slug, d.process())
		}
		out = append(out, slug)
	}
	if len(out) == 0 {
		return errors.New("no part is named; expected some such as " + fields.OneOf(known))
	}
	d.print.Whole, d.print.Parts = false, out
	return nil
}

// ways are the ways of filling a slot that have meshes for the stock, as slugs.
func (d *printDraft) ways(s printing.Slot) [][]string {
	can := d.printable()
	var out [][]string
	for _, w := range s.Ways {
		if slugs := slugsOf(w.Parts); !slices.ContainsFunc(slugs, func(slug string) bool { return !slices.Contains(can, slug) }) {
			out = append(out, slugs)
		}
	}
	return out
}

// askChoices asks which part of each choice was printed, and whether a part was
// printed in one piece: all of them cannot have been.
func (d *printDraft) askChoices(o *recordOptions) []question {
	if !d.print.Whole || len(d.print.Stock) == 0 {
		return nil
	}
	var out []question
	left := slices.Clone(o.choices)
	var known []string
	for _, s := range printing.Of(*d.release, d.process()).Slots {
		ways := d.ways(s)
		if len(ways) == 1 {
			d.chosen = append(d.chosen, ways[0])
			continue
		}
		var names []string
		mine := -1
		for i, w := range ways {
			names = append(names, strings.Join(w, "+"))
			known = append(known, w...)
			for _, slug := range w {
				if j := slices.Index(left, slug); j >= 0 && (mine < 0 || mine == i) {
					mine, left = i, slices.Delete(left, j, j+1)
				}
			}
		}
		out = append(out, question{
			flags: []string{"choice"}, prompt: words.Capital(s.Name) + ": which was printed", choices: names,
			required: fmt.Sprintf("--choice for %s: %s", words.Inside(s.Name), fields.OneOf(names)),
			given: func() (string, bool) {
				if mine < 0 {
					return "", false
				}
				return names[mine], true
			},
			take: func(text string) error {
				for i, w := range ways {
					if names[i] == text || slices.Contains(w, text) {
						d.chosen = append(d.chosen, w)
						return nil
					}
				}
				return fmt.Errorf("%q is none of them; %s", text, fields.Suggest(text, names))
			},
		})
	}
	if len(left) > 0 {
		stray := left[0]
		return []question{{
			flags: []string{"choice"}, given: func() (string, bool) { return stray, true },
			take: func(text string) error {
				return fmt.Errorf("%q is no part to choose here, or one beside another of its choice; %s", text, fields.Suggest(text, known))
			},
		}}
	}
	return out
}

// findCuts lists the meshes that were printed, in chart order.
func (d *printDraft) findCuts() error {
	want := d.print.Parts
	if d.print.Whole {
		want = slices.Concat(d.chosen...)
	}
	for _, p := range d.release.Parts {
		if !slices.Contains(want, p.Slug) {
			continue
		}
		cut, ok := d.cutFor(p)
		if !ok { // asked when it was named
			return fmt.Errorf("part %q has no mesh for %s", p.Slug, d.process())
		}
		d.cuts = append(d.cuts, printedCut{p.Slug, cut})
	}
	return nil
}

// settings are the designer's own for the process, as far as there are any.
func (d *printDraft) settings() release.PrintSettings {
	return printing.Settings(*d.release, d.process())
}

func (d *printDraft) askSettings(o *recordOptions) []question {
	p := &d.print
	var plates []string
	standard := ""
	for _, plate := range d.site.Bench.Plates {
		if plate.Process == d.process() || d.process() == nil {
			plates = append(plates, plate.ID)
			if plate.Standard && d.process() != nil {
				standard = plate.ID
			}
		}
	}
	layer, tilt := "", ""
	if s := d.settings(); s.Layer > 0 {
		layer = words.Exact(s.Layer)
	}
	if len(p.Parts) == 1 {
		for _, part := range d.release.Parts {
			if part.Slug == p.Parts[0] && (printing.PartOf(*d.release, part, d.process()).Oriented || d.process() == nil && part.TiltAbout != "") {
				tilt = words.Exact(part.Tilt) + " " + part.TiltAbout
			}
		}
	}
	words := func(to *string) func(string) error {
		return func(text string) error {
			text = strings.Join(strings.Fields(text), " ")
			if _, err := fields.Scalar(text); err != nil {
				return fmt.Errorf("it cannot be written: %w", err)
			}
			if most := fields.MaxLine / 2; len(text) > most {
				return fmt.Errorf("it is longer than %d bytes; shorten it, or write it into %s by hand", most, release.LogFile)
			}
			*to = text
			return nil
		}
	}
	return []question{
		{
			flags: []string{"plate"}, prompt: "Plate", choices: plates, preset: standard, given: o.flag("plate", &o.plate),
			take: func(text string) error {
				if !slices.Contains(plates, text) {
					return fmt.Errorf("plate %q is not on the bench for %s; %s", text, d.process(), fields.Suggest(text, plates))
				}
				p.Plate = text
				return nil
			},
		},
		{
			flags: []string{"layer"}, prompt: "Layer height, mm", preset: layer, given: o.flag("layer", &o.layer),
			take: func(text string) error {
				mm, err := fields.ParseLength(text)
				if err == nil && (mm <= 0 || mm > release.ThickestLayer(d.site.Bench.Processes()).LayerMost) {
					err = fmt.Errorf("layer %s is out of range; expected one such as 0.05", text)
				}
				if err == nil {
					p.Layer = mm
				}
				return err
			},
		},
		{
			flags: []string{"tilt", "about"}, prompt: "Tilt from how it is supplied, and its axis, such as 30 x", preset: tilt,
			given: func() (string, bool) {
				return strings.TrimSpace(o.tilt + " " + o.about), o.changed("tilt") || o.changed("about")
			},
			take: d.takeTilt,
		},
		{flags: []string{"supports"}, prompt: "Supports", given: o.flag("supports", &o.supports), take: words(&p.Supports)},
		{
			flags: []string{"outcome"}, prompt: "Outcome", choices: outcomes(), given: o.flag("outcome", &o.outcome), required: "--outcome " + fields.OneOf(outcomes()),
			take: func(text string) error {
				if !slices.Contains(outcomes(), text) {
					return fmt.Errorf("outcome %q is not known; %s", text, fields.Suggest(text, outcomes()))
				}
				p.Outcome = release.Outcome(text)
				return nil
			},
		},
		{flags: []string{"remark"}, prompt: "What happened", given: o.flag("remark", &o.remark), take: words(&p.Remark)},
		{flags: []string{"photo"}, prompt: "Photo, a file in the release's folder", given: o.flag("photo", &o.photo), take: d.takePhoto},
	}
}

func outcomes() []string {
	var out []string
	for _, o := range release.Outcomes {
		out = append(out, string(o))
	}
	return out
}

// takeTilt reads "30 x", "30 about x" or "0".
func (d *printDraft) takeTilt(text string) error {
	words := slices.DeleteFunc(strings.Fields(text), func(w string) bool { return w == "about" })
	axis := "x"
	if len(words) > 1 && (words[len(words)-1] == "x" || words[len(words)-1] == "y") {
		axis, words = words[len(words)-1], words[:len(words)-1]
	} else if degrees, err := fields.ParseAngle(strings.Join(words, " ")); err != nil || degrees != 0 {
		return fmt.Errorf("%q is not a tilt and its axis; expected degrees and x or y, such as 30 x, or 0", text)
	}
	degrees, err := fields.ParseAngle(strings.Join(words, " "))
	if err == nil && (degrees < -180 || degrees > 180) {
		err = fmt.Errorf("tilt %g is out of range; expected -180 to 180 degrees", degrees)
	}
	if err != nil {
		return err
	}
	d.print.Tilt, d.print.TiltAbout = degrees, axis
	return nil
}

// takePhoto finds a file of the release's folder, by its path in there or from
// here.
func (d *printDraft) takePhoto(text string) error {
	inside := text
	if _, err := os.Stat(filepath.Join(d.release.Dir, filepath.FromSlash(text))); err != nil || !filepath.IsLocal(filepath.FromSlash(text)) {
		here, err := resolve(text)
		if err != nil {
			return err
		}
		dir, err := resolve(d.release.Dir)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(dir, here)
		if err != nil || !filepath.IsLocal(rel) {
			return fmt.Errorf("photo %q is not in the release's folder; copy it to %s", text, filepath.Join(d.release.Dir, "photos"))
		}
		inside = rel
	}
	inside = filepath.ToSlash(filepath.Clean(inside))
	if err := release.CheckPhoto(d.site, *d.release, inside); err != nil {
		return err
	}
	d.print.Photo = inside
	return nil
}
