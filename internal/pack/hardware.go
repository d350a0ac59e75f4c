package pack

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"

	"cardback/internal/release"
)

// HardwareCSV is the release's hardware list: one line an entry, lengths in mm,
// empty where a kind has none. Lines end in CR LF (RFC 4180), text is UTF-8.
func HardwareCSV(r *release.Release) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	rows := [][]string{{"item", "name", "kind", "diameter_mm", "thickness_mm", "count", "cut_mm", "where"}}
	for _, u := range r.Hardware {
		rows = append(rows, []string{
			cell(u.Item.ID), cell(u.Item.Name), cell(string(u.Item.Kind)),
			mm(u.Item.Diameter), mm(u.Item.Thickness), strconv.Itoa(u.Count), mm(u.Cut), cell(u.Where),
		})
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
	return strconv.FormatFloat(v, 'f', -1, 64)
}
