package pack

import (
	"cmp"
	"slices"
	"strings"
)

// Sums is a SHA256SUMS file over files, by name, as "sha256sum -c" reads it.
func Sums(files []File) []byte {
	files = slices.Clone(files)
	slices.SortFunc(files, func(a, b File) int { return cmp.Compare(a.Name, b.Name) })
	var b strings.Builder
	for _, f := range files {
		b.WriteString(sumLine(sumOf(f.Data), f.Name))
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
