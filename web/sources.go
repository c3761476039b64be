package web

import (
	"fmt"
	"io"
	"os"
	"path"
	"strings"

	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// beside opens the files that the piece of that name takes notes from, by their paths
// from it. Like everything else they are reached through the folder alone.
func (f *folder) beside(name string) func(string) (io.ReadCloser, error) {
	dir := path.Dir(name)
	return func(other string) (io.ReadCloser, error) {
		file, err := f.root.OpenFile(path.Join(dir, other), os.O_RDONLY|nonblocking, 0)
		if err != nil {
			return nil, err
		}
		if info, err := file.Stat(); err != nil || !info.Mode().IsRegular() {
			file.Close()
			return nil, fmt.Errorf("%s is no file", other)
		}
		return file, nil
	}
}

// The bounds of what is looked at to see whether a piece has to be worked out anew.
const (
	mostTaken   = 100 // files, those of pieces that pieces take from too
	mostNesting = 8
)

// takenFrom is a text that changes whenever a file does that the piece takes notes
// from, or that such a file takes notes from; empty where there is none.
func (f *folder) takenFrom(name, text string) string {
	var b strings.Builder
	f.lookAt(&b, map[string]bool{}, name, text, 0)
	return b.String()
}

func (f *folder) lookAt(b *strings.Builder, seen map[string]bool, name, text string, depth int) {
	if !strings.Contains(text, "from") || depth > mostNesting {
		return
	}
	for _, other := range piecefile.TakenFrom(&source.File{Name: name, Text: []byte(text)}) {
		full := path.Join(path.Dir(name), other)
		if seen[full] || len(seen) == mostTaken {
			continue
		}
		seen[full] = true
		info, err := f.root.Stat(full)
		if err != nil {
			b.WriteString(full + " is not there\n")
			continue
		}
		fmt.Fprintln(b, full, info.Size(), info.ModTime().UnixNano())
		if strings.HasSuffix(full, extension) {
			if inner, err := f.read(full); err == nil {
				f.lookAt(b, seen, full, string(inner), depth+1)
			}
		}
	}
}
