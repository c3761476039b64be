//go:build unix

package outfile

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// Lock holds a file for this program until it is closed or the program ends,
// however it ends. Where another program holds it the error is ErrHeld; where the
// system cannot lock, as on some network folders, ErrNoLocks.
func Lock(f *os.File) error {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	switch {
	case errors.Is(err, unix.EWOULDBLOCK):
		return ErrHeld
	case errors.Is(err, unix.ENOTSUP), errors.Is(err, unix.ENOSYS), errors.Is(err, unix.ENOLCK):
		return ErrNoLocks
	}
	return err
}
