package pending

import (
	"errors"

	"golang.org/x/sys/unix"
)

// exchange lets two folders change places in one step (renameat2 of Linux). Where
// the file system cannot, the error is errors.ErrUnsupported.
func exchange(a, b string) error {
	err := unix.Renameat2(unix.AT_FDCWD, a, unix.AT_FDCWD, b, unix.RENAME_EXCHANGE)
	if err == unix.EINVAL || err == unix.ENOSYS {
		return errors.ErrUnsupported
	}
	return err
}
