package piecefile

import (
	"flag"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"rollwright/music/piece"
	"rollwright/text/source"
)

var update = flag.Bool("update", false, "write the golden files anew")

func load(t testing.TB, path string) *source.File {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return &source.File{Name: filepath.Base(path), Text: text}
}

func corpus(t testing.TB, pattern string) []string {
	t.Helper()
	files, err := filepath.Glob(pattern)
	if err != nil || len(files) == 0 {
		t.Fatalf("no files match %s: %v", pattern, err)
	}
	return files
}

// Each file in testdata/invalid has beside it everything that a person is told
// about it.
func TestInvalid(t *testing.T) {
	files := corpus(t, "testdata/invalid/*.piece")
	if len(files) < 60 {
		t.Errorf("only %d invalid pieces", len(files))
	}
	for _, path := range files {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".piece"), func(t *testing.T) {
			p, err := Parse(load(t, path))
			if err == nil || p != nil {
				t.Fatal("no error")
			}
			golden(t, strings.TrimSuffix(path, ".piece")+".txt", err.Error()+"\n")
		})
	}
}

func golden(t *testing.T, path, got string) {
	t.Helper()
	if *update {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), got); diff != "" {
		t.Errorf("%s (-want +got):\n%s", path, diff)
	}
}

func TestValid(t *testing.T) {
	for _, path := range corpus(t, "testdata/valid/*.piece") {
		p, err := Parse(load(t, path))
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		checkPiece(t, p)
	}
}

// The line ends and the mark at the start that some editors write change
// nothing but the places of bytes.
func TestLineEnds(t *testing.T) {
	unix, err := Parse(load(t, "testdata/valid/everything.piece"))
	if err != nil {
		t.Fatal(err)
	}
	windows, err := Parse(load(t, "testdata/valid/windows.piece"))
	if err != nil {
		t.Fatal(err)
	}
	unix.File, windows.File = nil, nil
	windows.Show = unix.Show // kept as written, line ends included
	for _, p := range []*piece.Piece{unix, windows} {
		for i := range p.Voices {
			for j := range p.Voices[i].Color {
				p.Voices[i].Color[j].Offset = 0
			}
		}
	}
	if !reflect.DeepEqual(unix, windows) {
		t.Error("the two pieces differ")
	}
}

// TestOffsets: what a color or line is made of knows where it was written: itself, in the
// text of another voice, in a value of let, inside of functions and repetitions.
func TestOffsets(t *testing.T) {
	f := &source.File{Text: []byte("\ufefflet {\n  riff = \"E2 G2!ff\"\n}\nvoice \"ä\" {\n  talea = \"1\"\n" +
		"  color = join(\"C2~0.3\", transpose(riff, 2), \"2 times [A2+B2]\")\n}\n" +
		"voice \"b\" {\n  line = \"C4:2 (1) trill(D4 E4 9/s):1!p\"\n}\nvoice \"c\" {\n  like = \"b\"\n}\n")}
	p, err := Parse(f)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range [][]string{
		{"C2~0.3", "E2 ", "G2!ff\"", "A2+B2]", "A2+B2]"},
		{"C4:2 ", "trill(D4 E4 9/s):1!p"}, {"C4:2 ", "trill(D4 E4 9/s):1!p"},
	} {
		for j, w := range want {
			at := p.Voices[i].Color[j].Offset - 1
			if at < 0 || !strings.HasPrefix(string(f.Text[at:]), w) {
				t.Errorf("voice %d, member %d is said to be written at byte %d", i, j, at)
			}
		}
	}
}

// Every attribute of a voice, and every block, is in everything.piece.
func TestEverything(t *testing.T) {
	text := string(load(t, "testdata/valid/everything.piece").Text)
	for _, word := range append(append(voiceWords(), topWords...), "subject", "speeds", "at", "overlap") {
		if !regexp.MustCompile(`(?m)^\s*` + strings.TrimSuffix(word, " {") + `\b`).MatchString(text) {
			t.Errorf("%s is missing", word)
		}
	}
}
