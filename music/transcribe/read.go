package transcribe

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
)

// MaxBytes is the largest file that is read.
const MaxBytes = 64 << 20

// Extensions are those of the files that Read takes.
var Extensions = []string{".mid", ".midi", ".musicxml", ".xml", ".mxl"}

// Known reports whether a name has the extension of a file that Read takes.
func Known(name string) bool {
	return slices.Contains(Extensions, strings.ToLower(filepath.Ext(name)))
}

// Begins reports whether bytes begin as those of a file that Read takes.
func Begins(text []byte) bool {
	return bytes.HasPrefix(text, []byte("MThd")) || bytes.HasPrefix(text, []byte("PK\x03\x04")) || isXML(text)
}

// isXML reports whether bytes begin as those of XML do, a byte order mark and blanks
// aside.
func isXML(text []byte) bool {
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	return bytes.HasPrefix(bytes.TrimLeft(text[:min(len(text), 1000)], " \t\r\n"), []byte("<"))
}

// Read reads a file of at most MaxBytes, told apart by how it begins. The name is for
// complaints.
func Read(name string, text []byte) (*File, error) {
	if len(text) > MaxBytes {
		return nil, fmt.Errorf("%s is larger than %d MB", name, MaxBytes>>20)
	}
	if bytes.HasPrefix(text, []byte("PK\x03\x04")) {
		unpacked, err := score(name, text)
		if err != nil {
			return nil, err
		}
		text = unpacked
	}
	switch {
	case bytes.HasPrefix(text, []byte("MThd")):
		return ReadMIDI(name, bytes.NewReader(text))
	case isXML(text):
		return ReadMusicXML(name, bytes.NewReader(text))
	}
	return nil, fmt.Errorf("%s begins neither as a MIDI file does nor as a MusicXML file", name)
}
