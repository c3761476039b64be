package main

import (
	"context"
	"fmt"
	"io"
	"os"

	"rollwright/bench"
	"rollwright/outfile"
)

// benchesCommand lists the built-in benches, shows the text of one, or copies
// one to a file to change.
type benchesCommand struct {
	Name string `arg:"" optional:"" help:"The bench to show or copy; without it, all are listed."`
	Copy string `placeholder:"FILE" help:"Write the bench to this file, to change it."`
}

func (c *benchesCommand) Run(ctx context.Context, t terminal) error {
	if c.Name == "" {
		if c.Copy != "" {
			return usageError{"name the bench to copy: rollwright benches crank-2mm --copy mine.bench"}
		}
		for _, b := range bench.List() {
			if _, err := fmt.Fprintf(t.out, "%-14s %s\n", b.Name, b.Title); err != nil {
				return err
			}
		}
		return nil
	}
	text, err := bench.Source(c.Name)
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
	fmt.Fprintf(t.err, "wrote %s; it is used with: --bench %s\n", c.Copy, c.Copy)
	return nil
}
