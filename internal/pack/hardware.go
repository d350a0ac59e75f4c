package pack

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"cardback/internal/verdict/hardware"
	"cardback/internal/words"
)

// HardwareCSV is what a release takes of bought items:
// one line for the pieces of one length of an item, lengths in mm, empty where a kind
// has none. Lines end in CR LF (RFC 4180), text is UTF-8.
func HardwareCSV(items []hardware.Bought) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	rows := [][]string{{"item", "name", "kind", "diameter_mm", "thickness_mm", "bore_mm", "length_mm", "count", "cut_mm", "where"}}
	for _, b := range items {
		for _, p := range b.Pieces {
			rows = append(rows, []string{
				cell(b.Item.ID), cell(b.Item.Name), cell(string(b.Item.Kind)),
				mm(b.Item.Diameter), mm(b.Item.Thickness), mm(b.Item.Bore), mm(b.Item.Length), strconv.Itoa(p.Count), mm(p.Cut), cell(strings.Join(p.Where, "; ")),
			})
		}
	}
	_ = w.WriteAll(rows) // a buffer does not fail
	return b.Bytes()
}

// cell makes text safe to open in a spreadsheet: what begins like a formula gets
// an apostrophe, and line breaks become spaces.
func cell(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if s != "" && strings.ContainsRune("=+-@", rune(s[0])) {
		return "'" + s
	}
	return s
}

// mm is a length without trailing zeros; empty for zero.
func mm(v float64) string {
	if v == 0 {
		return ""
	}
	return words.Plain(v)
}
