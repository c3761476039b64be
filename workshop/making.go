package workshop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"rollwright/draw/pdf"
	"rollwright/making/bench"
	"rollwright/making/labels"
	"rollwright/making/worksheet"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/sheet"
	"rollwright/paper/spools"
	"rollwright/text/outfile"
)

// Making says how rolls are made: at which bench, on how many spools, on paper
// of what size. The zero value is whole rolls on paper that does not change.
type Making struct {
	Bench     string // built-in profile, or path of a file; empty: the default one, its die left out of account
	Worksheet bool   // pdf, csv: the rows to punch by hand in place of the roll
	Labels    bool   // pdf: the labels of all rolls in place of the rolls

	Spools  spools.Options
	Spool   int // only this spool, from 1; 0: all
	Pair    spools.Pair
	Stretch instrument.Stretch

	PunchesAnHour float64 // the pace that is known; 0: what the bench assumes
}

// plain reports whether rolls are as the piece alone makes them.
func (m *Making) plain() bool { return m.Bench == "" && m.Spools.None() && m.Stretch.None() }

// Profile is the bench that m names. Paths count from the piece's folder.
func (j *Job) Profile(m *Making) (*bench.Profile, error) { return bench.Load(m.Bench, j.Folder) }

// MakingInstruments are the instruments as the bench's die and the size of the
// paper make them, one a piano.
func (j *Job) MakingInstruments(m *Making) ([]*instrument.Instrument, error) {
	out := append([]*instrument.Instrument(nil), j.Instruments...)
	if m.Bench != "" {
		p, err := j.Profile(m)
		if err != nil {
			return nil, err
		}
		for i := range out {
			if out[i], err = p.Fit(out[i]); err != nil {
				return nil, err
			}
		}
	}
	for i := range out {
		out[i] = out[i].Stretched(m.Stretch)
	}
	return out, nil
}

// Cuts are where spools end.
func (j *Job) Cuts(m *Making) ([]spools.Cut, error) {
	if m.Spools.None() {
		return nil, nil
	}
	instruments, err := j.MakingInstruments(m)
	if err != nil {
		return nil, err
	}
	return spools.Cuts(j.Performance, instruments, m.Spools)
}

// Spools are the rolls that m asks for, spool after spool, the pianos of each
// in order.
func (j *Job) Spools(m *Making) ([]*spools.Spool, error) {
	if m.plain() {
		return j.whole(m.Spool)
	}
	instruments, err := j.MakingInstruments(m)
	if err != nil {
		return nil, err
	}
	cuts, err := j.Cuts(m)
	if err != nil {
		return nil, err
	}
	all, err := spools.Split(j.Performance, instruments, cuts)
	if err != nil || m.Spool == 0 {
		return all, err
	}
	return numbered(all, m.Spool)
}

// whole are the piece's own rolls as one spool each.
func (j *Job) whole(number int) ([]*spools.Spool, error) {
	rolls, err := j.Rolls()
	if err != nil {
		return nil, err
	}
	all := make([]*spools.Spool, len(rolls))
	for i, r := range rolls {
		all[i] = &spools.Spool{Roll: r, Number: 1, Of: 1, ToSec: j.Performance.EndSec}
	}
	if number == 0 {
		return all, nil
	}
	return numbered(all, number)
}

// numbered are the spools of one number.
func numbered(all []*spools.Spool, number int) ([]*spools.Spool, error) {
	var out []*spools.Spool
	for _, s := range all {
		if s.Number == number {
			out = append(out, s)
		}
	}
	if out == nil {
		return nil, fmt.Errorf("there is no spool %d: the piece goes on %d; --spool-length or --split say where spools end", number, all[len(all)-1].Of)
	}
	return out, nil
}

// spoolsOf are the spools of the named piano, or of all.
func (j *Job) spoolsOf(o *Options) ([]*spools.Spool, error) {
	all, err := j.Spools(&o.Making)
	if err != nil || o.Piano == "" {
		return all, err
	}
	piano, err := j.piano(o.Piano)
	if err != nil {
		return nil, err
	}
	var out []*spools.Spool
	for _, s := range all {
		if s.Piano == piano {
			out = append(out, s)
		}
	}
	return out, nil
}

// file is one output: what it holds, and what its name ends in.
type file struct {
	suffix string
	spools []*spools.Spool
}

// files shares spools out over files: one each where a file holds one roll,
// else one for each number of spool.
func files(all []*spools.Spool, perRoll bool) []file {
	var out []file
	for _, s := range all {
		n := len(out)
		if !perRoll && n > 0 && out[n-1].spools[0].Number == s.Number {
			out[n-1].spools = append(out[n-1].spools, s)
			continue
		}
		f := file{spools: []*spools.Spool{s}}
		if perRoll && s.Name != "" && several(all, s) {
			f.suffix = "-" + fileName(s.Name)
		}
		if s.Of > 1 {
			f.suffix += spoolSuffix(s.Number)
		}
		out = append(out, f)
	}
	return out
}

func spoolSuffix(number int) string { return fmt.Sprintf("-spool-%d", number) }

