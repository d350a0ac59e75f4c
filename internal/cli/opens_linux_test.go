package cli

import (
	"bytes"
	"encoding/binary"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// watch has the system itself count how often each mesh file below dir is opened, by
// whatever way and by whatever program. stop gives the counts by path. Two openings at the same instant may come
// as one; what reads a mesh twice does so at two times.
func watch(t *testing.T, dir string) (stop func() map[string]int) {
	t.Helper()
	fd, err := unix.InotifyInit1(unix.IN_CLOEXEC)
	require.NoError(t, err)
	folders := map[int32]string{}
	require.NoError(t, filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() {
			return err
		}
		wd, err := unix.InotifyAddWatch(fd, path, unix.IN_OPEN|unix.IN_CLOSE)
		folders[int32(wd)] = path
		return err
	}))
	end := filepath.Join(t.TempDir(), "end")
	require.NoError(t, os.WriteFile(end, nil, 0o644))
	last, err := unix.InotifyAddWatch(fd, end, unix.IN_OPEN)
	require.NoError(t, err)

	events := os.NewFile(uintptr(fd), "inotify")
	counts := make(chan map[string]int)
	go func() {
		got := map[string]int{}
		defer func() { events.Close(); counts <- got }()
		buffer := make([]byte, 1<<20)
		for {
			n, err := events.Read(buffer)
			if err != nil {
				got[err.Error()]++
				return
			}
			for rest := buffer[:n]; len(rest) > 0; {
				wd, mask := int32(binary.NativeEndian.Uint32(rest)), binary.NativeEndian.Uint32(rest[4:])
				size := unix.SizeofInotifyEvent + int(binary.NativeEndian.Uint32(rest[12:]))
				name := string(bytes.TrimRight(rest[unix.SizeofInotifyEvent:size], "\x00"))
				rest = rest[size:]
				switch {
				case wd == int32(last):
					return
				case mask&unix.IN_Q_OVERFLOW != 0:
					got["events were lost"]++
				case mask&unix.IN_OPEN != 0 && isMeshFile(name):
					got[filepath.Join(folders[wd], name)]++
				}
			}
		}
	}()
	return func() map[string]int {
		_, err := os.ReadFile(end)
		require.NoError(t, err)
		return <-counts
	}
}
