//go:build unix

package infile_test

import (
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/sys/unix"

	"rollwright/text/infile"
)

// A pipe that nobody writes to would hold up whoever opens it (POSIX.1-2017,
// open: O_RDONLY of a FIFO blocks until a writer comes).
func TestPipe(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	if err := unix.Mkfifo(pipe, 0o644); err != nil {
		t.Skip(err)
	}
	for path, want := range map[string]string{pipe: "is a pipe", "/dev/zero": "is a device"} {
		if _, err := infile.Open(path); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v, want %q", path, err, want)
		}
	}
}