// several reports whether another piano than that of s is among all.
func several(all []*spools.Spool, s *spools.Spool) bool {
	for _, o := range all {
		if o.Piano != s.Piano {
			return true
		}
	}
	return false
}

// BenchPlan is the work on one spool at the bench that m names.
func (j *Job) BenchPlan(s *spools.Spool, m *Making) (*bench.Plan, error) {
	p, err := j.Profile(m)
	if err != nil {
		return nil, err
	}
	marks, err := j.marks(s, m)
	if err != nil {
		return nil, err
	}
	plan, err := bench.New(s.Roll, p, marks...)
	if err != nil {
		return nil, err
	}
	plan.Names = spellings(j.Piece, s.Roll.Instrument)
	if len(j.Piece.Pianos) == 1 {
		return plan, nil
	}
	together, err := j.together(s, m)
	if err != nil {
		return nil, err
	}
	plan.EndMM = spools.EndMM(s.Roll, together)
	return plan, nil
}

// together are the rolls of all pianos that play with a spool.
func (j *Job) together(s *spools.Spool, m *Making) ([]*roll.Roll, error) {
	every := *m
	every.Spool = s.Number
	all, err := j.Spools(&every)
	return rollsOf(all), err
}

// marks are the cues to draw across the paper of a spool, none unless they are
// asked for.
func (j *Job) marks(s *spools.Spool, m *Making) ([]bench.Mark, error) {
	cues, err := j.cues(s, m)
	if err != nil {
		return nil, err
	}
	var out []bench.Mark
	for _, c := range cues {
		out = append(out, bench.Mark{AlongMM: c.AlongMM[s.Piano], Name: c.Name})
	}
	return out, nil
}

// cues are the cues of a spool on the rolls of all pianos.
func (j *Job) cues(s *spools.Spool, m *Making) ([]spools.Cue, error) {
	if m.Pair.CueMM <= 0 {
		return nil, nil
	}
	all, err := j.together(s, m)
	if err != nil {
		return nil, err
	}
	return m.Pair.Cues(all), nil
}

func rollsOf(all []*spools.Spool) []*roll.Roll {
	rolls := make([]*roll.Roll, len(all))
	for i, s := range all {
		rolls[i] = s.Roll
	}
	return rolls
}

func (j *Job) writeWorksheet(w io.Writer, o *Options) error {
	s := o.spools[0]
	plan, err := j.BenchPlan(s, &o.Making)
	if err != nil {
		return err
	}
	return pdf.Encode(w, worksheet.Pages(plan, j.worksheetOptions(s, o)), nil)
}

func (j *Job) worksheetOptions(s *spools.Spool, o *Options) worksheet.Options {
	out := worksheet.Options{
		Title: j.Title(), Composer: j.Piece.Composer, Piano: s.Name, Letter: o.Letter, PunchesAnHour: o.PunchesAnHour,
	}
	if s.Of > 1 {
		out.Spool, out.Spools = s.Number, s.Of
	}
	return out
}

func (j *Job) writeWorksheetCSV(w io.Writer, o *Options) error {
	table := worksheet.NewCSV(w)
	for _, s := range o.spools {
		plan, err := j.BenchPlan(s, &o.Making)
		if err != nil {
			return err
		}
		number := 0
		if s.Of > 1 {
			number = s.Number
		}
		table.Add(plan, s.Name, number)
	}
	return table.Close()
}

// sheetCues are the cues of a roll for its drawing.
func (j *Job) sheetCues(o *Options) ([]sheet.Cue, error) {
	if len(o.spools) == 0 {
		return nil, nil
	}
	marks, err := j.marks(o.spools[0], &o.Making)
	if err != nil {
		return nil, err
	}
	var out []sheet.Cue
	for _, m := range marks {
		out = append(out, sheet.Cue{AlongMM: m.AlongMM, Name: m.Name})
	}
	return out, nil
}

var errLabels = errors.New("labels are written as PDF; end the name in .pdf")

// writeLabels writes the labels of all spools to one file.
func (j *Job) writeLabels(ctx context.Context, path string, all []*spools.Spool, o *Options) error {
	if !strings.HasSuffix(strings.ToLower(path), ".pdf") {
		return errLabels
	}
	set := labels.Set{
		Title: j.Title(), Composer: j.Piece.Composer, Letter: o.Letter, Spools: all,
		Pair: o.Pair, Stretch: o.Stretch, Rests: spools.Rests(j.Performance.Events(), labels.LeastRestSec),
	}
	for _, s := range all {
		cues, err := j.cues(s, &o.Making)
		if err != nil {
			return err
		}
		plan, err := j.BenchPlan(s, &o.Making)
		if err != nil {
			return err
		}
		set.Cues = append(set.Cues, cues)
		set.ZeroMM = append(set.ZeroMM, plan.ZeroMM())
		set.Lengths = plan.Profile.Lengths
	}
	return outfile.Write(ctx, path, func(w io.Writer) error { return pdf.Encode(w, set.Pages(), nil) })
}
