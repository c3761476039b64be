// Package infile opens what is read: a file, and nothing that only looks like
// one.
//
// To open a pipe waits until somebody writes to it, to read a device may never
// end, and what a folder answers is no sentence. Each of them is an error at
// once, with the way out.
package infile

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"strings"
)

// Open opens the file at path for reading. A folder, a pipe, a device is an
// error at once; what the shell hands over as an open file (/dev/stdin,
// /dev/fd/63) is read as it comes.
func Open(path string) (*os.File, error) {
	if err := Check(path); err != nil {
		return nil, err
	}
	return os.Open(path)
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
