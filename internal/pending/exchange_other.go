//go:build !linux && !darwin

package pending

import (
	"errors"
	"io/fs"
	"os"
)

// exchange is not to be had here.
func exchange(_, b string) error {
	if _, err := os.Lstat(b); err != nil {
		return fs.ErrNotExist
	}
	return errors.ErrUnsupported
}
