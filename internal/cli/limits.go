package cli

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"cardback/internal/bench"
	"cardback/internal/fields"
	"cardback/internal/measure"
	"cardback/internal/measure/thin"
	"cardback/internal/verdict"
	"cardback/internal/verdict/seats"
)

// limitFlags say what thin places and holes are compared with.
type limitFlags struct {
	material, content         string
	wall, pin, rod, allowance length
}

func (l *limitFlags) add(f *pflag.FlagSet) {
	f.StringVar(&l.material, "material", "", "compare with the material that has this `ID` on the bench")
	f.StringVar(&l.content, "content", "content", "content folder `DIR` with the bench")
	f.Var(&l.wall, "wall", "least wall, in place of the material's")
	f.Var(&l.pin, "pin", "least pin, in place of the material's")
	f.Var(&l.rod, "rod", "say how a rod of this diameter goes into each hole")
	f.Var(&l.allowance, "allowance", "a hole's room round a rod, in place of the material's")
	for _, name := range []string{"wall", "pin", "rod", "allowance"} {
		f.Lookup(name).DefValue = "" // none; a 0 would read as one
	}
}

// limits are what thin places and holes are compared with; nil for no
// comparison.
type limits struct {
	material  *bench.Material
	wall, pin *float64
	rod       *float64
	allowance float64
}

// read checks the flags, and looks the material up. The error is a usageError,
// or errInput where problems of the bench were printed.
func (l *limitFlags) read(cmd *cobra.Command) (limits, error) {
	f := cmd.Flags()
	var lim limits
	given := func(name string, value length) *float64 {
		if !f.Changed(name) {
			return nil
		}
		mm := float64(value)
		return &mm
	}
	lim.wall, lim.pin, lim.rod = given("wall", l.wall), given("pin", l.pin), given("rod", l.rod)
	for _, flag := range []struct {
		name  string
		value *float64
	}{{"wall", lim.wall}, {"pin", lim.pin}, {"rod", lim.rod}} {
		if flag.value != nil && *flag.value <= 0 {
			return lim, usageError{fmt.Errorf("--%s is 0; expected a length above zero, such as 1.5", flag.name)}
		}
	}
	switch {
	case f.Changed("allowance") && lim.rod == nil:
		return lim, usageError{errors.New("--allowance is what a hole needs over a rod; give the rod too, as in --rod 1.5")}
	case f.Changed("content") && !f.Changed("material"):
		return lim, usageError{errors.New("--content says where --material is looked up; give the material too")}
	case f.Changed("material"):
		m, err := lookUp(cmd, l.content, l.material)
		if err != nil {
			return lim, err
		}
		lim.material, lim.allowance = m, m.HoleAllowance
		if lim.wall == nil {
			lim.wall = &m.WallMin
		}
		if lim.pin == nil {
			lim.pin = &m.PinMin
		}
	}
	if f.Changed("allowance") {
		lim.allowance = float64(l.allowance)
	}
	return lim, nil
}

// lookUp finds a material on the bench of a content folder. Other problems of
// the bench do not matter to a material that is there.
func lookUp(cmd *cobra.Command, content, id string) (*bench.Material, error) {
	b, name, problems, err := benchOf(content, cmd.Flags().Changed("content"))
	if err != nil {
		return nil, usageError{err}
	}
	var known []string
	for i := range b.Materials {
		if b.Materials[i].ID == id {
			return &b.Materials[i], nil
		}
		known = append(known, b.Materials[i].ID)
	}
	if problems != nil {
		return nil, printProblems(cmd.ErrOrStderr(), problems, "nothing was measured")
	}
	return nil, usageError{fmt.Errorf("there is no material %q on %s; %s", id, name, fields.Suggest(id, known))}
}

// processes are those that a mesh may be printed by: the material's, or any that comes
// with the program.
func (l limits) processes() []*bench.Process {
	if l.material != nil {
		return []*bench.Process{l.material.Process}
	}
	return bench.Shipped().Processes()
}

// stock is what amounts are reckoned with: the material's, and the usual for the
// other process.
func (l limits) stock() measure.Stock {
	s := measure.UsualStock
	switch m := l.material; {
	case m == nil:
	case m.Process.Measured == bench.ByLength:
		s.FilamentDensity = m.Density
	case m.Process.Measured == bench.ByVolume:
		s.ResinDensity = m.Density
		if m.Shrinkage != 0 {
			s.Shrinkage = m.Shrinkage
		}
	}
	return s
}

// judgement is what came of comparing, as other programs read it.
type judgement struct {
	Material  string       `json:"material,omitempty"`
	Wall      *float64     `json:"wall_min_mm,omitempty"`
	Pin       *float64     `json:"pin_min_mm,omitempty"`
	TooThin   []tooThin    `json:"too_thin"`
	Unknown   []thin.Kind  `json:"limits_over_thin_limit"` // kinds whose limit is over what was looked for: some places may be missing
	Rod       *float64     `json:"rod_mm,omitempty"`
	Allowance *float64     `json:"allowance_mm,omitempty"`
	Rods      []rodVerdict `json:"rods"` // one for each of holes, in that order; empty without a rod
}

type tooThin struct {
	Kind      thin.Kind  `json:"kind"`
	Thickness float64    `json:"thickness_mm"`
	Limit     float64    `json:"limit_mm"`
	Extent    float64    `json:"extent_mm"`
	At        [3]float64 `json:"at_mm"`
	Text      string     `json:"text"`

	noun string
}

type rodVerdict struct {
	Passes bool     `json:"passes"` // the hole as drawn
	Free   bool     `json:"free"`   // with the allowance too
	Spare  float64  `json:"spare_mm"`
	Drill  *float64 `json:"drill_mm"` // null where none is needed
	Text   string   `json:"text"`
}

// judge compares r, taken at the printed scale; nil where nothing was asked.
func (l limits) judge(r *measure.Report) *judgement {
	if l.wall == nil && l.pin == nil && l.rod == nil {
		return nil
	}
	j := &judgement{Wall: l.wall, Pin: l.pin, TooThin: []tooThin{}, Unknown: []thin.Kind{}, Rods: []rodVerdict{}}
	if l.material != nil {
		j.Material = l.material.ID
	}
	orNone := func(limit *float64, kind thin.Kind) float64 {
		if limit == nil {
			return 0
		}
		if !verdict.ThinKnown(r.Thin, *limit, 1) {
			j.Unknown = append(j.Unknown, kind)
		}
		return *limit
	}
	for _, p := range verdict.TooThin(r.Thin, orNone(l.wall, thin.Wall), orNone(l.pin, thin.Pin), 1) {
		j.TooThin = append(j.TooThin, tooThin{p.Kind, p.Thickness, p.Limit, p.Extent, [3]float64{p.At.X, p.At.Y, p.At.Z}, p.Sentence, p.Noun})
	}
	if l.rod == nil {
		return j
	}
	j.Rod, j.Allowance = l.rod, &l.allowance
	for _, h := range r.Bores.Holes {
		a := seats.Rod(h, *l.rod, l.allowance, 1)
		v := rodVerdict{Passes: a.Passes, Free: a.Free, Spare: a.Spare, Text: a.Sentence}
		if a.Drill != 0 {
			v.Drill = &a.Drill
		}
		j.Rods = append(j.Rods, v)
	}
	return j
}
