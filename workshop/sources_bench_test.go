package workshop

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// BenchmarkTenFiles opens a piece whose ten voices each take 300 notes from a file of
// their own, four MIDI files, three of MusicXML and three pieces, and plays it: 50 ms
// are what it may take.
func BenchmarkTenFiles(b *testing.B) {
	ctx, dir := context.Background(), b.TempDir()
	var whole bytes.Buffer
	for i := range 10 {
		name := filepath.Join(dir, fmt.Sprintf("source%d.piece", i))
		text := fmt.Sprintf("tempo = %d\nvoice \"line\" {\n  talea  = \"3 1 2 2 (1) 4\"\n  color  = \"C4 D4 E4 G4 A4\"\n"+
			"  extent = \"300 notes\"\n  transpose = %d\n}\n", 60+i, i-5)
		if err := os.WriteFile(name, []byte(text), 0o644); err != nil {
			b.Fatal(err)
		}
		if extension := []string{".mid", ".musicxml", ".piece"}[i%3]; extension != ".piece" {
			job, err := Open(ctx, name, nil)
			if err != nil {
				b.Fatal(err)
			}
			name = filepath.Join(dir, fmt.Sprintf("source%d%s", i, extension))
			if _, err := job.Write(ctx, name, Options{}); err != nil {
				b.Fatal(err)
			}
		}
		fmt.Fprintf(&whole, "voice \"v%d\" {\n  from   = %q\n  extent = \"300 notes\"\n}\n", i, filepath.Base(name))
	}
	path := filepath.Join(dir, "ten.piece")
	if err := os.WriteFile(path, whole.Bytes(), 0o644); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		job, err := Open(ctx, path, nil)
		if err != nil {
			b.Fatal(err)
		}
		n := 0
		for range job.Events() {
			n++
		}
		if n != 3000 {
			b.Fatalf("%d notes", n)
		}
	}
}
