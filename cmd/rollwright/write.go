package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"rollwright/paper/inspect"
	"rollwright/text/say"
	"rollwright/workshop"
)

// writeCommand writes outputs whose extensions choose the formats.
type writeCommand struct {
	pieceArg
	Out    []string `arg:"" optional:"" name:"out" help:"The files to write: ${formats}."`
	As     string   `placeholder:"FORMAT" help:"The format of standard output, for the file -: pdf, csv, flac ..."`
	Strict bool     `help:"Fail, after writing, when a finding says that something cannot play."`
	stretch
	explaining `group:"Figures (.pdf, .svg, .png)"`
	drawing    `group:"Drawings"`
	listening  `group:"Sound (.wav, .flac)"`
	hand       `group:"By hand"`
	making     `group:"Bench, spools, paper"`
	machining  `group:"By machine (.nc, .svg, .dxf)"`
}

// drawing are the options of what is drawn.
type drawing struct {
	Piano       string  `placeholder:"NAME" help:"Only this piano's roll; without it, a file for each."`
	Paper       string  `enum:"a4,letter" default:"a4" help:"Paper of the tiles: a4 or letter."`
	Margin      float64 `placeholder:"MM" help:"What the printer cannot reach at each edge of a tile, in mm (5)."`
	Overlap     float64 `placeholder:"MM" help:"How far tiles overlap along the roll, in mm (10)."`
	ScaleAlong  float64 `default:"1" placeholder:"FACTOR" help:"What the printed ruler along the roll asks for, 0.9 to 1.1."`
	ScaleAcross float64 `default:"1" placeholder:"FACTOR" help:"What the printed ruler across the roll asks for, 0.9 to 1.1."`
	Names       bool    `help:"Name the ports beside the paper."`
	Back        bool    `help:"Show the face that lies on the bar, in place of the front."`
	Leader      bool    `help:"Draw all of leader and trailer on long drawings."`
	Long        bool    `xor:"long" help:"PDF: one long page, within the format's limit of length through a larger unit, which some readers show too small."`
	LongPlain   bool    `xor:"long" help:"PDF: one long page in plain units, past that limit, which other readers refuse."`
	Outlines    bool    `help:"SVG: slots as closed outlines for machines that follow lines."`
	Punches     bool    `help:"CSV: every punch in place of every slot."`
	Width       int     `placeholder:"PIXELS" help:"PNG: how wide (2000)."`
	Bar         bool    `help:"PNG: with the tracker bar where the stretch begins."`
	Dark        bool    `help:"PNG, film: on a dark bench."`
	Square      bool    `help:"Film: 1080 by 1080, for sharing, in place of 1920 by 1080."`
	FrameRate   int     `enum:"30,60" default:"30" help:"Film: pictures a second, 30 or 60."`
}

// check refuses a ruler that no printer prints.
func (d *drawing) check() error {
	for _, f := range []float64{d.ScaleAlong, d.ScaleAcross} {
		if !(f >= 0.9 && f <= 1.1) {
			return usageError{fmt.Sprintf("--scale-along and --scale-across run from 0.9 to 1.1, and not to %g: give what the printed ruler asks for", f)}
		}
	}
	return nil
}

// long is how a PDF is paged.
func (d *drawing) long() workshop.LongPage {
	switch {
	case d.Long:
		return workshop.LongUnit
	case d.LongPlain:
		return workshop.LongPlain
	}
	return workshop.Tiled
}

func (d *drawing) options(s stretch) workshop.Options {
	return workshop.Options{
		Piano: d.Piano, Letter: d.Paper == "letter", MarginMM: d.Margin, OverlapMM: d.Overlap,
		ScaleAlong: d.ScaleAlong, ScaleAcross: d.ScaleAcross, Names: d.Names, Back: d.Back, Leader: d.Leader,
		Long: d.long(), Outlines: d.Outlines, Punches: d.Punches,
		FromSec: float64(s.From.clock), ToSec: float64(s.To), WidthPX: d.Width, Bar: d.Bar, Dark: d.Dark,
		Filming: workshop.Filming{Square: d.Square, FrameRate: d.FrameRate},
	}
}

