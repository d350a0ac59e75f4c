package release

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"cardback/internal/bench"
	"cardback/internal/fields"
	"cardback/internal/words"
)

// Shares are per cents with up to six decimals, and are added as whole
// millionths: 33.3, 33.3 and 33.4 are 100 exactly, in any order. A third is not
// a decimal; 33.33, 33.33 and 33.34 is as near as a scale weighs. A Share is
// the floating-point number next to the one written, so that those of a blend add up to 1 to
// within 2⁻⁵³ each.
const (
	shareDecimals = 6
	wholeShare    = 100_000_000 // 100 % in millionths
)

var sharePattern = regexp.MustCompile(`^([0-9]{1,3})(?:\.([0-9]{1,6}))? ?%?$`)

// shareUnits reads "33.3" or "33.3 %" as millionths of a per cent.
func shareUnits(text string) (units int, ok bool) {
	m := sharePattern.FindStringSubmatch(text)
	if m == nil {
		return 0, false
	}
	n, err := strconv.Atoi(m[1] + m[2] + strings.Repeat("0", shareDecimals-len(m[2])))
	return n, err == nil
}

// Percent writes a share as its per cent, as it was stated: "33.3".
func (s Share) Percent() string {
	return words.Exact(math.Round(s.Share*wholeShare) / (wholeShare / 100))
}

// BlendText is a blend for a sentence: "80 % rigid resin, 20 % tough resin". A
// plain material is its name alone.
func BlendText(stock []Share) string {
	if len(stock) == 1 {
		return words.Inside(stock[0].Material.Name)
	}
	parts := make([]string, len(stock))
	for i, s := range stock {
		parts[i] = s.Percent() + " % " + words.Inside(s.Material.Name)
	}
	return strings.Join(parts, ", ")
}

// shareSlack is how far two shares may differ and be the same: what adding up a
// few per cents rounds off, some 10⁻¹⁶ each, and far less than anybody measures out.
const shareSlack = 1e-6

// Present is the stock without what there is nothing of.
func Present(stock []Share) []Share {
	return slices.DeleteFunc(slices.Clone(stock), func(s Share) bool { return s.Share <= shareSlack })
}

// Stiffness is the class that a stock counts as: a plain material's own; of a blend what
// the bench says that it becomes, else its base's. It is empty for no stock.
func Stiffness(stock []Share) bench.Stiffness {
	stock = Present(stock)
	if len(stock) == 0 {
		return ""
	}
	base := Base(stock)
	if rule, ok := BlendRule(stock, base); ok {
		return rule.Stiffness
	}
	return base.Stiffness
}

// Base is the stock of a blend that a rule of the bench takes the other to be stirred into,
// or else that of the greatest share, the first of equal ones. There must be one.
func Base(stock []Share) bench.Material {
	most := stock[0]
	for _, s := range stock {
		if _, ok := BlendRule(stock, s.Material); ok {
			return s.Material
		}
		if s.Share > most.Share+shareSlack {
			most = s
		}
	}
	return most.Material
}

// BlendRule is the rule of m for a blend of it with one other stock at these
// shares.
func BlendRule(stock []Share, m bench.Material) (bench.Blend, bool) {
	if len(stock) != 2 {
		return bench.Blend{}, false
	}
	with := stock[1]
	switch m.ID {
	case stock[0].Material.ID:
	case stock[1].Material.ID:
		with = stock[0]
	default:
		return bench.Blend{}, false
	}
	for _, b := range m.Blends {
		if b.With == with.Material.ID && with.Share >= b.Least-shareSlack && with.Share <= b.Most+shareSlack {
			return b, true
		}
	}
	return bench.Blend{}, false
}

// SameBlend compares two blends without regard to order.
func SameBlend(a, b []Share) bool {
	return len(a) == len(b) && !slices.ContainsFunc(a, func(s Share) bool {
		return !slices.ContainsFunc(b, func(t Share) bool {
			return t.Material.ID == s.Material.ID && math.Abs(t.Share-s.Share) <= shareSlack
		})
	})
}

