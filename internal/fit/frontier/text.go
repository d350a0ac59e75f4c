package frontier

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"

	"cardback/internal/fit/posture"
)

// MostBytes is how long the text of a frontier may be.
const MostBytes = 4096

// frontierText is the JSON that a page carries.
type frontierText struct {
	Within    float64   `json:"within_mm"`
	Step      float64   `json:"step_mm"`
	Supplied  [3]int    `json:"supplied"`
	Circle    int       `json:"circle"`
	Turned    stepsText `json:"turned"`
	Boxes     stepsText `json:"boxes"`
	Cylinders stepsText `json:"cylinders"`
}

// stepsText is a list of boxes, as the staircase that they make.
type stepsText struct {
	Pitch int    `json:"pitch"` // of which all sides are multiples
	Last  [3]int `json:"last"`  // the greatest first, second and third side, in pitches
	Steps string `json:"steps"`
}

// Text is the frontier as JSON.
func (f *Frontier) Text() []byte {
	t := frontierText{Within: f.Within, Step: f.Step, Supplied: f.Supplied, Circle: f.Circle}
	var turned, cylinders [][3]int
	for _, b := range f.Turned {
		turned = append(turned, [3]int{0, b[0], b[1]})
	}
	for _, b := range f.Cylinders {
		cylinders = append(cylinders, [3]int{0, b[0], b[1]})
	}
	t.Turned, t.Boxes, t.Cylinders = squeezed(turned, true), squeezed(f.Boxes, true), squeezed(cylinders, false)
	text, err := json.Marshal(t)
	if err != nil {
		panic(err) // there is nothing in it that JSON cannot hold
	}
	return text
}

// MarshalJSON is Text, so that what is kept of a frontier is short too.
func (f *Frontier) MarshalJSON() ([]byte, error) { return f.Text(), nil }

// UnmarshalJSON is ReadFrontier.
func (f *Frontier) UnmarshalJSON(text []byte) error {
	got, err := Read(text)
	if err == nil {
		*f = *got
	}
	return err
}

// ReadFrontier reads what Text wrote. Whatever else it is given is an error: no
// text that passes can say that a part without extent, or of less than none,
// fits everywhere.
func Read(text []byte) (*Frontier, error) {
	var t frontierText
	if err := json.Unmarshal(text, &t); err != nil {
		return nil, fmt.Errorf("read a fit frontier: %w", err)
	}
	if !(t.Step > 0 && t.Within >= t.Step && t.Within <= 4*posture.Farthest) {
		return nil, fmt.Errorf("read a fit frontier: a tolerance of %v mm in steps of %v mm is none", t.Within, t.Step)
	}
	for _, side := range [...]int{t.Supplied[0], t.Supplied[1], t.Supplied[2], t.Circle} {
		if side < 0 || side > math.MaxInt16 {
			return nil, fmt.Errorf("read a fit frontier: a side of %d steps is none", side)
		}
	}
	if t.Turned.Last[0] != 0 || t.Cylinders.Last[0] != 0 {
		return nil, errors.New("read a fit frontier: turns and cylinders have two sides each, and a third is given")
	}
	f := &Frontier{Within: t.Within, Step: t.Step, Supplied: t.Supplied, Circle: t.Circle}
	turned, err1 := t.Turned.unsqueezed(true)
	boxes, err2 := t.Boxes.unsqueezed(true)
	cylinders, err3 := t.Cylinders.unsqueezed(false)
	if err := errors.Join(err1, err2, err3); err != nil {
		return nil, fmt.Errorf("read a fit frontier: %w", err)
	}
	f.Boxes = boxes
	for _, b := range turned {
		f.Turned = append(f.Turned, [2]int{b[1], b[2]})
	}
	for _, b := range cylinders {
		f.Cylinders = append(f.Cylinders, [2]int{b[1], b[2]})
	}
	return f, nil
}

// mostPlaces bounds the tables that are read.
const mostPlaces = 1 << 23

