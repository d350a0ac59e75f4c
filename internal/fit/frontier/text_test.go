package frontier

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// What is written is read again, boxes that hold others left out.
func TestWrittenListsComeBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pitch := rapid.IntRange(1, 7).Draw(t, "pitch")
		side := rapid.IntRange(0, rapid.SampledFrom([]int{3, 20, 120}).Draw(t, "most"))
		three := rapid.Bool().Draw(t, "three")
		ascending := three || rapid.Bool().Draw(t, "ascending")
		var boxes [][3]int
		for range rapid.IntRange(0, 60).Draw(t, "boxes") {
			b := [3]int{0, side.Draw(t, "b"), side.Draw(t, "c")}
			if three {
				b[0] = min(side.Draw(t, "a"), b[1])
			}
			if ascending {
				slices.Sort(b[:])
			}
			boxes = append(boxes, [3]int{pitch * b[0], pitch * b[1], pitch * b[2]})
		}
		got, err := written(boxes).boxes(ascending)
		require.NoError(t, err)
		var want [][3]int
		for _, b := range boxes {
			if !slices.ContainsFunc(boxes, func(o [3]int) bool { return o != b && atMost(o, b) }) {
				want = append(want, b)
			}
		}
		slices.SortFunc(want, func(a, b [3]int) int { return slices.Compare(a[:], b[:]) })
		require.Equal(t, slices.Compact(want), got)
	})
}

// The text by hand: two boxes of one row, and one of the next.
func TestAListIsWrittenAsItsStaircase(t *testing.T) {
	boxes := [][3]int{{0, 10, 300}, {0, 20, 40}, {10, 20, 30}}
	text := written(boxes)
	// Row 0 from 0 on: none, then 30 of at most 31, then 4: less by 26. Row 1 from 1
	// on: 30 as above, then 3 of 4.
	require.Equal(t, stepsText{Pitch: 10, Last: [3]int{1, 2, 30}, Steps: "1aza1a"}, text)
	back, err := text.boxes(false)
	require.NoError(t, err)
	require.Equal(t, boxes, back)
	for steps, why := range map[string]string{
		"1aza1":                 "ends within a step",
		"1az":                   "ends within a step",
		"1aza1a9a":              "goes on after its last row",
		"1a-":                   "where a step should be",
		"1az3a":                 "where a step should be",
		"1azza":                 "third side that is none",
		"99999999999999999999a": "leads out of it",
	} {
		text.Steps = steps
		_, err := text.boxes(false)
		require.ErrorContains(t, err, why, steps)
	}
}
