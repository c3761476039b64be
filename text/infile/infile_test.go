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
