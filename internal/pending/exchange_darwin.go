package pending

import (
	"errors"

	"golang.org/x/sys/unix"
)

// exchange lets two folders change places in one step (renamex_np of Darwin). Where
// the file system cannot, the error is errors.ErrUnsupported.
func exchange(a, b string) error {
	err := unix.RenamexNp(a, b, unix.RENAME_SWAP)
	if err == unix.ENOTSUP || err == unix.EINVAL {
		return errors.ErrUnsupported
	}
	return err
}
