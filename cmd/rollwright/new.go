package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"rollwright/examples"
	"rollwright/text/outfile"
	"rollwright/text/source"
	"rollwright/workshop"
)

// newCommand writes a piece to begin with. It asks nothing.
type newCommand struct {
	File    string `arg:"" optional:"" help:"The file to write; by default the example's name."`
	Example string `placeholder:"NAME" help:"Which piece to begin with; 'list' lists them."`
	From    string `placeholder:"FILE" help:"A MIDI or MusicXML file to write the piece from: a voice for each line, to be edited."`
	Again   bool   `help:"Write even over a file that is there."`

	Instrument string  `group:"What a file of notes does not say" placeholder:"NAME|FILE" help:"The piece's instrument (88-note)."`
	RollTempo  float64 `group:"What a file of notes does not say" placeholder:"TEMPO" help:"Its roll tempo, in place of the instrument's."`
	Hammers    string  `group:"What a file of notes does not say" placeholder:"felt|metal|tacks" help:"Its hammers (metal)."`
}

func (c *newCommand) Run(ctx context.Context, t terminal) error {
	if c.Example == "list" {
		return listExamples(t.out)
	}
	if c.From != "" {
		return c.writeFrom(ctx, t)
	}
	if c.Instrument != "" || c.RollTempo != 0 || c.Hammers != "" {
		return usageError{"--instrument, --roll-tempo and --hammers go with --from: a piece says them itself"}
	}
	name := c.Example
	if name == "" {
		name = examples.First
	}
	text, err := exampleText(name)
	if err != nil {
		return err
	}
	return c.write(ctx, t, name, text)
}

// write writes the piece, under the name that is asked for or else one like name.
func (c *newCommand) write(ctx context.Context, t terminal, name string, text []byte) error {
	path := c.File
	if path == "" {
		path = name
	}
	if filepath.Ext(path) == "" {
		path += ".piece"
	}
	if err := c.mayWrite(path); err != nil {
		return err
	}
	err := outfile.Write(ctx, path, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(t.err, "wrote %s; it plays as it is. Next: rollwright plan %s\n", path, path)
	return nil
}

// writeFrom writes a piece that plays the notes of another file.
func (c *newCommand) writeFrom(ctx context.Context, t terminal) error {
	if c.Example != "" {
		return usageError{"--from and --example each say what to begin with: give one of the two"}
	}
	if err := oneOf("--hammers", c.Hammers, hammerWords); err != nil {
		return err
	}
	in, err := c.instrument()
	if err != nil {
		return err
	}
	text, said, err := workshop.DraftFrom(c.From, workshop.Given{Instrument: in, RollTempo: c.RollTempo,
		Hammers: c.Hammers})
	if err != nil {
		return err
	}
	tellOf(t, c.From, said)
	base := filepath.Base(c.From)
	return c.write(ctx, t, strings.TrimSuffix(base, filepath.Ext(base)), text)
}

// instrument is the instrument as the piece names it: a path counts from its folder.
func (c *newCommand) instrument() (string, error) {
	path, err := instrumentPath(c.Instrument)
	if err != nil || path == c.Instrument {
		return path, err
	}
	folder, err := filepath.Abs(filepath.Dir(c.File))
	if err != nil {
		return "", err
	}
	path, err = filepath.Rel(folder, path)
	return filepath.ToSlash(path), err
}

// mayWrite refuses to write over a piece, and makes the folder when asked to
// write into one that does not exist yet.
func (c *newCommand) mayWrite(path string) error {
	if _, err := os.Lstat(path); err == nil && !c.Again {
		return fmt.Errorf("%s is there already and stays as it is; name another file, or say --again to write over it", path)
	} else if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return os.MkdirAll(filepath.Dir(path), 0o755)
}

func listExamples(w io.Writer) error {
	for _, e := range examples.List() {
		if _, err := fmt.Fprintf(w, "%-12s %s: %s\n", e.Name, e.Title, e.Idea); err != nil {
			return err
		}
	}
	return nil
}

func exampleText(name string) ([]byte, error) {
	text, err := examples.Source(name)
	if err == nil {
		return text, nil
	}
	var names []string
	for _, e := range examples.List() {
		names = append(names, e.Name)
	}
	hint := "one of " + strings.Join(names, ", ")
	if near, ok := source.Nearest(name, names); ok {
		hint = "did you mean " + near + "? " + hint
	}
	return nil, usageError{fmt.Sprintf("there is no example %q; %s", name, hint)}
}
