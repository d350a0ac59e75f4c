//go:build unix

package pending

import (
	"os"
	"syscall"
)

// lock takes the lock on an open file or folder without waiting, and reports whether
// it did. It is gone when f is closed.
func lock(f *os.File) bool {
	return syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB) == nil
}

const locks = true

// openFlags keep an open from waiting for a pipe's other end, and from following a link.
const openFlags = syscall.O_NONBLOCK | syscall.O_NOFOLLOW
