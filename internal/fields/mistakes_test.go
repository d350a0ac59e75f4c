package fields

import (
	"bytes"
	"encoding/binary"
	"testing"
	"unicode/utf16"

	"github.com/stretchr/testify/require"
)

func utf16Of(s string, order binary.AppendByteOrder, mark bool) []byte {
	if mark {
		s = "\ufeff" + s
	}
	var out []byte
	for _, u := range utf16.Encode([]rune(s)) {
		out = order.AppendUint16(out, u)
	}
	return out
}

func TestAFileInUTF16IsOneProblem(t *testing.T) {
	const text = "---\ntitle: Größe\nheight: 3\n---\n\nWords.\n"
	for name, data := range map[string][]byte{
		"little-endian": utf16Of(text, binary.LittleEndian, true), "big-endian": utf16Of(text, binary.BigEndian, true),
		"without a mark": utf16Of(text, binary.LittleEndian, false), "big-endian without a mark": utf16Of(text, binary.BigEndian, false),
	} {
		for _, read := range []func() Errors{
			func() Errors { d := Parse("a.yaml", data); d.Map().Text("title", Required); return d.Finish() },
			func() Errors {
				d, body := ParseNotes("a.yaml", data)
				require.Empty(t, body)
				d.Map().Text("title", Required)
				return d.Finish()
			},
			func() Errors {
				d, list := ParseEntries("a.yaml", data, "prints")
				require.Empty(t, list)
				return d.Finish()
			},
		} {
			require.EqualError(t, read(), "a.yaml: the file is UTF-16; save it as UTF-8", name)
		}
		_, err := AppendEntry(data, "prints", []string{"a: 1"})
		require.ErrorContains(t, err, "the file is UTF-16; save it as UTF-8", name)
	}
	require.EqualError(t, Parse("a.yaml", append([]byte{0xff, 0xfe, 0, 0}, 'a', 0, 0, 0)).Finish(), "a.yaml: the file is UTF-32; save it as UTF-8")
	for _, data := range [][]byte{nil, []byte("a: 1\n"), []byte("a: é\n"), []byte("\ufeffa: 1\n"), bytes.Repeat([]byte{0}, 64)} {
		require.Empty(t, encoding(data), "%q", data)
	}
}

func TestADecimalCommaInBracesIsToldAsOne(t *testing.T) {
	for text, want := range map[string]string{
		"p: {layer: 0,2}\n":                 `a:1:12: "layer" is 0,2: a comma ends a value inside braces; expected a decimal point, 0.2`,
		"p: {layer: 0,2, tilt: 3}\n":        `a:1:12: "layer" is 0,2: a comma ends a value inside braces; expected a decimal point, 0.2`,
		"p: {layer: 18,5 mm}\n":             `a:1:12: "layer" is 18,5 mm: a comma ends a value inside braces; expected a decimal point, 18.5 mm`,
		"p: {tilt: 3, layer: 0,05, x: 1}\n": `a:1:21: "layer" is 0,05: a comma ends a value inside braces; expected a decimal point, 0.05` + "\n" + `a:1:27: field "x" is not known here; expected layer or tilt`,
	} {
		d := Parse("a", []byte(text))
		p := d.Map().Table("p", Required)
		p.Length("layer", Optional)
		p.Angle("tilt", Optional, 0, 90)
		require.EqualError(t, d.Finish(), want, text)
	}
	d := Parse("a", []byte("p: {layer: 2, tilt}\n")) // not a number
	p := d.Map().Table("p", Required)
	p.Length("layer", Optional)
	p.Angle("tilt", Optional, 0, 90)
	require.Empty(t, d.Finish())
}

func TestLengthsInEveryUnitThatADesignerTypes(t *testing.T) {
	for text, want := range map[string]float64{
		"2": 2, "2 mm": 2, "2mm": 2, "1.2 cm": 12, "0.3 m": 300, "1m": 1000, "50 µm": .05, "50 μm": .05, "50um": .05, // the micro sign and the Greek letter
		"2.5 in": 63.5, "1 inch": 25.4, "2 inches": 50.8, `2"`: 50.8, "2″": 50.8, `1/16"`: 1.5875, "1/16 inch": 1.5875, `1 1/2"`: 38.1, "1 ft": 304.8, "2 feet": 609.6, "1 foot": 304.8,
	} {
		got, err := ParseLength(text)
		require.NoError(t, err, text)
		require.InDelta(t, want, got, 1e-9, text) // it is rounded to that
	}
	for text, want := range map[string]string{
		"2 pt":   `length "2 pt" has the unit "pt", which is not known; expected mm, cm, m, µm, in or ft`,
		"101 m":  `length "101 m" is longer than 100 m; expected a length in mm, cm, m, µm, in or ft`,
		`1/2`:    `length "1/2" is not one decimal number; expected a number and a unit, such as 1.5 mm`,
		`1/2 cm`: `length "1/2 cm" is not one decimal number; expected a number and a unit, such as 1.5 mm`,
	} {
		_, err := ParseLength(text)
		require.EqualError(t, err, want)
	}
}
