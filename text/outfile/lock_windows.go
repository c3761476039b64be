package outfile

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// Lock holds a file for this program until it is closed or the program ends,
// however it ends. Where another program holds it the error is ErrHeld. It holds
// a byte far beyond the end: others may read the file meanwhile.
func Lock(f *os.File) error {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	at := &windows.Overlapped{OffsetHigh: 1}
	err := windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, at)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return ErrHeld
	}
	return err
}
