//go:build !unix && !windows

package outfile

import "os"

// Lock is ErrNoLocks: the system has no locks that end with the program.
func Lock(*os.File) error { return ErrNoLocks }
