//go:build unix

package journal

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// lock holds the file until it is closed or the program ends, however it ends.
func lock(f *os.File) error {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return ErrBusy
	}
	if errors.Is(err, unix.ENOTSUP) || errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.ENOLCK) {
		return nil // some network folders cannot lock: better to work than to refuse
	}
	return err
}
