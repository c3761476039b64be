package workshop

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"rollwright/music/piecefile"
	"rollwright/music/transcribe"
	"rollwright/paper/instrument"
	"rollwright/paper/table"
	"rollwright/text/choice"
	"rollwright/text/infile"
	"rollwright/text/source"
)

// The bounds of sources: a piece written by hand is far below, a table may list
// millions of rows.
const (
	maxBytes      = 1 << 20
	maxTableBytes = 512 << 20
)

// Given is what a source that is no piece does not say itself.
type Given struct {
	Instrument string  // built-in name, or path of a file, counted from the source's folder; empty: 88-note
	RollTempo  float64 // 0: as the instrument has it
	Hammers    string  // felt, metal or tacks; empty: metal

	// Set changes the text of a piece before it is read: "quick.speed=7/5"; see
	// piecefile.Assign.
	Set []string

	// Load gives the instrument of a name, whose path counts from folder; nil:
	// instrument.Load.
	Load func(name, folder string) (*instrument.Instrument, error)
}

// load is the instrument of a name, whose path counts from folder.
func (g Given) load(name, folder string) (*instrument.Instrument, error) {
	if g.Load != nil {
		return g.Load(name, folder)
	}
	return instrument.Load(name, folder)
}

// Open reads the source called name, or standard input when name is "-", and works
// out what follows from it. Errors are source.Errors where the text is at fault.
func Open(ctx context.Context, name string, stdin io.Reader) (*Job, error) {
	return OpenGiven(ctx, name, stdin, Given{})
}

// OpenGiven is Open for a source that may not say everything itself. It is told
// apart by its extension, on standard input by how it begins: a piece, a MIDI file, a
// table of notes or of holes, or a picture of paper.
func OpenGiven(ctx context.Context, name string, stdin io.Reader, g Given) (*Job, error) {
	extension := strings.ToLower(filepath.Ext(name))
	if IsPicture(extension) {
		return noPiece(g, func() (*Job, error) { return ofPicture(ctx, name, g) })
	}
	if transcribe.Known(name) {
		text, err := readText(name, stdin, transcribe.MaxBytes)
		if err != nil {
			return nil, err
		}
		return noPiece(g, func() (*Job, error) {
			return OfTranscribed(ctx, &source.File{Name: name, Text: text}, filepath.Dir(name), g)
		})
	}
	if extension != ".csv" && name != "-" {
		return openPiece(ctx, name, stdin, g)
	}
	text, err := readText(name, stdin, maxTableBytes)
	if err != nil {
		return nil, err
	}
	f := &source.File{Name: name, Text: text}
	if transcribe.Begins(text) {
		return noPiece(g, func() (*Job, error) { return OfTranscribed(ctx, f, filepath.Dir(name), g) })
	}
	if _, err := table.KindOf(f); name == "-" && err != nil {
		return pieceOf(ctx, f, g)
	}
	return noPiece(g, func() (*Job, error) { return OfTable(f, filepath.Dir(name), g) })
}

// OfTable is a table of notes or of holes, as its header says, with everything that
// follows from it. Paths count from folder.
func OfTable(f *source.File, folder string, g Given) (*Job, error) {
	kind, err := table.KindOf(f)
	switch {
	case err != nil:
		return nil, err
	case kind == table.Holes:
		return OfHoles(f, folder, g)
	}
	return OfNotes(f, folder, g)
}

// noPiece opens a source that is no piece, unless something of a piece is to be set.
func noPiece(g Given, open func() (*Job, error)) (*Job, error) {
	if len(g.Set) > 0 {
		return nil, choice.Errorf("{set} changes the text of a piece, and this source is none; new {from} writes one from a file of notes")
	}
	return open()
}

func openPiece(ctx context.Context, name string, stdin io.Reader, g Given) (*Job, error) {
	text, err := readText(name, stdin, maxBytes)
	if err != nil {
		return nil, err
	}
	return pieceOf(ctx, &source.File{Name: name, Text: text}, g)
}

// pieceOf performs a piece. It says itself what plays it.
func pieceOf(ctx context.Context, f *source.File, g Given) (*Job, error) {
	if len(f.Text) > maxBytes {
		return nil, tooLarge(f.Name, maxBytes)
	}
	if g.Instrument != "" || g.RollTempo != 0 {
		return nil, choice.Errorf("a piece says itself which instrument plays it, and how fast its paper runs: {instrument} and {roll-tempo} are for other sources; {set} changes a piece")
	}
	for _, assignment := range g.Set {
		text, err := piecefile.Assign(f, assignment)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", assignment, err)
		}
		f = &source.File{Name: f.Name, Text: text}
	}
	return New(ctx, f, filepath.Dir(f.Name))
}

func readText(name string, stdin io.Reader, most int64) ([]byte, error) {
	in := stdin
	if name != "-" {
		file, err := infile.Open(name)
		if err != nil {
			return nil, unreadable(name, err)
		}
		defer file.Close()
		in = file
	}
	text, err := io.ReadAll(io.LimitReader(in, most+1))
	switch {
	case err != nil:
		return nil, unreadable(name, err)
	case int64(len(text)) > most:
		return nil, tooLarge(name, most)
	}
	return text, nil
}

// ReadTable is the text of a table, or of standard input when name is "-", bounded as
// OpenGiven bounds it: for what takes rows as they stand, on no instrument.
func ReadTable(name string, stdin io.Reader) ([]byte, error) {
	return readText(name, stdin, maxTableBytes)
}

func tooLarge(name string, most int64) error {
	if most == maxBytes {
		return fmt.Errorf("%s is larger than %d MB; a piece file holds text, split this one", name, most>>20)
	}
	return fmt.Errorf("%s is larger than %d MB; divide the table", name, most>>20)
}
