package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"rollwright/making/bench"
	"rollwright/making/calibrate"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/infile"
	"rollwright/text/say"
	"rollwright/text/source"
	"rollwright/workshop"
)

// calibrateCommand makes a test roll, and turns what was read while it played
// into an instrument.
type calibrateCommand struct {
	Roll calibrateRoll `cmd:"" help:"Write a test roll, a form to note what the instrument does, and a file for the readings."`
	Read calibrateRead `cmd:"" help:"Fit the instrument to the readings, and write its file."`
}

type calibrateRoll struct {
	Instrument string     `arg:"" help:"The instrument as it is now: a built-in one, or a .instrument file."`
	Folder     string     `arg:"" help:"The folder to write into; it is made if need be."`
	Length     lengthFlag `placeholder:"12m" help:"How long the roll is (12m). The longer, the better build-up is told."`
	Paper      string     `enum:"a4,letter" default:"a4" help:"Paper of tiles and form: a4 or letter."`
	Machine    string     `placeholder:"NAME|FILE" help:"Programs for this machine, too."`
	Bench      string     `placeholder:"NAME|FILE" help:"A worksheet for this bench, too: PDF and CSV, to punch the test roll by hand."`
	Again      bool       `help:"Replace another test roll in the folder. Readings that are filled in stay in any case."`
}

func (c *calibrateRoll) Run(ctx context.Context, t terminal) error {
	made, err := workshop.WriteTestRoll(ctx, c.Instrument, c.Folder, workshop.TestRollOptions{
		LengthMM: float64(c.Length), Letter: c.Paper == "letter", Machine: c.Machine, Bench: c.Bench, Again: c.Again,
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(t.out, "made %s in %s: %s\n", say.Count(len(made.Made), "file"), c.Folder, strings.Join(made.Made, ", "))
	if len(made.Gone) > 0 {
		fmt.Fprintf(t.out, "took away what an earlier run had left: %s\n", strings.Join(made.Gone, ", "))
	}
	if made.Plan != nil {
		sayWork(t.err, "", made.Plan, bench.Pace{})
	}
	readings := filepath.Join(c.Folder, workshop.TestRollName)
	fmt.Fprintf(t.out, "cut the roll, print form.pdf, play; then fill in %s and: rollwright calibrate read %s --write mine.instrument\n", readings, readings)
	return nil
}

type calibrateRead struct {
	Readings string   `arg:"" help:"The file of readings; - reads standard input."`
	Take     []string `sep:"none" placeholder:"FILE" help:"A recording of the test roll, too: each reading counts by its own precision; may be repeated."`
	Write    string   `placeholder:"FILE" help:"Write the instrument as it was found to this file."`
	Anyway   bool     `help:"Write the instrument although the readings scatter much more than they should."`
	Piece    []string `placeholder:"FILE" help:"Say what the calibration is worth for this piece; without it, for the test roll."`
}

// mostReadings is the longest file of readings, in bytes.
const mostReadings = 200_000

func (c *calibrateRead) Run(ctx context.Context, t terminal) error {
	if c.Write != "" && !strings.HasSuffix(c.Write, instrument.Extension) {
		return usageError{c.Write + ": an instrument's file ends in " + instrument.Extension}
	}
	result, err := c.fit(ctx, t)
	if err != nil {
		return err
	}
	if err := result.WriteReport(t.out); err != nil {
		return err
	}
	if err := c.timing(ctx, t, result); err != nil || c.Write == "" {
		return err
	}
	if err := result.Doubtful(); err != nil && !c.Anyway {
		return fmt.Errorf("%w: %s is not written; --anyway writes it all the same", err, c.Write)
	}
	if _, err := os.Lstat(c.Write); err == nil {
		return fmt.Errorf("%s is there already and stays as it is; name another file", c.Write)
	}
	if err := workshop.WriteCalibrated(ctx, c.Write, result); err != nil {
		return err
	}
	fmt.Fprintf(t.err, "wrote %s; a piece uses it with: instrument = %q\n", c.Write, c.Write)
	return nil
}

func (c *calibrateRead) fit(ctx context.Context, t terminal) (*calibrate.Result, error) {
	in := t.in
	if c.Readings != "-" {
		file, err := infile.Open(c.Readings)
		if err != nil {
			return nil, err
		}
		defer file.Close()
		in = file
	}
	text, err := io.ReadAll(io.LimitReader(in, mostReadings+1))
	if err != nil {
		return nil, err
	}
	readings, err := calibrate.Read(&source.File{Name: c.Readings, Text: text})
	if err != nil {
		return nil, err
	}
	result, takes, err := workshop.Calibrate(ctx, readings, c.Take...)
	for i, heard := range takes {
		counts := heard.Counts()
		fmt.Fprintf(t.out, "%s: %d of %s heard, which scatter by %.1f ms\n", c.Take[i], counts.Sounded,
			say.Count(counts.Strokes, "stroke"), heard.RMSMS())
	}
	return result, err
}

// timing says how far notes fall beside their times without the calibration,
// and with it.
func (c *calibrateRead) timing(ctx context.Context, t terminal, result *calibrate.Result) error {
	if len(c.Piece) == 0 {
		return result.WriteTiming(t.out, "this test roll", []*roll.Roll{result.Test.Roll})
	}
	for _, name := range c.Piece {
		job, err := workshop.Open(ctx, name, t.in)
		if err != nil {
			return err
		}
		rolls, err := job.Rolls()
		if err != nil {
			return err
		}
		if err := result.WriteTiming(t.out, name, rolls); err != nil {
			return err
		}
	}
	return nil
}
