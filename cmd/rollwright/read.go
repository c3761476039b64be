package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"syscall"

	"rollwright/examples"
	"rollwright/paper/inspect"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/table"
	"rollwright/text/choice"
	"rollwright/text/source"
	"rollwright/workshop"
)

// pieceArg is the source that most commands work on.
type pieceArg struct {
	File       string   `arg:"" help:"The piece file, a MIDI file, a table of notes or holes (.csv), or a picture of paper; - reads standard input."`
	Set        []string `group:"Sources" sep:"none" placeholder:"NAME.ATTRIBUTE=VALUE" help:"Change the piece before it is read, not its file: quick.speed=7/5, tempo=72. Repeatable."`
	Instrument string   `group:"Sources" placeholder:"NAME|FILE" help:"The instrument of a source that is no piece (88-note)."`
	RollTempo  float64  `group:"Sources" placeholder:"TEMPO" help:"Its roll tempo, in place of the instrument's."`
}

func (p pieceArg) open(ctx context.Context, t terminal) (*workshop.Job, error) {
	return p.openOn(ctx, t, "")
}

// openOn is open where a source that does not name its hammers has those.
func (p pieceArg) openOn(ctx context.Context, t terminal, hammers string) (*workshop.Job, error) {
	if err := oneOf("--hammers", hammers, hammerWords); err != nil {
		return nil, err
	}
	in, err := instrumentPath(p.Instrument)
	if err != nil {
		return nil, err
	}
	job, err := workshop.OpenGiven(ctx, p.File, t.in, workshop.Given{Instrument: in, RollTempo: p.RollTempo,
		Hammers: hammers, Set: p.Set})
	if err != nil {
		return nil, err
	}
	tellOf(t, p.File, job.Said)
	return job, nil
}

// tellOf says what was taken of a source otherwise than it stands.
func tellOf(t terminal, name string, said []string) {
	for _, sentence := range said {
		fmt.Fprintf(t.err, "%s: %s\n", name, sentence)
	}
}

// instrumentPath is an instrument as the workshop takes it: paths of a command
// count from where it runs.
func instrumentPath(name string) (string, error) {
	if strings.HasSuffix(name, instrument.Extension) || strings.ContainsAny(name, `/\`) {
		return filepath.Abs(name)
	}
	return name, nil
}

type eventsCommand struct {
	pieceArg
	JSON bool `name:"json" help:"JSON in place of CSV."`
}

func (c *eventsCommand) Run(ctx context.Context, t terminal) error {
	job, err := c.open(ctx, t)
	if err != nil {
		return err
	}
	return table.WriteEvents(t.out, format(c.JSON), job.Voices, job.Events())
}

type holesCommand struct {
	pieceArg
	Piano   string `placeholder:"NAME" help:"Only this piano's roll; without it, all, one after the other."`
	Punches bool   `help:"A row for every punch, in place of one for every slot."`
	Bench   string `placeholder:"BENCH" help:"As it is punched at this bench: punches on its dial, chains on common rows."`
	JSON    bool   `name:"json" help:"JSON in place of CSV."`
}

func (c *holesCommand) Run(ctx context.Context, t terminal) error {
	job, err := c.open(ctx, t)
	if err != nil {
		return err
	}
	rolls, err := c.rolls(job)
	if err != nil {
		return err
	}
	if c.Punches {
		return table.WritePunches(t.out, format(c.JSON), rolls)
	}
	return table.WriteHoles(t.out, format(c.JSON), rolls)
}

// rolls are those of the piece, or as they are punched at the bench.
func (c *holesCommand) rolls(job *workshop.Job) ([]*roll.Roll, error) {
	if c.Bench == "" {
		return job.RollsOf(c.Piano)
	}
	e, err := job.Edition(c.Piano, &workshop.Making{Bench: c.Bench})
	if err != nil {
		return nil, err
	}
	var out []*roll.Roll
	for _, r := range e.Rolls {
		out = append(out, r.Roll)
	}
	return out, nil
}

func format(json bool) table.Format {
	if json {
		return table.JSON
	}
	return table.CSV
}

type checkCommand struct {
	pieceArg
	All  bool `help:"List each finding, in place of grouping what repeats."`
	JSON bool `name:"json" help:"JSON in place of text."`

	Answers string `placeholder:"FILE" help:"What the instrument has answered on a trial strip: a form that was filled in."`
}

func (c *checkCommand) Run(ctx context.Context, t terminal) error {
	job, err := c.open(ctx, t)
	if err != nil {
		return err
	}
	if c.Answers != "" {
		if job.Tried, err = workshop.Answers(c.Answers); err != nil {
			return err
		}
	}
	findings, err := job.Findings()
	if err != nil {
		return err
	}
	switch {
	case c.JSON && c.All:
		err = inspect.WriteAllJSON(t.out, findings)
	case c.JSON:
		err = inspect.WriteJSON(t.out, findings)
	case c.All:
		err = inspect.WriteAll(t.out, findings)
	default:
		err = inspect.WriteSummary(t.out, findings)
	}
	if err == nil {
		for _, line := range job.Offers() {
			fmt.Fprintf(t.err, "for the instrument's file, since it was played: %s\n", line)
		}
		warnOfLecture(job, t.err)
		err = warnAtBench(job, t.err)
	}
	if err == nil && findings.Forbid() {
		err = errFindings
	}
	return err
}

// warnAtBench says of every roll that is being punched what the piece, as it is
// now, would make of the holes.
func warnAtBench(job *workshop.Job, w io.Writer) error {
	rolls, err := job.AtBench()
	for _, r := range rolls {
		fmt.Fprintf(w, "at the bench, %s:\n", r.Path)
		text := atBench(r.Plan, r.Roll, r.State, r.Changes)
		if r.Changes.Any() {
			text += "rollwright punch --changes lists them\n"
		}
		for line := range strings.Lines(text) {
			fmt.Fprint(w, "  "+line)
		}
	}
	if err != nil {
		fmt.Fprintf(w, "at the bench: %v\n", err)
	}
	return nil
}

// errorText is what a person reads of an error: complaints about a text with
// their excerpts, everything else on one line.
func errorText(err error) string {
	var complaints source.Errors
	if errors.As(err, &complaints) {
		text := complaints.Error()
		if n := complaints.Count(); n > 1 {
			text += fmt.Sprintf("\n%d things to mend", n)
		}
		return text
	}
	var missing *os.PathError
	if errors.As(err, &missing) && errors.Is(err, os.ErrNotExist) {
		return fmt.Sprintf("rollwright: there is no file %s", missing.Path)
	}
	if errors.As(err, &missing) && errors.Is(err, syscall.EISDIR) {
		return fmt.Sprintf("rollwright: %s is a folder; name a file", missing.Path)
	}
	var none *workshop.NoFile
	if errors.As(err, &none) {
		return fmt.Sprintf("rollwright: %v; rollwright new %s writes one that plays", err, beginning(none.Name))
	}
	return "rollwright: " + worded(err)
}

// beginning is what new writes in place of a piece that is not there: the example
// of that name, if there is one.
func beginning(name string) string {
	example := strings.TrimSuffix(name, ".piece")
	if _, err := examples.Source(example); err == nil {
		return "--example " + example
	}
	return name
}

// worded is an error's text with options as the command calls them.
func worded(err error) string {
	return choice.Say(err, func(option string) string { return "--" + option })
}
