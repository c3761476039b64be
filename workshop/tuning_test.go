package workshop

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/sound"
)

// Every tuning that a piece may name is one that package sound knows, and a table beside
// the piece is read.
func TestTunings(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	const voice = "voice \"one\" {\n  talea = \"1\"\n  color = \"A4\"\n}\n"
	write("mine.csv", "key,cents\n69,-12.5\n")
	for _, c := range []struct {
		tuning string
		want   float64 // Hz of A4
	}{{"equal", 442}, {"mine.csv", 438.8200}} {
		name := write("a.piece", "a4 = 442\ntuning = \""+c.tuning+"\"\n"+voice)
		job, err := Open(t.Context(), name, nil)
		if err != nil {
			t.Fatal(err)
		}
		if got := job.Pianos[0].Tuning.FirstHz(69); got < c.want-0.001 || got > c.want+0.001 {
			t.Errorf("%s: A4 at %.4f Hz, wanted %.4f", c.tuning, got, c.want)
		}
	}
	for _, name := range sound.TuningNames() {
		if _, err := Open(t.Context(), write("a.piece", "tuning = \""+name+"\"\n"+voice), nil); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	write("bad.csv", "key,cents\n12,1\n")
	for name, want := range map[string]string{
		"just":      "write stretched, equal",
		"none.csv":  "there is no file none.csv",
		"bad.csv":   `bad.csv: line 2: key "12"`,
		"../up.csv": "is not beside this piece",
	} {
		_, err := Open(t.Context(), write("a.piece", "tuning = \""+name+"\"\n"+voice), nil)
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "a.piece:1") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
