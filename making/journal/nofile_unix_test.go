//go:build unix

package journal_test

import (
	"path/filepath"
	"testing"

	"golang.org/x/sys/unix"
)

// noFiles are paths at which no file lies, with what is said of them.
func noFiles(t *testing.T, dir string) map[string]string {
	pipe := filepath.Join(dir, "pipe.journal")
	must(t, unix.Mkfifo(pipe, 0o644))
	return map[string]string{dir: "is a folder", pipe: "is a pipe", "/dev/zero": "is a device"}
}
