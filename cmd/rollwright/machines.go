package main

import (
	"fmt"
	"io"

	"rollwright/workshop"
)

// machining are the options of what a machine cuts.
type machining struct {
	Machine string `placeholder:"NAME|FILE" help:"Write for this machine, a file a bed: a built-in one (see rollwright machines) or a .machine file."`
	Copies  int    `default:"1" placeholder:"N" help:"How many rolls are wanted (1)."`
}

// set puts the machine into o.
func (m *machining) set(o *workshop.Options) error {
	if m.Copies < 1 || m.Copies > 10_000 {
		return usageError{"--copies runs from 1 to 10000"}
	}
	o.Machining = workshop.Machining{Machine: m.Machine, Copies: m.Copies}
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
