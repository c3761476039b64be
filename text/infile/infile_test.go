package infile_test

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rollwright/text/infile"
)

func Example() {
	_, err := infile.Open(os.TempDir())
	fmt.Println(strings.TrimPrefix(err.Error(), os.TempDir()))
	fmt.Printf("%q\n", infile.Text([]byte("\ufefftempo = 120")))
	// Output:
	//  is a folder, where a file is wanted; name a file in it
	// "tempo = 120"
}

func TestOpen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a")
	if _, err := infile.Open(path); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("where there is nothing: %v", err)
	}
	if err := os.WriteFile(path, []byte("x"), 0o644); err != nil {
		t.Fatal(err)
	}
	link := path + ".link"
	if err := os.Symlink(path, link); err != nil {
		t.Skip(err)
	}
	file, err := infile.Open(link)
	if err != nil {
		t.Fatal(err)
	}
	file.Close()
}

// A file that was opened is known again by its identity, under any name.
func TestOpened(t *testing.T) {
	dir := t.TempDir()
	path, second := filepath.Join(dir, "a"), filepath.Join(dir, "b")
	if err := os.WriteFile(path, []byte("xyz"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Link(path, second); err != nil {
		t.Skip(err)
	}
	before, err := os.Stat(second)
	if err != nil || infile.Opened(before) != "" {
		t.Errorf("before: %v, %q", err, infile.Opened(before))
	}
	if text, err := infile.Read(path, 3); err != nil || string(text) != "xyz" {
		t.Errorf("%q, %v", text, err)
	}
	if infile.Opened(before) != path {
		t.Errorf("after: %q, want %q", infile.Opened(before), path)
	}
	var long *infile.TooLongError
	if _, err := infile.Read(path, 2); !errors.As(err, &long) || long.Most != 2 {
		t.Errorf("three bytes where two may be: %v", err)
	}
}