// squeezed writes a list of boxes, of which no first side is more than its second.
// Ascending says that no third side is less than that.
func squeezed(boxes [][3]int, ascending bool) stepsText {
	var t stepsText
	if len(boxes) == 0 {
		return t
	}
	for _, b := range boxes {
		for i, side := range b {
			t.Pitch = gcd(t.Pitch, side)
			t.Last[i] = max(t.Last[i], side)
		}
	}
	t.Pitch = max(t.Pitch, 1)
	for i := range t.Last {
		t.Last[i] /= t.Pitch
	}
	table := make([][]int, t.Last[0]+1)
	for i := range table {
		table[i] = t.row()
	}
	for _, b := range boxes {
		at := &table[b[0]/t.Pitch][b[1]/t.Pitch]
		*at = min(*at, b[2]/t.Pitch)
	}
	s := newSqueezer()
	above := t.row()
	for i, row := range table {
		for j := i; j <= t.Last[1]; j++ {
			row[j] = min(row[j], above[j])
			if j > i {
				row[j] = min(row[j], row[j-1])
			}
		}
		t.code(i, row, above, ascending, s.code)
		above = row
	}
	t.Steps = s.text()
	return t
}

func (t stepsText) unsqueezed(ascending bool) ([][3]int, error) {
	if t.Pitch == 0 {
		return nil, nil
	}
	for _, n := range [...]int{t.Pitch, 1 + t.Last[0], 1 + t.Last[1], 1 + t.Last[2]} {
		if n < 1 || n > math.MaxInt16 {
			return nil, errors.New("a table has sides that are none")
		}
	}
	if t.Last[0] > t.Last[1] {
		return nil, errors.New("a table has a first side that is more than any second")
	}
	if (t.Last[0]+1)*(t.Last[1]+t.Last[2]+2) > mostPlaces || max(t.Last[0], t.Last[1], t.Last[2])*t.Pitch > math.MaxInt16 {
		return nil, errors.New("a table is too large")
	}
	u := newUnsqueezer(t.Steps)
	var out [][3]int
	above := t.row()
	for i := range t.Last[0] + 1 {
		row := t.row()
		t.code(i, row, above, ascending, u.code)
		if u.past > squeezeDigits {
			return nil, errors.New("a table ends before its last row")
		}
		for j := i; j <= t.Last[1]; j++ {
			if row[j] < above[j] && (j == i || row[j] < row[j-1]) {
				out = append(out, [3]int{t.Pitch * i, t.Pitch * j, t.Pitch * row[j]})
			}
		}
		above = row
	}
	return out, nil
}

// row is a row of the table before anything has been put into it, with a place
// to spare.
func (t stepsText) row() []int {
	row := make([]int, t.Last[1]+2)
	for j := range row {
		row[j] = t.Last[2] + 1
	}
	return row
}

// code goes through a row of the table of the least third side for a first side
// of i and each second side from i on, in pitches; where there is none, the last
// and one. A row that is as the one above says so. Of another, each place says by
// how much it is less than the lesser of its neighbours to the left and above,
// which it never exceeds: no, or once, and no, or twice, and so on.
//
// What a place will say is guessed from what it was for places with the like around
// them: by how much the row above falls up to this place and after it, how the two
// neighbours differ, and what the place to the left said.
//
// A squeezer is told each decision, which an unsqueezer tells.
func (t stepsText) code(i int, row, above []int, ascending bool, decide func(context int, yes bool) bool) {
	if decide(0, slices.Equal(row[i:], above[i:])) {
		copy(row, above)
		return
	}
	said := 0
	for j := i; j <= t.Last[1]; j++ {
		left, corner := above[j], above[j]
		if j > i {
			left, corner = row[j-1], above[j-1]
		}
		k := min(left, above[j])
		least := 0
		if ascending {
			least = j
		}
		context := min(corner-max(left, above[j]), 3)
		context = 5*context + min(max(left-above[j], -2), 2) + 2
		context = 3*context + min(max(above[j]-above[j+1], 0), 2)
		context = 3*context + said
		said = 0
		for n := 0; k > least && decide(1+8*context+min(n, 7), row[j] < k); n++ {
			k--
			said = min(n+1, 2)
		}
		row[j] = k
	}
}

// contexts is one more than the greatest that code has.
const contexts = 1 + 8*4*5*3*3

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
