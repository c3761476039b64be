package journal_test

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"rollwright/making/journal"
)

// million writes a journal of a million holes in rows of ten, some 13 MB.
func million(b *testing.B) string {
	b.Helper()
	path := filepath.Join(b.TempDir(), "a.journal")
	small := filepath.Join(b.TempDir(), "b.journal")
	j := open(b, small, clock(time.Second))
	must(b, j.Close())
	head, err := os.ReadFile(small)
	must(b, err)
	must(b, os.WriteFile(path, append(head, journal.Rows(1_000_000, 10)...), 0o644))
	return path
}

// BenchmarkOpenMillion opens a journal of a million holes to go on with it.
func BenchmarkOpenMillion(b *testing.B) {
	path := million(b)
	for b.Loop() {
		j := open(b, path, clock(time.Second))
		if j.Punched() != 1_000_000 {
			b.Fatalf("%d holes", j.Punched())
		}
		must(b, j.Close())
	}
}
