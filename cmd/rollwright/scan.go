package main

import (
	"context"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"strings"

	"rollwright/paper/instrument"
	"rollwright/scan/read"
	"rollwright/text/say"
	"rollwright/workshop"
)

// readCommand reads pictures of a roll back into holes.
type readCommand struct {
	Pictures []string `arg:"" name:"picture" help:"Pictures of one roll, in order: PNG, TIFF, PGM, PPM, PBM, JPEG. They may overlap."`
	scanning
	machining
	Into []string `placeholder:"FILE" help:"Write the roll: .csv (- is standard output), .mid, .piece, .html (a report), .pdf, .svg, .dxf, .png, with --machine .nc. Without it, a summary."`
}

// scanning are the options of reading pictures.
type scanning struct {
	Instrument string `default:"88-note" placeholder:"NAME" help:"Whose roll it is, by name or file; auto: the built-in one whose ports fit best."`
	picturing
}

// picturing are those about the pictures alone.
type picturing struct {
	DPI   string `name:"dpi" placeholder:"N" help:"Pixels an inch, or ALONGxACROSS. Without it: as the file says, else by the paper's width."`
	First string `placeholder:"EDGE" help:"Edge of the picture where the music begins: bottom, top, left or right."`
	Bass  string `placeholder:"EDGE" help:"Edge of the picture where the lowest port lies."`
	Snap  bool   `help:"Put edges on the rows of the perforator that cut the roll."`
}

// options are what the flags say.
func (s *scanning) options() (o read.Options, err error) {
	if o, err = s.picturing.options(); err == nil {
		o.Instruments, err = scanInstruments(s.Instrument)
	}
	return o, err
}

// options are what the flags say, whatever the instrument.
func (s *picturing) options() (o read.Options, err error) {
	if o.First, err = read.ParseSide(s.First); err == nil {
		o.Bass, err = read.ParseSide(s.Bass)
	}
	if err == nil {
		o.DPIAlong, o.DPIAcross, err = parseDPI(s.DPI)
	}
	if err != nil {
		return o, usageError{err.Error()}
	}
	return o, nil
}

// scanInstruments are the instruments that a name stands for.
func scanInstruments(name string) ([]*instrument.Instrument, error) {
	names := []string{name}
	if name == "auto" {
		names = []string{"88-note", "65-note"}
	}
	var out []*instrument.Instrument
	for _, n := range names {
		in, err := instrument.Load(n, "")
		if err != nil {
			return nil, err
		}
		out = append(out, in)
	}
	return out, nil
}

// The resolutions that scanners have, with room to both sides.
const (
	leastDPI = 30
	mostDPI  = 10000
)

// parseDPI reads 300 or 300x150, along by across; "" is 0.
func parseDPI(text string) (along, across float64, err error) {
	if text == "" {
		return 0, 0, nil
	}
	first, second, two := strings.Cut(text, "x")
	along, err = strconv.ParseFloat(first, 64)
	if across = along; two && err == nil {
		across, err = strconv.ParseFloat(second, 64)
	}
	if err != nil || !(along >= leastDPI && along <= mostDPI && across >= leastDPI && across <= mostDPI) {
		return 0, 0, fmt.Errorf("--dpi %s: write pixels an inch from %d to %d, as 300, or along and across, as 300x150", text,
			leastDPI, mostDPI)
	}
	return along, across, nil
}

func (c *readCommand) Run(ctx context.Context, t terminal) error {
	o, err := c.options()
	if err != nil {
		return err
	}
	var to workshop.Options
	if err := c.machining.set(&to); err != nil {
		return err
	}
	for _, path := range c.Into {
		if err := workshop.CanWriteReading(path, &to); err != nil {
			return usageError{worded(err)}
		}
	}
	r, err := c.read(ctx, t.err, o, c.Pictures...)
	if err != nil {
		return err
	}
	for _, line := range r.Cut() {
		fmt.Fprintln(t.err, line)
	}
	if len(c.Into) == 0 {
		return r.WriteSummary(t.out)
	}
	for _, path := range c.Into {
		made, err := workshop.WriteReading(ctx, path, r, &to, t.out)
		if err != nil {
			return err
		}
		for _, name := range made {
			fmt.Fprintln(t.err, "wrote", name)
		}
	}
	if n := len(r.Doubtful()); n > 0 {
		fmt.Fprintf(t.err, "%s doubtful; read without --into lists them, --into report.html shows them\n",
			say.Count(n, "slot"))
	}
	return nil
}

// read reads with a bar of progress.
func (s *picturing) read(ctx context.Context, w io.Writer, o read.Options, names ...string) (*read.Reading, error) {
	progress := newProgress(w, shares)
	defer progress.close()
	o.Progress = func(i int, share float64) {
		progress.share(filepath.Base(names[i]), (float64(i)+share)/float64(len(names)))
	}
	r, err := read.Read(ctx, names, o)
	if err == nil && s.Snap {
		err = r.Snap()
	}
	return r, err
}
