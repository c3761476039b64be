package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"rollwright/machine"
	"rollwright/outfile"
	"rollwright/workshop"
)

// machining are the options of what a machine cuts.
type machining struct {
	Machine string `placeholder:"NAME|FILE" help:"Write for this machine, a file a bed: a built-in one (see rollwright machines) or a .machine file."`
	Copies  int    `placeholder:"N" help:"How many rolls are wanted (1)."`
}

// set puts the machine into o, and refuses files of other kinds.
func (m *machining) set(o *workshop.Options, paths []string) error {
	if m.Copies < 0 || m.Copies > 10_000 {
		return usageError{"--copies runs from 1 to 10000"}
	}
	o.Machining = workshop.Machining{Machine: m.Machine, Copies: m.Copies}
	if m.Machine == "" {
		return nil
	}
	for _, path := range paths {
		switch strings.ToLower(filepath.Ext(path)) {
		case ".nc", ".svg", ".dxf":
		default:
			return usageError{path + ": for a machine .nc, .svg and .dxf are written; write the others without --machine"}
		}
	}
	return nil
}

// sayMachineWork says what cutting takes, where a machine is named.
func sayMachineWork(w io.Writer, job *workshop.Job, o *workshop.Options) error {
	if o.Machine == "" {
		return nil
	}
	lines, err := job.MachineWork(o)
	for _, line := range lines {
		fmt.Fprintln(w, line)
	}
	return err
}

// machinesCommand lists the built-in machines, shows the text of one, or copies
// one to a file to change.
type machinesCommand struct {
	Name string `arg:"" optional:"" help:"The machine to show or copy; without it, all are listed."`
	Copy string `placeholder:"FILE" help:"Write the machine to this file, to change it."`
}

func (c *machinesCommand) Run(ctx context.Context, t terminal) error {
	if c.Name == "" {
		if c.Copy != "" {
			return usageError{"name the machine to copy: rollwright machines laser --copy mine.machine"}
		}
		for _, m := range machine.List() {
			if _, err := fmt.Fprintf(t.out, "%-14s %s\n", m.Name, m.Title); err != nil {
				return err
			}
		}
		return nil
	}
	text, err := machine.Source(c.Name)
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
	fmt.Fprintf(t.err, "wrote %s; it is used with: --machine %s\n", c.Copy, c.Copy)
	return nil
}