func (c *writeCommand) Run(ctx context.Context, t terminal, line *kong.Context) error {
	if err := cmp.Or(c.stretch.check(), c.listening.check(c.Out), c.drawing.check()); err != nil {
		return err
	}
	if c.Figure == "list" {
		return listFigures(t)
	}
	if len(c.Out) == 0 {
		return usageError{"name the files to write; their extensions choose the formats: " + extensions()}
	}
	if err := c.standardOutput(t); err != nil {
		return err
	}
	options := c.drawing.options(c.stretch)
	if err := cmp.Or(c.explaining.set(&options), c.hand.set(&options, c.making), c.machining.set(&options)); err != nil {
		return err
	}
	options.Voices = c.listening.Voice
	if err := c.fitting(line, &options); err != nil {
		return usageError{worded(err)}
	}
	job, err := c.open(ctx, t)
	if err != nil {
		return err
	}
	if err := c.stretch.within(job); err != nil {
		return err
	}
	if err := forewarn(t.err, job, &options.Making); err != nil {
		return err
	}
	if err := c.saySizes(t.err, job, &options); err != nil {
		return err
	}
	if err := c.write(ctx, t, job, options); err != nil {
		return err
	}
	if slices.ContainsFunc(c.Out, isSound) {
		sayOtherSound(t.err, job)
	}
	if options.Worksheet {
		if err := sayHandWork(t.err, job, &options); err != nil {
			return err
		}
	}
	if err := sayMachineWork(t.err, job, &options); err != nil {
		return err
	}
	return summary(job, t.err, c.Strict)
}

// saySizes tells, before the work begins, of files that will be large.
func (c *writeCommand) saySizes(w io.Writer, job *workshop.Job, o *workshop.Options) error {
	for _, path := range c.Out {
		name := path
		if path == standard {
			name += "." + c.As
		}
		p, err := workshop.ProductOf(name, o)
		if err != nil {
			return err
		}
		bytes, err := job.AboutBytes(p, strings.ToLower(filepath.Ext(name)), o)
		if err != nil {
			return err
		}
		if note := sizeNote(path, bytes); note != "" {
			fmt.Fprintln(w, note)
		}
	}
	return nil
}

// sizeNote is what is said of a file of about so many bytes: something from half a
// gigabyte on.
func sizeNote(path string, bytes int64) string {
	if bytes < 500_000_000 {
		return ""
	}
	return fmt.Sprintf("%s will have about %.1f GB; Ctrl-C stops it and leaves nothing", path, float64(bytes)/1e9)
}

// fitting refuses files and options that do not fit each other.
func (c *writeCommand) fitting(line *kong.Context, o *workshop.Options) error {
	var all []*workshop.Product
	for _, path := range c.Out {
		if path == standard {
			path += "." + c.As
		}
		p, err := workshop.ProductOf(path, o)
		if err != nil {
			return err
		}
		all = append(all, p)
	}
	return workshop.Heeded(given(line), all)
}

// standard is the name of standard output.
const standard = "-"

// standardOutput refuses standard output among other files, without a format, or
// where it would fill a screen with bytes.
func (c *writeCommand) standardOutput(t terminal) error {
	c.As = strings.ToLower(strings.TrimPrefix(c.As, "."))
	switch {
	case !slices.Contains(c.Out, standard) && c.As == "":
		return nil
	case !slices.Contains(c.Out, standard):
		return usageError{"--as is for standard output: write FILE - --as pdf"}
	case len(c.Out) > 1:
		return usageError{"standard output holds one file; name - alone"}
	case c.As == "":
		return usageError{"standard output has no extension; say the format with --as, such as --as pdf"}
	}
	if _, screen := screenOf(t.out); screen && c.As != "csv" {
		return usageError{"a screen shows no " + c.As + ": send standard output to a file or another program"}
	}
	return nil
}

