package plan_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/music/plan"
	"rollwright/text/source"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the goldens")

func read(t testing.TB, name string) *plan.Plan {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", name+".piece"))
	if err != nil {
		t.Fatal(err)
	}
	return planned(t, string(text))
}

// planned is the plan of a piece.
func planned(t testing.TB, text string) *plan.Plan {
	t.Helper()
	p, err := piecefile.Parse(&source.File{Name: "x.piece", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return plan.New(perf, plan.Options{})
}

// jsonGoldens are the pieces whose JSON is kept: one of each kind.
var jsonGoldens = map[string]bool{"7x6": true, "sqrt2": true, "e_pi": true, "paths": true}

// TestGoldens: what a person reads, and what a program reads.
func TestGoldens(t *testing.T) {
	files, err := filepath.Glob("testdata/*.piece")
	if err != nil || len(files) < 8 {
		t.Fatalf("%d pieces, %v", len(files), err)
	}
	for _, file := range files {
		name := strings.TrimSuffix(filepath.Base(file), ".piece")
		t.Run(name, func(t *testing.T) {
			p := read(t, name)
			var text, data bytes.Buffer
			if err := plan.WriteText(&text, p, plan.TextOptions{}); err != nil {
				t.Fatal(err)
			}
			if err := plan.WriteJSON(&data, p); err != nil {
				t.Fatal(err)
			}
			golden(t, name+".txt", text.Bytes())
			if jsonGoldens[name] {
				golden(t, name+".json", data.Bytes())
			}
			fitsTerminal(t, text.String())
			comesBack(t, data.Bytes())
		})
	}
}

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s differs (-want +got); go test ./plan -update if that is meant:\n%s", file, diff)
	}
}

// fitsTerminal: no line is longer than 80 columns, none ends in a blank.
func fitsTerminal(t *testing.T, text string) {
	t.Helper()
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		if n := utf8.RuneCountInString(line); n > 80 || strings.HasSuffix(line, " ") {
			t.Errorf("%d columns: %q", n, line)
		}
	}
}

// comesBack: reading the JSON to a plan and writing it again gives the same
// bytes, so no field is lost or written in two ways.
func comesBack(t *testing.T, data []byte) {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	var p plan.Plan
	if err := d.Decode(&p); err != nil {
		t.Fatal(err)
	}
	var again bytes.Buffer
	if err := plan.WriteJSON(&again, &p); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(data), again.String()); diff != "" {
		t.Errorf("reading and writing changes the plan:\n%s", diff)
	}
}
