//go:build unix

package hostile

import "syscall"

// pipe makes a named pipe that nobody writes to.
func pipe(path string) error { return syscall.Mkfifo(path, 0o600) }