// given are the flags on the command line.
func given(line *kong.Context) []string {
	var names []string
	for _, p := range line.Path {
		if p.Flag != nil {
			names = append(names, p.Flag.Name)
		}
	}
	return names
}

// write writes all files, those of sound last: their mix is one.
func (c *writeCommand) write(ctx context.Context, t terminal, job *workshop.Job, o workshop.Options) error {
	if c.Out[0] == standard {
		order := job.Order(o)
		defer order.Close()
		return order.WriteTo(ctx, t.out, "."+c.As)
	}
	var sounds, others []string
	for _, path := range c.Out {
		if isSound(path) {
			sounds = append(sounds, path)
		} else {
			others = append(others, path)
		}
	}
	if err := writeFiles(ctx, t.err, job, o, others); err != nil || len(sounds) == 0 {
		return err
	}
	return writeSound(ctx, t.err, job, o, &c.listening, sounds)
}

// writeFiles writes what is not sound.
func writeFiles(ctx context.Context, out io.Writer, job *workshop.Job, o workshop.Options, paths []string) error {
	progress := newProgress(out, len(paths))
	defer progress.close()
	order := job.Order(o)
	defer order.Close()
	var all []string
	for _, path := range paths {
		progress.next(path)
		made, err := order.Write(ctx, path)
		for _, name := range made {
			progress.say("wrote " + name)
		}
		if err != nil {
			return err
		}
		all = append(all, made...)
	}
	for _, path := range paths {
		if left := job.Leftovers(path, all, &o); len(left) > 0 {
			progress.say(earlier(left))
		}
	}
	return nil
}

// mostNamed is how many files a line names.
const mostNamed = 8

// earlier says that files are not of this run: a bed that another machine
// needed would be cut some day.
func earlier(left []string) string {
	if len(left) == 1 {
		return left[0] + " is from an earlier run; delete it"
	}
	text := strings.Join(left[:min(len(left), mostNamed)], ", ")
	if more := len(left) - mostNamed; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text + " are from an earlier run; delete them"
}

// summary says in a line or two what the findings are, and fails for those
// that forbid when strict.
func summary(job *workshop.Job, w io.Writer, strict bool) error {
	report, err := job.Findings()
	if err != nil {
		return err
	}
	fmt.Fprintln(w, report.Summary())
	if strict && report.Counts[inspect.Forbids] > 0 {
		return errFindings
	}
	return nil
}

// buildCommand writes everything about a piece into a folder.
type buildCommand struct {
	pieceArg
	Folder string `arg:"" help:"The folder; it is made if need be, and other files in it stay."`
	Again  bool   `help:"Replace files that were changed by hand or built from another piece."`
	Strict bool   `help:"Fail, after writing, when a finding says that something cannot play."`

	Hammers string `group:"Sources" placeholder:"felt|metal|tacks" help:"The hammers of a source that is no piece (metal)."`
	drawing
}

func (c *buildCommand) Run(ctx context.Context, t terminal) error {
	if err := c.drawing.check(); err != nil {
		return err
	}
	job, err := c.openOn(ctx, t, c.Hammers)
	if err != nil {
		return err
	}
	o := c.drawing.options(stretch{})
	o.Again = c.Again
	progress := newProgress(t.err, workshop.BuildSteps)
	defer progress.close()
	made, err := job.Build(ctx, c.Folder, o, progress.next)
	if err != nil {
		return err
	}
	progress.close()
	err = summary(job, t.err, c.Strict)
	fmt.Fprintf(t.out, "made %s in %s; look first at %s\n", say.Count(len(made), "file"), c.Folder,
		filepath.Join(c.Folder, workshop.ReportName))
	return err
}