// ParseStock reads a material's id, or shares as on a command line:
// "rigid-resin=80,tough-resin=20", by the rules of the notes.
func ParseStock(b bench.Bench, text string) ([]Share, error) {
	l := &loader{site: Site{Bench: b}}
	if !strings.Contains(text, "=") {
		m, ok := l.material(strings.TrimSpace(text))
		if !ok {
			return nil, fmt.Errorf("material %q is not on the bench; %s", text, fields.Suggest(text, l.materialIDs()))
		}
		return []Share{{Material: m, Share: 1}}, nil
	}
	var table []string
	for item := range strings.SplitSeq(text, ",") {
		id, share, ok := strings.Cut(item, "=")
		if !ok {
			return nil, fmt.Errorf("%q has no share; expected one such as %s=20", item, strings.TrimSpace(item))
		}
		for _, part := range []string{id, share} {
			s, err := fields.Scalar(part)
			if err != nil {
				return nil, fmt.Errorf("%q cannot be read (%w)", item, err)
			}
			table = append(table, s)
		}
	}
	// As the same table in the notes would be read, so that the rules are the same.
	var y strings.Builder
	y.WriteString("blend:\n")
	for i := 0; i < len(table); i += 2 {
		y.WriteString("  " + table[i] + ": " + table[i+1] + "\n")
	}
	d := fields.Parse("", []byte(y.String()))
	stock := l.blend(d.Map(), "blend", nil)
	if errs := d.Finish(); len(errs) > 0 {
		return nil, errors.New(errs[0].Message)
	}
	return stock, nil
}

// blend reads a table of shares, material: per cent, in its order. proc is the
// process that they must be of; empty for that of the first. Nil where there is
// a problem, which is then reported.
func (l *loader) blend(m *fields.Map, name string, proc *bench.Process) []Share {
	t := m.Table(name, fields.Required)
	if t == nil {
		return nil
	}
	var out []Share
	sum, good := 0, true
	for _, at := range t.Names() {
		text := t.Text(at.Text, fields.Required)
		units, ok := shareUnits(text)
		switch {
		case text == "":
			good = false
			continue
		case !ok || units == 0:
			t.Errorf(at.Text, "share %q of %q is not a per cent above zero with at most six decimals; expected one such as 20 or 33.3", text, at.Text)
			good = false
			continue
		}
		sum += units
		material, ok := l.material(at.Text)
		if !ok {
			if !l.benchFailed("materials.yaml") {
				t.Errorf(at.Text, "material %q is not on the bench; %s", at.Text, fields.Suggest(at.Text, l.materialIDs()))
			}
			good = false
			continue
		}
		if proc == nil {
			proc = material.Process
		}
		if material.Process != proc {
			t.Errorf(at.Text, "material %q is for %s and this blend for %s; expected materials of one process", at.Text, material.Process, proc)
			good = false
			continue
		}
		if !proc.Blends() {
			t.Errorf(at.Text, "material %q is %s, which is not stirred into another; expected one material", at.Text, proc)
			good = false
			continue
		}
		out = append(out, Share{Material: material, Share: float64(units) / wholeShare})
	}
	switch {
	case !good:
		return nil
	case len(t.Names()) < 2:
		m.Errorf(name, "a blend of one material is that material; expected two or more, such as {rigid-resin: 80, tough-resin: 20}")
		return nil
	case sum != wholeShare:
		m.Errorf(name, "the shares add up to %s %%; expected exactly 100", words.Exact(float64(sum)/(wholeShare/100)))
		return nil
	}
	return out
}

func (l *loader) material(id string) (bench.Material, bool) {
	i := slices.IndexFunc(l.site.Bench.Materials, func(m bench.Material) bool { return m.ID == id })
	if i < 0 {
		return bench.Material{}, false
	}
	return l.site.Bench.Materials[i], true
}

func (l *loader) materialIDs() []string {
	var ids []string
	for _, m := range l.site.Bench.Materials {
		ids = append(ids, m.ID)
	}
	return ids
}

// benchFailed reports problems of a table of the bench: what is not on it then
// proves nothing.
func (l *loader) benchFailed(base string) bool {
	name := "bench/" + base
	return slices.ContainsFunc(l.errs, func(e fields.Error) bool {
		return e.File == l.shown+"/"+name || l.shown == "." && e.File == name
	})
}
