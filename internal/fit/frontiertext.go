package fit

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// MostBytes is how long the text of a frontier may be.
const MostBytes = 4096

// frontierText is the JSON that a page carries. The lists are written as the
// differences between consecutive numbers of a column, each in base 64 with a
// sign and a continuation bit: neighbours on a frontier differ by little, so a
// box takes some four characters.
type frontierText struct {
	Within    float64 `json:"within_mm"`
	Step      float64 `json:"step_mm"`
	Supplied  [3]int  `json:"supplied"`
	Circle    int     `json:"circle"`
	Turned    string  `json:"turned"`
	Boxes     string  `json:"boxes"`
	Cylinders string  `json:"cylinders"`
}

// Text is the frontier as JSON.
func (f *Frontier) Text() []byte {
	t := frontierText{Within: f.Within, Step: f.Step, Supplied: f.Supplied, Circle: f.Circle}
	var turned, boxes, cylinders []int
	for _, b := range f.Turned {
		turned = append(turned, b[:]...)
	}
	for _, b := range f.Boxes {
		boxes = append(boxes, b[:]...)
	}
	for _, b := range f.Cylinders {
		cylinders = append(cylinders, b[:]...)
	}
	t.Turned, t.Boxes, t.Cylinders = packed(turned, 2), packed(boxes, 3), packed(cylinders, 2)
	text, err := json.Marshal(t)
	if err != nil {
		panic(err) // there is nothing in it that JSON cannot hold
	}
	return text
}

// ReadFrontier reads what Text wrote. Whatever else it is given is an error: no
// text that passes can say that a part without extent, or of less than none,
// fits everywhere.
func ReadFrontier(text []byte) (*Frontier, error) {
	var t frontierText
	if err := json.Unmarshal(text, &t); err != nil {
		return nil, fmt.Errorf("read a fit frontier: %w", err)
	}
	if !(t.Step > 0 && t.Within >= t.Step && t.Within <= 4*farthest) {
		return nil, fmt.Errorf("read a fit frontier: a tolerance of %v mm in steps of %v mm is none", t.Within, t.Step)
	}
	f := &Frontier{Within: t.Within, Step: t.Step, Supplied: t.Supplied, Circle: t.Circle}
	turned, err1 := unpacked(t.Turned, 2)
	boxes, err2 := unpacked(t.Boxes, 3)
	cylinders, err3 := unpacked(t.Cylinders, 2)
	if err := errors.Join(err1, err2, err3); err != nil {
		return nil, fmt.Errorf("read a fit frontier: %w", err)
	}
	for _, side := range slices.Concat(t.Supplied[:], []int{t.Circle}, turned, boxes, cylinders) {
		if side < 0 || side > math.MaxInt16 {
			return nil, fmt.Errorf("read a fit frontier: a side of %d steps is none", side)
		}
	}
	for i := 0; i < len(turned); i += 2 {
		f.Turned = append(f.Turned, [2]int(turned[i:]))
	}
	for i := 0; i < len(boxes); i += 3 {
		f.Boxes = append(f.Boxes, [3]int(boxes[i:]))
	}
	for i := 0; i < len(cylinders); i += 2 {
		f.Cylinders = append(f.Cylinders, [2]int(cylinders[i:]))
	}
	return f, nil
}

const digits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"

// packed writes a table of the given number of columns, row by row. A difference
// goes in groups of five bits, low ones first, with 32 added to all but the last;
// its lowest bit is the sign.
func packed(table []int, columns int) string {
	var out strings.Builder
	for i, x := range table {
		if i >= columns {
			x -= table[i-columns]
		}
		v := uint(x) << 1
		if x < 0 {
			v = uint(-x)<<1 | 1
		}
		for v >= 32 {
			out.WriteByte(digits[v&31|32])
			v >>= 5
		}
		out.WriteByte(digits[v])
	}
	return out.String()
}

func unpacked(text string, columns int) ([]int, error) {
	var table []int
	v, shift := uint(0), 0
	for i := range len(text) {
		d := strings.IndexByte(digits, text[i])
		if d < 0 || shift > 50 {
			return nil, fmt.Errorf("character %d, %q, is not one of a table", i, text[i])
		}
		v |= uint(d&31) << shift
		shift += 5
		if d >= 32 {
			continue
		}
		x := int(v >> 1)
		if v&1 == 1 {
			x = -x
		}
		if n := len(table); n >= columns {
			x += table[n-columns]
		}
		table = append(table, x)
		v, shift = 0, 0
	}
	if shift != 0 || len(table)%columns != 0 {
		return nil, errors.New("a table ends in the middle of a row")
	}
	return table, nil
}
