package pack

import (
	"cmp"
	"slices"
	"strings"
)

// sums is a SHA256SUMS file over files, by name, as "sha256sum -c" reads it.
func sums(files []member) []byte {
	files = slices.Clone(files)
	slices.SortFunc(files, func(a, b member) int { return cmp.Compare(a.name, b.name) })
	var b strings.Builder
	for _, f := range files {
		b.WriteString(sumLine(f.SHA256, f.name))
	}
	return []byte(b.String())
}

// sumLine is digest, space, "*" for binary, name. A name with a backslash, line
// feed or carriage return has them escaped and the line begins with a backslash
// (GNU coreutils manual, "cksum general options").
func sumLine(sum, name string) string {
	escaped := strings.NewReplacer(`\`, `\\`, "\n", `\n`, "\r", `\r`).Replace(name)
	if escaped != name {
		sum = `\` + sum
	}
	return sum + " *" + escaped + "\n"
}
