package workshop

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/music/transcribe"
	"rollwright/paper/instrument"
	"rollwright/text/infile"
	"rollwright/text/source"
)

// Reach is what a piece may reach beyond its own text. The zero value is the disk:
// instruments where they are named, other files beside the piece and below.
type Reach struct {
	// Instrument gives the instrument of a name, whose path counts from folder.
	Instrument func(name, folder string) (*instrument.Instrument, error)
	// Open opens another file by its path from the folder of the piece, slashes
	// between its parts, which leads neither up nor to a root.
	Open func(path string) (io.ReadCloser, error)
}

// mostOthers bounds the files that a piece takes notes from.
const mostOthers = 100

// others are the files that a piece takes notes from. Each is read once.
type others struct {
	open   func(path string) (io.ReadCloser, error)
	files  map[string]*transcribe.File
	texts  map[string][]byte // of all files, by their paths from the piece's folder
	names  []string          // in the order in which they were asked for
	within []string          // the pieces that are being read, the innermost last
	notes  int               // that pieces have taken
	said   []string
}

func newOthers(own, folder string, r Reach) *others {
	open := r.Open
	if open == nil {
		open = func(path string) (io.ReadCloser, error) { return openBelow(folder, path) }
	}
	return &others{open: open, files: map[string]*transcribe.File{}, texts: map[string][]byte{}, within: []string{own}}
}

// openBelow opens a regular file in a folder or below it; links do not lead out.
func openBelow(folder, name string) (io.ReadCloser, error) {
	root, err := os.OpenRoot(folder)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	info, err := root.Stat(filepath.FromSlash(name))
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, errors.New("it is no file")
	}
	file, err := root.Open(filepath.FromSlash(name))
	if err == nil {
		infile.Note(filepath.Join(folder, filepath.FromSlash(name)), file)
	}
	return file, err
}

// options let the piece in a folder, counted from that of the first one, take notes.
func (o *others) options(folder string) piecefile.Options {
	return piecefile.Options{Notes: func(ask piecefile.Excerpt) ([]piece.Duration, []piece.Pitch, error) {
		talea, color, err := o.take(folder, ask)
		if o.notes += len(color); o.notes > transcribe.MaxNotes {
			return nil, nil, fmt.Errorf("more than %d notes from other files", transcribe.MaxNotes)
		}
		return talea, color, err
	}}
}

func (o *others) take(folder string, ask piecefile.Excerpt) ([]piece.Duration, []piece.Pitch, error) {
	named := filepath.ToSlash(ask.File)
	if path.IsAbs(named) || strings.Contains(named, `\`) || !filepath.IsLocal(filepath.FromSlash(named)) {
		return nil, nil, &piecefile.ExcerptError{Attr: "from", Problem: source.Printable(ask.File) +
			" is not beside this piece, nor below it",
			Hint: "copy the file into the folder of the piece, and name it from there"}
	}
	name := path.Join(folder, named)
	text, err := o.read(name)
	if err != nil {
		return nil, nil, err
	}
	if strings.ToLower(path.Ext(name)) == ".piece" {
		return o.ofPiece(name, text, ask)
	}
	f, known := o.files[name]
	if !known {
		if f, err = transcribe.Read(name, text); err != nil {
			return nil, nil, err
		}
		o.files[name] = f
		for _, said := range f.Said {
			o.said = append(o.said, name+": "+said)
		}
	}
	return f.Excerpt(ask)
}

// ofPiece takes notes of another piece, which may take its own from elsewhere, but not
// in a circle.
func (o *others) ofPiece(name string, text []byte, ask piecefile.Excerpt) ([]piece.Duration, []piece.Pitch, error) {
	if at := slices.Index(o.within, name); at >= 0 {
		circle := append(slices.Clone(o.within[at:]), name)
		return nil, nil, &piecefile.ExcerptError{Attr: "from", Problem: "these files take notes from each other in a circle: " + strings.Join(circle, " from "),
			Hint: "one of them needs notes of its own"}
	}
	o.within = append(o.within, name)
	defer func() { o.within = o.within[:len(o.within)-1] }()
	return piecefile.Material(&source.File{Name: name, Text: text}, o.options(path.Dir(name)), ask)
}

// read is the bytes of a file by its path from the folder of the first piece.
func (o *others) read(name string) ([]byte, error) {
	if text, known := o.texts[name]; known {
		return text, nil
	}
	if len(o.names) == mostOthers {
		return nil, fmt.Errorf("a piece takes notes from at most %d files", mostOthers)
	}
	file, err := o.open(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, &piecefile.ExcerptError{Attr: "from", Problem: "there is no file " + source.Printable(name),
			Hint: "its path counts from the folder of the piece"}
	case err != nil:
		return nil, fmt.Errorf("cannot read %s: %w", source.Printable(name), err)
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, transcribe.MaxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("cannot read %s: %w", source.Printable(name), err)
	}
	if len(text) > transcribe.MaxBytes {
		return nil, fmt.Errorf("%s is larger than %d MB", source.Printable(name), transcribe.MaxBytes>>20)
	}
	o.texts[name], o.names = text, append(o.names, name)
	return text, nil
}
