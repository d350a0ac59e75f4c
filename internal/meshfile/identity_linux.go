package meshfile

import (
	"io/fs"
	"syscall"
)

// identityOf is the identity of a file; ok is false where the system does not say.
func identityOf(info fs.FileInfo) (id identity, ok bool) {
	s, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return id, false
	}
	return identity{uint64(s.Dev), s.Ino, info.Size(), info.ModTime().UnixNano(), s.Ctim.Nano()}, true
}
