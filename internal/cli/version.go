package cli

import (
	"runtime/debug"
	"strings"
)

// version says which program this is, from what the compiler wrote into it: the
// module's version where it was fetched as one, else the commit that it was built
// from. Both are the same wherever the same source is built.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "of unknown version"
	}
	return versionOf(info)
}

func versionOf(info *debug.BuildInfo) string {
	var parts []string
	if v := info.Main.Version; v != "" && v != "(devel)" {
		parts = append(parts, v)
	}
	of := map[string]string{}
	for _, s := range info.Settings {
		of[s.Key] = s.Value
	}
	if commit := of["vcs.revision"]; commit != "" && len(parts) == 0 {
		parts = append(parts, "at commit "+commit[:min(12, len(commit))])
	}
	if date, _, ok := strings.Cut(of["vcs.time"], "T"); ok {
		parts = append(parts, "of "+date)
	}
	if len(parts) == 0 {
		parts = append(parts, "built from a folder without a version")
	}
	if of["vcs.modified"] == "true" && !strings.Contains(parts[0], "+dirty") {
		parts = append(parts, "with changes")
	}
	if info.GoVersion != "" {
		parts = append(parts, "by "+info.GoVersion)
	}
	return strings.Join(parts, ", ")
}
