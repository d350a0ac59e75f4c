package frontier

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"

	"cardback/internal/fit/posture"
)

// MostBytes is how long the text of a frontier may be. Real parts of 300 mm take half
// of it to 1 mm; a page of a hundred parts that all took it would be one of 3 MB.
const MostBytes = 32 << 10

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
	Steps string `json:"steps"` // see written
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
	t.Turned, t.Boxes, t.Cylinders = written(turned), written(f.Boxes), written(cylinders)
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

// Read reads what Text wrote. Whatever else it is given is an error: no
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
	turned, err1 := t.Turned.boxes(true)
	boxes, err2 := t.Boxes.boxes(true)
	cylinders, err3 := t.Cylinders.boxes(false)
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

// written is a list of boxes as text, of which no first side is more than its second.
//
// The list is a table: for each first side a row, and in it for each second side, from
// the first side on, the least third side; where there is none, the last and one. No
// place is more than the lesser of its neighbours to the left and above, and most are
// equal to it. So the text goes through the places and gives, again and again, how many
// are equal, as a number, which is left out if it is 0, and by how much the next one is
// less, as a letter: a for 1 to y for 25, and a z before it for each further 25.
func written(boxes [][3]int) stepsText {
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
	var out []byte
	above, equal := t.row(), 0
	for i, row := range table {
		for j := i; j <= t.Last[1]; j++ {
			most := bound(row, above, i, j)
			row[j] = min(row[j], most)
			if row[j] == most {
				equal++
				continue
			}
			if equal > 0 {
				out = strconv.AppendInt(out, int64(equal), 10)
			}
			less := most - row[j]
			for ; less > mostLetter; less -= mostLetter {
				out = append(out, 'z')
			}
			out = append(out, byte('a'-1+less))
			equal = 0
		}
		above = row
	}
	t.Steps = string(out)
	return t
}

// mostLetter is what the letter y stands for.
const mostLetter = 'y' - 'a' + 1

// bound is the lesser of a place's neighbours to the left and above. The first place
// of a row has none to the left.
func bound(row, above []int, i, j int) int {
	if j == i {
		return above[j]
	}
	return min(row[j-1], above[j])
}

// boxes are those of the text: those that have no other at or below them. Ascending says
// that no third side is less than its second.
func (t stepsText) boxes(ascending bool) ([][3]int, error) {
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
	var out [][3]int
	above, rest := t.row(), t.Steps
	equal, less, rest, err := nextStep(rest)
	for i := 0; i <= t.Last[0] && err == nil; i++ {
		row := t.row()
		for j := i; j <= t.Last[1]; j++ {
			row[j] = bound(row, above, i, j)
			if equal > 0 || less == 0 {
				equal--
				continue
			}
			row[j] -= less
			if row[j] < 0 || ascending && row[j] < j {
				return nil, errors.New("a table has a third side that is none")
			}
			if row[j] < above[j] && (j == i || row[j] < row[j-1]) {
				out = append(out, [3]int{t.Pitch * i, t.Pitch * j, t.Pitch * row[j]})
			}
			if equal, less, rest, err = nextStep(rest); err != nil {
				return nil, err
			}
		}
		above = row
	}
	if err == nil && less > 0 {
		err = errors.New("a table goes on after its last row")
	}
	return out, err
}

// nextStep reads how many places are equal and by how much the next is less: by 0 at
// the end of the text.
func nextStep(text string) (equal, less int, rest string, err error) {
	if text == "" {
		return 0, 0, "", nil
	}
	for i, c := range []byte(text) {
		switch {
		case '0' <= c && c <= '9' && less == 0:
			equal = 10*equal + int(c-'0')
		case c == 'z':
			less += mostLetter
		case 'a' <= c && c < 'z':
			return equal, less + int(c-'a') + 1, text[i+1:], nil
		default:
			return 0, 0, "", fmt.Errorf("a table has %q where a step should be", c)
		}
		if max(equal, less) > mostPlaces {
			return 0, 0, "", errors.New("a table has a step that leads out of it")
		}
	}
	return 0, 0, "", errors.New("a table ends within a step")
}

// row is a row of the table before anything has been put into it.
func (t stepsText) row() []int {
	row := make([]int, t.Last[1]+1)
	for j := range row {
		row[j] = t.Last[2] + 1
	}
	return row
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
