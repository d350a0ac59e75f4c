package cli

import (
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestTheVersionIsThatOfTheSource(t *testing.T) {
	settings := func(kv ...string) (out []debug.BuildSetting) {
		for i := 0; i < len(kv); i += 2 {
			out = append(out, debug.BuildSetting{Key: kv[i], Value: kv[i+1]})
		}
		return out
	}
	for _, c := range []struct {
		info debug.BuildInfo
		want string
	}{
		{debug.BuildInfo{GoVersion: "go1.26.8", Main: debug.Module{Version: "v1.2.0"}}, "v1.2.0, by go1.26.8"},
		{debug.BuildInfo{Main: debug.Module{Version: "(devel)"}, Settings: settings("vcs.revision", "0123456789abcdef0123", "vcs.time", "2026-03-01T10:00:00Z", "vcs.modified", "false")}, "at commit 0123456789ab, of 2026-03-01"},
		{debug.BuildInfo{Settings: settings("vcs.revision", "0123456789abcdef0123", "vcs.modified", "true")}, "at commit 0123456789ab, with changes"},
		{debug.BuildInfo{Main: debug.Module{Version: "v0.0.0-20260301100000-0123456789ab+dirty"}, Settings: settings("vcs.modified", "true")}, "v0.0.0-20260301100000-0123456789ab+dirty"},
		{debug.BuildInfo{}, "built from a folder without a version"},
	} {
		require.Equal(t, c.want, versionOf(&c.info))
	}
}
