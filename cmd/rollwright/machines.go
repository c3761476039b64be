package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"rollwright/workshop"
)

// machining are the options of what a machine cuts.
type machining struct {
	Machine string `placeholder:"NAME|FILE" help:"Write for this machine, a file a bed: a built-in one (see rollwright machines) or a .machine file."`
	Copies  int    `default:"1" placeholder:"N" help:"How many rolls are wanted (1)."`
}

// set puts the machine into o, and refuses files of other kinds.
func (m *machining) set(o *workshop.Options, paths []string) error {
	if m.Copies < 1 || m.Copies > 10_000 {
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
