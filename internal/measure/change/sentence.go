package change

import (
	"fmt"
	"math"
	"strings"

	"cardback/internal/mesh"
	"cardback/internal/words"
)

// Sentence says in words how the two meshes differ, beginning with the kind:
// "Changed: at most 0.20 mm, near (30.1, 20.1, 10.1) on the new mesh; 0.01 mm on
// average; volume 0.3 % more."
func (c *Change) Sentence() string {
	switch c.Kind {
	case Unchanged:
		return "Unchanged: the same triangles."
	case SameShape:
		return "Same shape: the same surface, cut into other triangles."
	case Moved:
		return "Moved: " + c.Motion.words() + "; the shape is the same."
	case Mirrored:
		return "Mirrored: " + c.Motion.words() + "."
	case Rescaled:
		text := "Rescaled: " + words.Percent(c.Motion.Scale, 2) + " of the old size"
		if c.Motion.Mirrors() {
			text += ", and mirrored"
		}
		return text + "; the shape is the same."
	}
	d, onNew := c.Largest()
	which := "old"
	if onNew {
		which = "new"
	}
	switch {
	case c.Kind == Nearly:
		moved := ""
		if c.Motion != Still {
			moved = c.Motion.words() + ", and but for that "
		}
		return fmt.Sprintf("Nearly the same: %sat most %s mm apart, near %s on the %s mesh, which is under the printing tolerance of %s mm.", moved, bound(d.AtMost), words.Place(d.At.X, d.At.Y, d.At.Z), which, words.Rounded(c.Tolerance, 6))
	case c.Cause == OfVolume:
		return "Changed: the surface is where it was to within " + bound(d.AtMost) + " mm, but it encloses another volume, " + volumePair(c.Old.Volume, c.New.Volume) + ": it is wound the other way, or there more than once."
	case c.Cause == OfFacing:
		return "Changed: the surface is where it was to within " + bound(d.AtMost) + " mm, but some of it faces the other way, so that another solid is inside."
	case c.Cause == OfBudget:
		return fmt.Sprintf("Changed, or not: no point is known to be farther than %s mm from the other surface, but the search ended before more than %s mm was excluded; %s.", bound(d.Largest), bound(d.AtMost), c.volumes())
	}
	return fmt.Sprintf("Changed: at most %s mm, near %s on the %s mesh; %s mm on average; %s.", words.Seen(d.AtMost, 2), words.Place(d.At.X, d.At.Y, d.At.Z), which, average(c.Mean()), c.volumes())
}

// bound writes a bound on a distance in mm, rounded up to four decimals, so that what
// stands there is a bound as well, and never zero.
func bound(v float64) string { return words.AtMost(max(v, 1e-4), 4) }

// volumePair writes two volumes with as many decimals as tell them apart.
func volumePair(o, n float64) string {
	for d := 2; ; d++ {
		a, b := words.Fixed(o, d), words.Fixed(n, d)
		if a != b || d == 12 {
			return b + " mm³ instead of " + a + " mm³"
		}
	}
}

// volumes compares what is enclosed, where both are solids right way out.
func (c *Change) volumes() string {
	o, n := c.Old.Volume, c.New.Volume
	if !(o > 0 && n > 0) {
		if !(c.Old.Area > 0) {
			return "the old mesh has no area"
		}
		return "area " + more(c.Old.Area, c.New.Area)
	}
	return "volume " + more(o, n)
}

// more says by how much b is more or less than a.
func more(a, b float64) string {
	share := b/a - 1
	switch {
	case math.Abs(share) < 0.00005:
		return "the same to 0.01 %"
	case share > 0:
		return words.Percent(share, 2) + " more"
	}
	return words.Percent(-share, 2) + " less"
}

// words says what a motion does: a shift, or a turn about an axis and where the
// origin goes.
func (m Motion) words() string {
	r := m.Matrix
	mirrors := m.Mirrors()
	plane := 0
	if mirrors {
		// What is left when one coordinate is mirrored first: the one that leaves least.
		for k := range 3 {
			if m.Matrix[4*k] < m.Matrix[4*plane] {
				plane = k
			}
		}
		for k := 0; k < 9; k += 3 {
			r[k+plane] = -r[k+plane]
		}
	}
	angle, axis := turnOf(r)
	var parts []string
	if mirrors {
		parts = append(parts, "mirrored in the plane "+[3]string{"x", "y", "z"}[plane]+" = 0")
	}
	if angle > 0.005*math.Pi/180 {
		parts = append(parts, fmt.Sprintf("turned by %s° about (%s, %s, %s)", words.Rounded(angle*180/math.Pi, 2), words.Rounded(axis.X, 3), words.Rounded(axis.Y, 3), words.Rounded(axis.Z, 3)))
	}
	if m.Shift.Norm() > Same || len(parts) == 0 {
		parts = append(parts, "shifted by "+shift(m.Shift)+" mm")
	}
	return strings.Join(parts, ", then ")
}

// turnOf is a rotation's angle, from 0 to π, and its axis by the right-hand rule. The
// angle is taken from sine and cosine both, so that small ones keep their digits.
func turnOf(r [9]float64) (float64, mesh.Vec) {
	w := mesh.Vec{X: r[7] - r[5], Y: r[2] - r[6], Z: r[3] - r[1]} // 2 sin times the axis
	cos := (r[0] + r[4] + r[8] - 1) / 2
	angle := math.Atan2(w.Norm()/2, cos)
	if w.Norm() > 1e-3 {
		return angle, w.Scale(1 / w.Norm())
	}
	if cos > 0 {
		return angle, mesh.Vec{Z: 1}
	}
	// Half a turn: R + 1 is twice the axis times itself; its longest column has it.
	var best mesh.Vec
	for k := range 3 {
		column := mesh.Vec{X: r[k], Y: r[3+k], Z: r[6+k]}
		switch k {
		case 0:
			column.X++
		case 1:
			column.Y++
		default:
			column.Z++
		}
		if column.Norm() > best.Norm() {
			best = column
		}
	}
	return angle, best.Scale(1 / best.Norm())
}

func shift(v mesh.Vec) string {
	return "(" + words.Rounded(v.X, 3) + ", " + words.Rounded(v.Y, 3) + ", " + words.Rounded(v.Z, 3) + ")"
}

// average writes a mean distance; of one under Same it says no more than that.
func average(v float64) string {
	if v > 0 && v < Same {
		return "less than " + words.Exact(Same)
	}
	return words.Seen(v, 2)
}
