package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"rollwright/instrument"
	"rollwright/outfile"
)

// instrumentsCommand lists the built-in instruments, shows the text of one, or
// copies one to a file to change.
type instrumentsCommand struct {
	Name string `arg:"" optional:"" help:"The instrument to show or copy; without it, all are listed."`
	Copy string `placeholder:"FILE" help:"Write the instrument to this file, to change it."`
}

func (c *instrumentsCommand) Run(ctx context.Context, t terminal) error {
	if c.Name == "" {
		if c.Copy != "" {
			return usageError{"name the instrument to copy: rollwright instruments 88-note --copy mine.instrument"}
		}
		return listInstruments(t.out)
	}
	text, err := instrument.Source(c.Name)
	if err != nil {
		return usageError{err.Error()}
	}
	if c.Copy == "" {
		_, err := t.out.Write(text)
		return err
	}
	if _, err := os.Lstat(c.Copy); err == nil {
		return fmt.Errorf("%s is there already and stays as it is; name another file", c.Copy)
	}
	err = outfile.Write(ctx, c.Copy, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(t.err, "wrote %s; a piece uses it with: instrument = %q\n", c.Copy, c.Copy)
	return nil
}

func listInstruments(w io.Writer) error {
	for _, in := range instrument.List() {
		if _, err := fmt.Fprintf(w, "%-14s %s\n", in.Name, in.Title); err != nil {
			return err
		}
	}
	return nil
}
