package main

import (
	"context"
	"fmt"
	"os"
	"strings"

	"rollwright/paper/instrument"
	"rollwright/workshop"
)

// overhearCommand holds a recording against the roll that it is of.
type overhearCommand struct {
	Plan       string  `arg:"" help:"The roll that played: a piece, a table of holes (.csv), or a test roll by its folder or its .readings."`
	Take       string  `arg:"" help:"The recording: WAV or FLAC; any other by ffmpeg, where that is installed."`
	JSON       bool    `name:"json" help:"JSON in place of sentences."`
	Write      string  `placeholder:"FILE" help:"Write the instrument as it was heard to this file."`
	Into       string  `placeholder:"FILE" help:"Write every stroke to this .csv; - is standard output."`
	Piano      string  `placeholder:"NAME" help:"The piano that was recorded, of a plan for several."`
	Instrument string  `group:"Sources that are no piece" placeholder:"NAME|FILE" help:"The instrument of a table of holes (88-note)."`
	RollTempo  float64 `group:"Sources that are no piece" placeholder:"TEMPO" help:"Its roll tempo, in place of the instrument's."`
}

// Help is added to overhear --help.
func (overhearCommand) Help() string {
	return `Record a metre away from the piano, without noise suppression or automatic gain, from before the first note on.
Keep hands out of moving spools; a hard-hammered piano is loud: protect your ears, and follow your local rules.`
}

func (c *overhearCommand) check() error {
	switch {
	case c.Write != "" && !strings.HasSuffix(c.Write, instrument.Extension):
		return usageError{c.Write + ": an instrument's file ends in " + instrument.Extension}
	case c.Into != "" && c.Into != "-" && !strings.HasSuffix(strings.ToLower(c.Into), ".csv"):
		return usageError{c.Into + ": strokes are written to a .csv, or to - for standard output"}
	case c.Into == "-" && c.JSON:
		return usageError{"--json and --into - both take standard output: name a file for one of them"}
	}
	if c.Write != "" {
		if _, err := os.Lstat(c.Write); err == nil {
			return fmt.Errorf("%s is there already and stays as it is; name another file", c.Write)
		}
	}
	return nil
}

func (c *overhearCommand) Run(ctx context.Context, t terminal) error {
	if err := c.check(); err != nil {
		return err
	}
	in, err := instrumentPath(c.Instrument)
	if err != nil {
		return err
	}
	heard, err := workshop.Overhear(ctx, c.Plan, c.Take, c.Piano, t.in,
		workshop.Given{Instrument: in, RollTempo: c.RollTempo})
	if err != nil {
		return err
	}
	switch {
	case c.JSON:
		err = heard.WriteJSON(t.out)
	case c.Into == "-":
		err = heard.WriteHeard(t.out)
	default:
		err = heard.WriteReport(t.out)
	}
	if err != nil {
		return err
	}
	if c.Into != "" && c.Into != "-" {
		if err := heard.WriteTable(ctx, c.Into); err != nil {
			return err
		}
		fmt.Fprintf(t.err, "wrote %s\n", c.Into)
	}
	if c.Write == "" {
		return nil
	}
	if err := heard.WriteInstrument(ctx, c.Write); err != nil {
		return err
	}
	fmt.Fprintf(t.err, "wrote %s; a piece uses it with: instrument = %q\n", c.Write, c.Write)
	return nil
}
