package main

import (
	"bytes"
	"context"
	"io"
	"path/filepath"
	"strings"

	"rollwright/music/find"
	"rollwright/paper/table"
	"rollwright/text/outfile"
	"rollwright/text/source"
	"rollwright/workshop"
)

// findCommand looks for the design in notes.
type findCommand struct {
	pieceArg
	JSON bool     `name:"json" help:"For programs: JSON in place of text."`
	Into []string `sep:"none" placeholder:"FILE" help:"Write a piece that plays the notes again (.piece), or the notes with voices (.csv); may be repeated."`
}

// Help is added to find --help.
func (findCommand) Help() string {
	return `FILE may be a table of notes as well (.csv with the columns key, start_s, end_s):
where no row names a voice, the notes are parted by what explains them.
Nothing is claimed where nothing comes back; each claim says what share of the
notes it predicts, and how likely chance would be to do as well.`
}

func (c *findCommand) Run(ctx context.Context, t terminal) error {
	for _, path := range c.Into {
		if e := strings.ToLower(filepath.Ext(path)); e != ".piece" && e != ".csv" {
			return usageError{path + ": find writes a .piece that plays the notes again, or a .csv of the notes with voices"}
		}
	}
	notes, err := c.notes(ctx, t)
	if err != nil {
		return err
	}
	d, err := find.Find(ctx, notes)
	if err != nil {
		return err
	}
	for _, path := range c.Into {
		write := func(w io.Writer) error { return find.WriteRows(w, d) }
		if strings.EqualFold(filepath.Ext(path), ".piece") {
			write = func(w io.Writer) error { return find.WriteDraft(w, d, filepath.Base(c.File)) }
		}
		if err := outfile.Write(ctx, path, write); err != nil {
			return err
		}
	}
	switch {
	case c.JSON:
		return find.WriteJSON(t.out, d)
	case len(c.Into) == 0:
		return find.WriteText(t.out, d)
	}
	return nil
}

// notes are those of a source: of a table of notes as its rows have them, of any
// other as it plays.
func (c *findCommand) notes(ctx context.Context, t terminal) ([]find.Note, error) {
	if strings.EqualFold(filepath.Ext(c.File), ".csv") || c.File == "-" {
		text, err := workshop.ReadTable(c.File, t.in)
		if err != nil {
			return nil, err
		}
		file := &source.File{Name: c.File, Text: text}
		if kind, err := table.KindOf(file); err == nil && kind == table.Events {
			return notesOfTable(file)
		}
		t.in = bytes.NewReader(text)
	}
	job, err := c.open(ctx, t)
	if err != nil {
		return nil, err
	}
	return job.Notes()
}

func notesOfTable(file *source.File) ([]find.Note, error) {
	read, err := table.ReadEvents(file)
	if err != nil {
		return nil, err
	}
	notes := make([]find.Note, len(read.Events))
	for i, e := range read.Events {
		notes[i] = workshop.NoteOf(e, read.Voices)
	}
	return notes, nil
}
