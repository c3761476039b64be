package main

import (
	"bytes"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rollwright/internal/long"
)

// command is this binary under the name by which testscript.Main runs the command.
func command(t *testing.T) string {
	t.Helper()
	exe, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(t.TempDir(), "rollwright")
	if err := os.Symlink(exe, link); err != nil {
		t.Fatal(err)
	}
	return link
}

// tree is what lies in a folder: names and bytes.
func tree(t *testing.T, folder string) map[string]string {
	t.Helper()
	all := map[string]string{}
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || d.Name() == "filler" {
			return err
		}
		text, err := os.ReadFile(path)
		all[path] = string(text)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// The same piece twice, as it may be edited between two builds: the second has
// one piano less, so that files of the first go.
const (
	twoPianos = "piano \"left\" {}\npiano \"right\" {}\n" +
		"voice \"low\" {\n  talea = \"3 (1) 2\"\n  color = \"C2+G2 C3\"\n  piano = \"left\"\n}\n" +
		"voice \"high\" {\n  talea = \"2 1\"\n  color = \"C5 G4 E5\"\n  piano = \"right\"\n}\n"
	onePiano = "voice \"low\" {\n  talea = \"3 (1) 2\"\n  color = \"C2+G2 D3\"\n}\n"
)

// builder builds the two pieces into one folder.
type builder struct {
	*testing.T
	rollwright, piece, folder string
}

func newBuilder(t *testing.T, dir string) *builder {
	return &builder{t, command(t), filepath.Join(t.TempDir(), "a.piece"), filepath.Join(dir, "made")}
}

func (b *builder) build(text string) *exec.Cmd {
	if err := os.WriteFile(b.piece, []byte(text), 0o644); err != nil {
		b.Fatal(err)
	}
	return exec.Command(b.rollwright, "build", b.piece, b.folder)
}

// whole builds to the end, and is what lies in the folder then.
func (b *builder) whole(text string) map[string]string {
	b.Helper()
	if out, err := b.build(text).CombinedOutput(); err != nil {
		b.Fatalf("%v: %s", err, out)
	}
	return tree(b.T, b.folder)
}

// TestBuildIsKilled kills builds at random moments. The next one, of the piece as
// it was before, takes none of the files for a person's, and leaves exactly what
// it left without the kill.
func TestBuildIsKilled(t *testing.T) {
	b := newBuilder(t, t.TempDir())
	before := time.Now()
	want := b.whole(twoPianos)
	took := time.Since(before)
	random := rand.New(rand.NewPCG(2, 1917))
	for round := range long.Of(2, 120) {
		cmd := b.build(onePiano)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		// Every other time in the last tenth, where the exchange is.
		wait := time.Duration(random.Int64N(int64(took)))
		if round%2 == 0 {
			wait = took - time.Duration(random.Int64N(int64(took)/10))
		}
		time.AfterFunc(wait, func() { cmd.Process.Kill() })
		cmd.Wait()
		if now := b.whole(twoPianos); !maps.Equal(now, want) {
			t.Fatalf("round %d: %d files, want %d", round, len(now), len(want))
		}
	}
}

// TestBuildOnFullDisk builds on a disk that fills at a random byte: the folder
// holds one build whole, and nothing hidden.
func TestBuildOnFullDisk(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=64m", "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("no disk of a chosen size can be mounted here: %s", out)
	}
	t.Cleanup(func() { exec.Command("umount", dir).Run() })
	b := newBuilder(t, dir)
	second := b.whole(onePiano)
	bytesOfSecond := 0
	for _, text := range second {
		bytesOfSecond += len(text)
	}
	first := b.whole(twoPianos)
	filler := filepath.Join(dir, "filler")
	random := rand.New(rand.NewPCG(8, 1921))
	full := 0
	for round := range long.Of(1, 200) {
		fillUp(t, filler)
		info, err := os.Stat(filler)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.Truncate(filler, info.Size()-random.Int64N(int64(bytesOfSecond))); err != nil {
			t.Fatal(err)
		}
		out, err := b.build(onePiano).CombinedOutput()
		want := second
		if err != nil {
			full++
			want = first
			if !bytes.Contains(out, []byte("no space left")) || bytes.Contains(out, []byte(".part")) {
				t.Errorf("round %d: %s", round, out)
			}
		}
		if now := tree(t, b.folder); !maps.Equal(now, want) {
			t.Fatalf("round %d, %v: %d files, want %d", round, err, len(now), len(want))
		}
		os.Remove(filler)
		b.whole(twoPianos)
	}
	if full == 0 {
		t.Error("the disk was never full: the test proves nothing")
	}
}

// fillUp takes all that is free.
func fillUp(t *testing.T, path string) {
	t.Helper()
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	for block := []byte(strings.Repeat("x", 1<<16)); len(block) > 0; {
		if n, err := file.Write(block); err != nil && n < len(block) {
			block = block[:len(block)/2]
		}
	}
}

// TestBedsStayAsTheyWere writes the programs of a machine over those of another
// piece while one of them cannot be replaced: all stay as they were.
func TestBedsStayAsTheyWere(t *testing.T) {
	dir := t.TempDir()
	rollwright, piece := command(t), filepath.Join(dir, "a.piece")
	write := func(extent string) ([]byte, error) {
		text := fmt.Sprintf("voice \"low\" {\n  talea = \"3 2\"\n  color = \"C2+G2 C3\"\n  extent = %q\n}\n", extent)
		if err := os.WriteFile(piece, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		return exec.Command(rollwright, "write", piece, filepath.Join(dir, "cut.nc"), "--machine", "laser").CombinedOutput()
	}
	if out, err := write("150 notes"); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	want := tree(t, dir)
	delete(want, piece)
	last := ""
	for path := range want {
		last = max(last, path)
	}
	if len(want) < 3 {
		t.Fatalf("only %d beds", len(want))
	}
	if out, err := exec.Command("chattr", "+i", last).CombinedOutput(); err != nil {
		t.Skipf("no file can be made immutable here: %s", out)
	}
	out, err := write("151 notes")
	exec.Command("chattr", "-i", last).Run()
	if err == nil || !strings.Contains(string(out), last) || strings.Contains(string(out), ".part") ||
		strings.Contains(string(out), "wrote") {
		t.Errorf("%v: %s", err, out)
	}
	now := tree(t, dir)
	delete(now, piece)
	if !maps.Equal(now, want) {
		t.Errorf("%d files lie there, want the %d of before", len(now), len(want))
	}
	if out, err := write("151 notes"); err != nil {
		t.Errorf("afterwards: %v: %s", err, out)
	}
}
