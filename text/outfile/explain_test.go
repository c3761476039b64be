package outfile

import (
	"errors"
	"io/fs"
	"strings"
	"syscall"
	"testing"
)

// What the system says of a folder is told in words, without the name of the
// temporary file, and stays the error that it was where it is not.
func TestExplain(t *testing.T) {
	for _, tt := range []struct {
		err  error
		want string
	}{
		{syscall.EROFS, "cannot write ro/x.pdf: the folder ro is read-only"},
		{syscall.EACCES, "cannot write ro/x.pdf: no permission to write in ro"},
		{syscall.ENOENT, "cannot write ro/x.pdf: there is no folder ro; make it first"},
		{syscall.ENOSPC, "cannot write ro/x.pdf: no space left on device"},
	} {
		err := explain("ro/x.pdf", &fs.PathError{Op: "open", Path: "ro/.rollwright-1.part", Err: tt.err})
		if err.Error() != tt.want || strings.Contains(err.Error(), ".part") {
			t.Errorf("%v, want %s", err, tt.want)
		}
		if tt.err == syscall.ENOSPC && !errors.Is(err, tt.err) {
			t.Errorf("%v hides its cause", err)
		}
	}
}
