package midi

import (
	"os/exec"
	"testing"

	"rollwright/internal/judge"
)

// mido runs a script of testdata under Debian's Python, whose package
// python3-mido is the judge from outside.
func mido(t testing.TB, args ...string) []byte {
	t.Helper()
	out, err := exec.Command(judge.Python(t, "mido"), args...).Output()
	if err != nil {
		t.Fatalf("mido: %v\n%s", err, out)
	}
	return out
}
