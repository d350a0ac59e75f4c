package words

import "strings"

// Fragment is a title as it stands in an address: lower-case letters and digits joined
// by hyphens.
func Fragment(title string) string {
	parts := strings.FieldsFunc(strings.ToLower(title), func(c rune) bool {
		return (c < 'a' || c > 'z') && (c < '0' || c > '9') && c < 0x80
	})
	if len(parts) == 0 {
		return "section"
	}
	return strings.Join(parts, "-")
}
