package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"rollwright/making/journal"
	"rollwright/paper/instrument"
	"rollwright/scan/proof"
	"rollwright/text/outfile"
	"rollwright/text/say"
	"rollwright/workshop"
)

// proofCommand holds a punched roll against its plan.
type proofCommand struct {
	Plan      string   `arg:"" help:"The piece file, or a table of holes (.csv), that the roll was punched from; - reads standard input."`
	Scan      []string `arg:"" help:"What is on the paper: pictures of it, in order (PNG, TIFF, PGM, PPM, PBM, JPEG), or a table of holes (.csv)."`
	Tolerance float64  `default:"0.5" placeholder:"MM" help:"How far an edge may lie off its place, in mm (0.5)."`
	Into      []string `sep:"none" placeholder:"FILE" help:"Write every difference (.csv, or - for standard output), what to patch and punch (.pdf), each place beside the plan (.html), in place of the list; may be repeated."`
	Journal   string   `placeholder:"FILE" help:"Put into this journal what is really cut, so that punch leads through the repair."`
	Piano     string   `placeholder:"NAME" help:"The piano whose roll it is."`
	Paper     string   `enum:"a4,letter" default:"a4" help:"Paper of the worksheet: a4 or letter."`

	Instrument string  `group:"Plans that are no piece" placeholder:"NAME|FILE" help:"The instrument of a table of holes (88-note)."`
	RollTempo  float64 `group:"Plans that are no piece" placeholder:"TEMPO" help:"Its roll tempo, in place of the instrument's."`
	picturing  `group:"Pictures"`
	making     `group:"Bench, spools, paper"`
}

// Help is added to proof --help.
func (proofCommand) Help() string {
	return `Exit status 0: no difference; 1: differences, counted on standard error; 2: the two could not be compared.
Paper that has shrunk, stretched, slipped or lost a piece at a splice makes no differences of its own; what is lost is.`
}

// errDifferences ends a proof that found some.
var errDifferences = errFindings

func (c *proofCommand) Run(ctx context.Context, t terminal) error {
	differs, err := c.prove(ctx, t)
	switch {
	case err == nil && differs:
		return errDifferences
	case err == nil, errors.Is(err, context.Canceled):
		return err
	}
	return usageError{strings.TrimPrefix(errorText(err), "rollwright: ")} // 2: it could not compare
}

// check refuses what cannot be meant.
func (c *proofCommand) check() error {
	if !(c.Tolerance > 0 && c.Tolerance <= 3) {
		return fmt.Errorf("--tolerance runs from just above 0 to 3 mm, and not to %g", c.Tolerance)
	}
	for _, path := range c.Into {
		if err := workshop.ProofFile(path); err != nil {
			return err
		}
	}
	if c.Plan == "-" && c.Scan[0] == "-" {
		return errors.New("plan and scan cannot both come from standard input")
	}
	return nil
}

// prove compares and writes; it reports whether there are differences.
func (c *proofCommand) prove(ctx context.Context, t terminal) (differs bool, err error) {
	if err := c.check(); err != nil {
		return false, err
	}
	m, err := c.making.making()
	if err != nil {
		return false, err
	}
	source := pieceArg{File: c.Plan, Instrument: c.Instrument, RollTempo: c.RollTempo}
	job, err := source.open(ctx, t)
	if err != nil {
		return false, err
	}
	w, err := c.work(job, &m)
	if err != nil {
		return false, err
	}
	scan, err := c.scan(ctx, t, w.spool.Instrument)
	if err != nil {
		return false, err
	}
	p, err := job.Prove(w.spool, w.plan, scan, proof.Options{ToleranceMM: c.Tolerance})
	if err != nil {
		return false, err
	}
	for _, remark := range p.Remarks() {
		fmt.Fprintln(t.err, remark)
	}
	if err := c.write(ctx, t, p); err != nil {
		return false, err
	}
	if c.Journal != "" {
		if err := c.record(t, w, p); err != nil {
			return false, err
		}
	}
	fmt.Fprintln(t.err, p.Summary())
	return len(p.Differences) > 0, nil
}

// work finds the one roll that is meant: that of the journal, or the only one.
func (c *proofCommand) work(job *workshop.Job, m *workshop.Making) (*work, error) {
	if c.Journal != "" {
		if w, err := begun(job, c.Journal, m); w != nil || err != nil {
			return w, err
		}
	}
	choice, err := job.ToPunch(c.Piano, m)
	if err != nil {
		return nil, err
	}
	if len(choice) != 1 {
		return nil, fmt.Errorf("the plan has %d rolls: say which with %s", len(choice), chooser(choice))
	}
	return fresh(job, c.Journal, choice[0], m)
}

// scan reads what is on the paper.
func (c *proofCommand) scan(ctx context.Context, t terminal, in *instrument.Instrument) (*workshop.Scan, error) {
	table := func(name string) bool { return name == "-" || strings.EqualFold(filepath.Ext(name), ".csv") }
	switch {
	case len(c.Scan) == 1 && table(c.Scan[0]):
		return workshop.ScanTable(c.Scan[0], t.in, in)
	case slices.ContainsFunc(c.Scan, table):
		return nil, errors.New("a scan is pictures, or else one table of holes")
	}
	o, err := c.picturing.options()
	if err != nil {
		return nil, err
	}
	o.Instruments = []*instrument.Instrument{in}
	r, err := c.picturing.read(ctx, t.err, o, c.Scan...)
	if err != nil {
		return nil, err
	}
	if n := len(r.Doubtful()); n > 0 {
		fmt.Fprintf(t.err, "%s doubtful as read; rollwright read lists them\n", say.Count(n, "slot"))
	}
	return workshop.ScanOf(r), nil
}

// write writes the files that are asked for, or else the list.
func (c *proofCommand) write(ctx context.Context, t terminal, p *workshop.Proof) error {
	if len(c.Into) == 0 {
		return p.Text(t.out)
	}
	for _, path := range c.Into {
		if path == "-" {
			if err := p.Write(t.out, ".csv", false); err != nil {
				return err
			}
			continue
		}
		err := outfile.Write(ctx, path, func(w io.Writer) error {
			return p.Write(w, strings.ToLower(filepath.Ext(path)), c.Paper == "letter")
		})
		if err != nil {
			return err
		}
		fmt.Fprintln(t.err, "wrote "+path)
	}
	return nil
}

// record brings the journal to what is on the paper.
func (c *proofCommand) record(t terminal, w *work, p *workshop.Proof) error {
	j, err := journal.Open(c.Journal, w.head, time.Now)
	if err != nil {
		return err
	}
	entries := p.Work().Entries(j.State)
	if err := errors.Join(entries.Write(j), j.Close()); err != nil {
		return err
	}
	fmt.Fprintf(t.err, "%s: %s; rollwright punch leads on from there\n", c.Journal, entries.Says(w.plan, j.State))
	return nil
}
