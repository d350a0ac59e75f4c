package hostile

import (
	"encoding/binary"
	"math"
	"strings"
)

// measured is a case of one mesh file that measure is given.
func measured(name, file string, content func() []byte, exit int, says ...string) Case {
	return Case{
		Name: name,
		Make: func(d Dir) { d.Write(file, content()) },
		Args: []string{"measure", file},
		Exit: exit, Says: says,
	}
}

func constant(s string) func() []byte { return func() []byte { return []byte(s) } }

// meshFiles are files that are no mesh, or hardly one.
var meshFiles = []Case{
	measured("stl-empty", "part.stl", constant(""), 1, `part\.stl: .*empty`),
	measured("stl-cut-short", "part.stl", func() []byte { b := STL(Cube(20)); return b[:len(b)-31] }, 1, `part\.stl`),
	measured("stl-counts-four-billion", "part.stl", func() []byte {
		b := STL(Cube(20))
		binary.LittleEndian.PutUint32(b[80:], math.MaxUint32)
		return b
	}, 1, `part\.stl`),
	measured("stl-not-a-number", "part.stl", func() []byte {
		return Soup([9]float32{0, 0, 0, 1, 0, 0, 0, float32(math.NaN()), 0})
	}, 1, `part\.stl`, `(?i)finite|not a number|NaN`),
	measured("stl-text-without-an-end", "part.stl", constant("solid "+strings.Repeat("facet normal 0 0 0\n", 50)), 1, `part\.stl:\d+`),
}
