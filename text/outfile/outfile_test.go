package outfile_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"rollwright/text/outfile"
)

func Example() {
	dir, _ := os.MkdirTemp("", "outfile")
	defer os.RemoveAll(dir)
	name := filepath.Join(dir, "roll.csv")
	err := outfile.Write(context.Background(), name, func(w io.Writer) error {
		_, err := io.WriteString(w, "port,across_mm\n")
		return err
	})
	text, _ := os.ReadFile(name)
	fmt.Printf("%v %q\n", err, text)
	// Output: <nil> "port,across_mm\n"
}

// names lists what stands in dir.
func names(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return strings.Join(all, " ")
}

// TestFailureKeepsTheOldFile breaks an output in each way it can break, with
// more bytes than the buffer holds, and looks at what is left.
func TestFailureKeepsTheOldFile(t *testing.T) {
	big := strings.Repeat("x", 1<<20)
	broken := errors.New("broken")
	for name, fill := range map[string]func(context.CancelFunc, io.Writer) error{
		"fill fails": func(_ context.CancelFunc, w io.Writer) error {
			io.WriteString(w, big)
			return broken
		},
		"cancelled midway": func(cancel context.CancelFunc, w io.Writer) error {
			io.WriteString(w, big)
			cancel()
			_, err := io.WriteString(w, big)
			return err
		},
		"cancelled before commit": func(cancel context.CancelFunc, w io.Writer) error {
			cancel()
			return nil
		},
	} {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, "out")
			if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithCancel(context.Background())
			defer cancel()
			err := outfile.Write(ctx, path, func(w io.Writer) error { return fill(cancel, w) })
			if err == nil {
				t.Fatal("no error")
			}
			if text, _ := os.ReadFile(path); string(text) != "old" {
				t.Errorf("old file now holds %d bytes", len(text))
			}
			if got := names(t, dir); got != "out" {
				t.Errorf("folder holds %q, want only the old file", got)
			}
		})
	}
}

// TestFullDisk writes to /dev/full, on which every write fails with ENOSPC
// (Linux full(4)).
func TestFullDisk(t *testing.T) {
	if _, err := os.Stat("/dev/full"); err != nil {
		t.Skip("no /dev/full on this system")
	}
	err := outfile.Write(context.Background(), "/dev/full", func(w io.Writer) error {
		_, err := io.WriteString(w, "x")
		return err
	})
	if !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("got %v, want no space left", err)
	}
}

func TestCommitKeepsModeAndLink(t *testing.T) {
	dir := t.TempDir()
	target, link := filepath.Join(dir, "target"), filepath.Join(dir, "link")
	if err := os.WriteFile(target, []byte("old"), 0o640); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(target, link); err != nil {
		t.Fatal(err)
	}
	err := outfile.Write(context.Background(), link, func(w io.Writer) error {
		_, err := io.WriteString(w, "new")
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	info, _ := os.Lstat(link)
	if info.Mode()&os.ModeSymlink == 0 {
		t.Error("the link became a file")
	}
	info, _ = os.Stat(target)
	if text, _ := os.ReadFile(target); string(text) != "new" || info.Mode().Perm() != 0o640 {
		t.Errorf("target holds %q with mode %v, want new with 0640", text, info.Mode().Perm())
	}
}

func TestErrorsSayWhatToDo(t *testing.T) {
	dir := t.TempDir()
	for path, want := range map[string]string{
		filepath.Join(dir, "no", "file"): "make it first",
		dir:                              "is a folder",
	} {
		err := outfile.Write(context.Background(), path, func(io.Writer) error { return nil })
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v, want %q", path, err, want)
		}
	}
}

func TestAbandon(t *testing.T) {
	dir := t.TempDir()
	w, err := outfile.Create(context.Background(), filepath.Join(dir, "out"))
	if err != nil {
		t.Fatal(err)
	}
	io.WriteString(w, "half")
	outfile.Abandon()
	if got := names(t, dir); got != "" {
		t.Errorf("folder holds %q after Abandon", got)
	}
	w.Discard()
}

// TestStage makes two outputs together, beside a file that is not theirs, and
// then fails before the second set is complete.
func TestStage(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "made")
	for round, commit := range []bool{true, false} {
		s, err := outfile.NewStage(dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{"b", "a"} {
			if err := os.WriteFile(s.Path(name), []byte{byte('0' + round)}, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if commit {
			made, err := s.Commit(context.Background())
			if err != nil || strings.Join(made, " ") != "a b" {
				t.Fatalf("Commit made %v, %v", made, err)
			}
		}
		s.Discard()
		if got := names(t, dir); got != "a b" {
			t.Errorf("round %d: folder holds %q, want a b", round, got)
		}
	}
	if text, _ := os.ReadFile(filepath.Join(dir, "a")); string(text) != "0" {
		t.Errorf("the discarded round changed a to %q", text)
	}
}

func TestDiscardedStageTakesItsFolderAway(t *testing.T) {
	parent := t.TempDir()
	s, err := outfile.NewStage(filepath.Join(parent, "new"))
	if err != nil {
		t.Fatal(err)
	}
	s.Discard()
	if got := names(t, parent); got != "" {
		t.Errorf("left %q", got)
	}
}
