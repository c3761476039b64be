// Package infile opens what is read: a file, and nothing that only looks like
// one.
//
// To open a pipe waits until somebody writes to it, to read a device may never
// end, and what a folder answers is no sentence. Each of them is an error at
// once, with the way out.
//
// What was opened is remembered: outfile refuses to write over what the same run
// reads, under whatever name.
package infile

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"sync"
)

// Open opens the file at path for reading. A folder, a pipe, a device is an
// error at once; what the shell hands over as an open file (/dev/stdin,
// /dev/fd/63) is read as it comes.
func Open(path string) (*os.File, error) {
	if err := Check(path); err != nil {
		return nil, err
	}
	file, err := os.Open(path)
	if err == nil {
		Note(path, file)
	}
	return file, err
}

// Read is the file at path, which may have so many bytes at most, as Open opens
// it.
func Read(path string, most int) ([]byte, error) {
	file, err := Open(path)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, int64(most)+1))
	if err == nil && len(text) > most {
		err = &TooLongError{path, most}
	}
	return text, err
}

// TooLongError says that a file is longer than what is read of its kind.
type TooLongError struct {
	Path string
	Most int // bytes
}

func (e *TooLongError) Error() string {
	if e.Most >= 1<<20 {
		return fmt.Sprintf("%s is longer than %d MB", e.Path, e.Most>>20)
	}
	return fmt.Sprintf("%s is longer than %d bytes", e.Path, e.Most)
}

// inputs are the files that this program has opened, by their paths.
var inputs struct {
	sync.Mutex
	files map[string]fs.FileInfo
}

// Note remembers a file that was opened under path in another way than by Open.
func Note(path string, file fs.File) {
	info, err := file.Stat()
	if err != nil || !info.Mode().IsRegular() {
		return
	}
	inputs.Lock()
	defer inputs.Unlock()
	if inputs.files == nil {
		inputs.files = map[string]fs.FileInfo{}
	}
	inputs.files[path] = info
}

// Opened is the path under which a file was opened to be read; empty: it was not.
// It is known by its identity, so that a link to it is it.
func Opened(info fs.FileInfo) string {
	inputs.Lock()
	defer inputs.Unlock()
	first := ""
	for path, one := range inputs.files {
		if !os.SameFile(one, info) || first != "" && first < path {
			continue
		}
		if now, err := os.Stat(path); err == nil && os.SameFile(one, now) { // else another may have its number now
			first = path
		}
	}
	return first
}

// Check is an error where path does not lead to a file that can be read to its
// end, without opening it. Where there is nothing it is fs.ErrNotExist.
func Check(path string) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	if info.Mode().IsRegular() || handed(path) {
		return nil
	}
	return &NoFileError{path, info.Mode()}
}

// handed reports whether path names a file that this program was given open: a
// shell does so for <(...).
func handed(path string) bool {
	return path == "/dev/stdin" || strings.HasPrefix(path, "/dev/fd/") || strings.HasPrefix(path, "/proc/self/fd/")
}

// NoFileError says what lies where a file should.
type NoFileError struct {
	Path string
	Mode fs.FileMode
}

func (e *NoFileError) Error() string {
	switch {
	case e.Mode.IsDir():
		return fmt.Sprintf("%s is a folder, where a file is wanted; name a file in it", e.Path)
	case e.Mode&fs.ModeNamedPipe != 0:
		return fmt.Sprintf("%s is a pipe, where a file is wanted; put what it gives into a file first", e.Path)
	case e.Mode&fs.ModeSocket != 0:
		return fmt.Sprintf("%s is a socket, where a file is wanted; name a file", e.Path)
	}
	return fmt.Sprintf("%s is a device, where a file is wanted; name a file", e.Path)
}

// byteOrderMark begins a text that some editors save as UTF-8 (RFC 3629,
// section 6).
var byteOrderMark = []byte("\ufeff")

// Text is a text without the byte order mark that it may begin with.
func Text(text []byte) []byte { return bytes.TrimPrefix(text, byteOrderMark) }
