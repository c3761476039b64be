package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"rollwright/making/bench"
	"rollwright/making/machine"
	"rollwright/paper/instrument"
	"rollwright/text/outfile"
	"rollwright/text/shelf"
)

// builtin are the words of the commands that list what is built in, show the
// text of one, or copy one to a file to change.
type builtin struct {
	Name string `arg:"" optional:"" help:"Which to show or copy; without it, all are listed."`
	Copy string `placeholder:"FILE" help:"Write it to this file, to change it."`
}

// run does what the words ask. use says how a copy is used; it holds the
// file's name as %s.
func (b *builtin) run(ctx context.Context, t terminal, extension string, list []shelf.Listed,
	source func(string) ([]byte, error), use string) error {
	switch {
	case b.Name == "" && b.Copy != "":
		return usageError{"name which to copy: rollwright ... " + list[0].Name + " --copy " + b.Copy}
	case b.Name == "":
		return printList(t.out, list)
	}
	text, err := source(b.Name)
	if err != nil {
		return usageError{err.Error()}
	}
	if b.Copy == "" {
		_, err := t.out.Write(text)
		return err
	}
	return b.copy(ctx, t, text, extension, use)
}

func printList(w io.Writer, list []shelf.Listed) error {
	for _, l := range list {
		if _, err := fmt.Fprintf(w, "%-14s %s\n", l.Name, l.Title); err != nil {
			return err
		}
	}
	return nil
}

func (b *builtin) copy(ctx context.Context, t terminal, text []byte, extension, use string) error {
	if got := filepath.Ext(b.Copy); got != extension {
		return usageError{fmt.Sprintf("%s: by its name nothing would find it; end the name in %s: %s", b.Copy, extension,
			strings.TrimSuffix(b.Copy, got)+extension)}
	}
	if _, err := os.Lstat(b.Copy); err == nil {
		return fmt.Errorf("%s is there already and stays as it is; name another file", b.Copy)
	}
	err := outfile.Write(ctx, b.Copy, func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(t.err, "wrote %s; "+use+"\n", b.Copy, b.Copy)
	return nil
}

// instrumentsCommand is about built-in instruments.
type instrumentsCommand struct{ builtin }

func (c *instrumentsCommand) Run(ctx context.Context, t terminal) error {
	return c.run(ctx, t, instrument.Extension, instrument.List(), instrument.Source, `a piece uses it with: instrument = %q`)
}

// benchesCommand is about built-in benches.
type benchesCommand struct{ builtin }

func (c *benchesCommand) Run(ctx context.Context, t terminal) error {
	return c.run(ctx, t, bench.Extension, bench.List(), bench.Source, "it is used with: --bench %s")
}

// machinesCommand is about built-in machines.
type machinesCommand struct{ builtin }

func (c *machinesCommand) Run(ctx context.Context, t terminal) error {
	return c.run(ctx, t, machine.Extension, machine.List(), machine.Source, "it is used with: --machine %s")
}
