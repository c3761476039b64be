package workshop

import (
	"context"
	"fmt"
	"io"
	"math"
	"sort"
	"strings"
	"time"

	"rollwright/draw/pdf"
	"rollwright/making/bench"
	"rollwright/making/labels"
	"rollwright/making/worksheet"
	"rollwright/paper/edition"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/spools"
	"rollwright/text/choice"
	"rollwright/text/outfile"
	"rollwright/text/say"
)

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
	if err := j.has(NeedsPiece, "a piece on several spools"); err != nil {
		return nil, err
	}
	instruments, err := j.MakingInstruments(m)
	if err != nil {
		return nil, err
	}
	return spools.Cuts(j.Performance, instruments, m.Spools)
}

// spools are the rolls that m asks for, spool after spool, the pianos of each in
// order.
func (j *Job) spools(m *Making) ([]*spools.Spool, error) {
	if m.TrialMM > 0 && !m.Spools.None() {
		return nil, choice.Errorf("a trial strip is of the whole piece: {trial} goes without {spool-length} and {split}")
	}
	if m.plain() {
		return j.whole(m.Spool)
	}
	cuts, err := j.Cuts(m)
	if err != nil {
		return nil, err
	}
	instruments, err := j.MakingInstruments(m)
	if err != nil {
		return nil, err
	}
	if j.notes == nil {
		rolls, err := j.relaid(instruments, m.Stretch)
		if err != nil {
			return nil, err
		}
		return j.asSpools(rolls, m.Spool)
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
	return j.asSpools(rolls, number)
}

// asSpools are rolls that are each on one spool.
func (j *Job) asSpools(rolls []*roll.Roll, number int) ([]*spools.Spool, error) {
	all := make([]*spools.Spool, len(rolls))
	for i, r := range rolls {
		all[i] = &spools.Spool{Roll: r, Number: 1, Of: 1, ToSec: j.EndSec}
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
		return nil, choice.Errorf("there is no spool %d: the piece goes on %d; {spool-length} or {split} say where spools end",
			number, all[len(all)-1].Of)
	}
	return out, nil
}

// Edition is the rolls that m asks for with what their sheets show, spool after
// spool, the pianos of each in order; of the named piano alone unless the name is
// empty.
func (j *Job) Edition(piano string, m *Making) (*edition.Edition, error) {
	all, err := j.spools(m)
	if err != nil {
		return nil, err
	}
	only := -1
	if piano != "" {
		if only, err = j.piano(piano); err != nil {
			return nil, err
		}
	}
	e := &edition.Edition{Title: j.Title(), Composer: j.Composer(), Source: j.File.Name}
	for from := 0; from < len(all); {
		to := from + 1
		for to < len(all) && all[to].Number == all[from].Number {
			to++
		}
		if err := j.share(all[from:to], m); err != nil {
			return nil, err
		}
		together := j.together(all[from:to], m)
		if m.TrialMM > 0 {
			if together, err = j.onStrips(together, m); err != nil {
				return nil, err
			}
		}
		for _, r := range together {
			if only < 0 || r.Piano == only {
				e.Rolls = append(e.Rolls, r)
			}
		}
		from = to
	}
	return e, within(e)
}

// share puts the punches of chains on common rows where a bench is named, so that
// drawings, tables and worksheet show one roll.
func (j *Job) share(all []*spools.Spool, m *Making) error {
	if m.Bench == "" {
		return nil
	}
	p, err := j.Profile(m)
	if err != nil {
		return err
	}
	for i := range all {
		one := *all[i]
		one.Roll = bench.Share(one.Roll, p)
		all[i] = &one
	}
	return nil
}

// together are the rolls of one spool, which all pianos play at a time.
func (j *Job) together(of []*spools.Spool, m *Making) []*edition.Roll {
	papers := rollsOf(of)
	cues := j.cuesOf(of, papers, m)
	out := make([]*edition.Roll, len(of))
	for i, s := range of {
		r := &edition.Roll{Spool: s, Names: j.spellings(s.Instrument)}
		for _, c := range cues {
			r.Cues = append(r.Cues, edition.Cue{AlongMM: c.AlongMM[i], Name: c.Name})
		}
		if len(j.Pianos) > 1 {
			r.EndMM = spools.EndMM(s.Roll, papers)
		}
		out[i] = r
	}
	return out
}

// cuesOf are the cues of the rolls of one spool; none unless they are asked for.
func (j *Job) cuesOf(of []*spools.Spool, papers []*roll.Roll, m *Making) []spools.Cue {
	if m.Pair.CueMM <= 0 || len(of) == 0 {
		return nil
	}
	return m.Pair.Cues(papers, j.bars(of[0])...)
}

// bars are those of the piece itself that begin on a spool.
func (j *Job) bars(s *spools.Spool) []spools.Bar {
	if j.Performance == nil {
		return nil
	}
	var out []spools.Bar
	for b := range j.Performance.Bars() {
		if b.Sec >= s.ToSec || len(out) == mostBars {
			break
		}
		if b.Sec >= s.FromSec {
			out = append(out, spools.Bar{Number: b.Number, Sec: b.Sec - s.FromSec})
		}
	}
	return out
}

// mostBars is how many bars of a spool are looked at for cues.
const mostBars = 100_000

func rollsOf(all []*spools.Spool) []*roll.Roll {
	rolls := make([]*roll.Roll, len(all))
	for i, s := range all {
		rolls[i] = s.Roll
	}
	return rolls
}

// BenchPlan is the work on one roll at the bench that m names.
func (j *Job) BenchPlan(r *edition.Roll, m *Making) (*bench.Plan, error) {
	p, err := j.Profile(m)
	if err != nil {
		return nil, err
	}
	if m.Bench != "" && m.TrialMM == 0 { // without one the rows are those of the table of holes
		r = sharedRoll(r, p)
	}
	return AtProfile(r, p)
}

// AtProfile is the work on a roll at a bench, its chains as the roll has them.
func AtProfile(r *edition.Roll, p *bench.Profile) (*bench.Plan, error) {
	var marks []bench.Mark
	for _, c := range r.Cues {
		marks = append(marks, bench.Mark(c))
	}
	plan, err := bench.New(r.Roll, p, marks...)
	if err != nil {
		return nil, err
	}
	plan.Names = r.Names
	if r.EndMM > 0 {
		plan.EndMM = r.EndMM
	}
	return plan, nil
}

// writeWorksheet writes the rows of every roll: a PDF for each, or a table of all.
func writeWorksheet(ctx context.Context, f *out) ([]string, error) {
	p, err := bench.Load(f.o.Bench, f.folder)
	if err != nil {
		return nil, err
	}
	if f.extension() == ".csv" {
		return eachSpool(func(w io.Writer, f *out) error { return worksheetTable(w, f, p) })(ctx, f)
	}
	return eachRoll(func(w io.Writer, f *out) error { return worksheetPages(w, f, p) })(ctx, f)
}

func worksheetPages(w io.Writer, f *out, p *bench.Profile) error {
	plan, err := AtProfile(f.roll, p)
	if err != nil {
		return err
	}
	o := worksheet.Options{
		Title: f.edition.Title, Composer: f.edition.Composer, Piano: f.roll.Name,
		Letter: f.o.Letter,
	}
	if f.roll.Of > 1 {
		o.Spool, o.Spools = f.roll.Number, f.roll.Of
	}
	if f.o.TrialMM == 0 { // a strip is not in the order of the piece
		o.When = f.when()
	}
	pages, err := f.withForm(worksheet.Pages(plan, o))
	if err != nil {
		return err
	}
	return pdf.Encode(w, pages, nil)
}

func worksheetTable(w io.Writer, f *out, p *bench.Profile) error {
	table := worksheet.NewCSV(w)
	for _, r := range f.edition.Rolls {
		plan, err := AtProfile(r, p)
		if err != nil {
			return err
		}
		number := 0
		if r.Of > 1 {
			number = r.Number
		}
		if table.FromSec = r.FromSec; f.o.TrialMM > 0 {
			table.FromSec = math.NaN()
		}
		table.Add(plan, r.Name, number)
	}
	return table.Close()
}

// writeLabels writes the labels of all spools to one file.
func writeLabels(ctx context.Context, f *out) ([]string, error) {
	e, err := f.rolls()
	if err != nil {
		return nil, err
	}
	set := labels.Set{
		Title: e.Title, Composer: e.Composer, Letter: f.o.Letter,
		Date: f.o.Date, Copies: f.o.Copies,
		Pair: f.o.Pair, Stretch: f.o.Stretch, Rests: spools.Rests(f.job.Events(), labels.LeastRestSec),
	}
	cues, err := f.job.cues(&f.o.Making)
	if err != nil {
		return nil, err
	}
	for _, r := range e.Rolls {
		plan, err := f.job.BenchPlan(r, &f.o.Making)
		if err != nil {
			return nil, err
		}
		set.Spools = append(set.Spools, r.Spool)
		set.Cues = append(set.Cues, cues[r.Number])
		set.ZeroMM = append(set.ZeroMM, plan.ZeroMM())
		set.Lengths = plan.Profile.Lengths
	}
	err = outfile.Write(ctx, f.path, func(w io.Writer) error { return pdf.Encode(w, set.Pages(), nil) })
	if err != nil {
		return nil, err
	}
	return []string{f.path}, nil
}

// cues are the cues of each spool, by its number, on the rolls of all pianos.
func (j *Job) cues(m *Making) (map[int][]spools.Cue, error) {
	all, err := j.spools(m)
	if err != nil {
		return nil, err
	}
	of := map[int][]*spools.Spool{}
	for _, s := range all {
		of[s.Number] = append(of[s.Number], s)
	}
	out := map[int][]spools.Cue{}
	for number, spool := range of {
		out[number] = j.cuesOf(spool, rollsOf(spool), m)
	}
	return out, nil
}

// piano is the index of the named piano.
func (j *Job) piano(name string) (int, error) {
	var names []string
	for i, p := range j.Pianos {
		if p.Name == name {
			return i, nil
		}
		names = append(names, p.Name)
	}
	hint := "its pianos: " + strings.Join(names, ", ")
	if len(names) == 1 && names[0] == "" {
		hint = "it has one piano, without a name"
	}
	return 0, fmt.Errorf("the piece has no piano %q; %s", name, hint)
}

// CheckDate is an error for a date that labels could not print: one that is no day of
// the calendar, as year, month and day with hyphens (ISO 8601). None at all is good.
func CheckDate(date string) error {
	if date == "" {
		return nil
	}
	if _, err := time.Parse(time.DateOnly, date); err != nil {
		return choice.Errorf("{date} is a day such as 2026-11-30, and not %q", date)
	}
	return nil
}

// when is the time in the piece of a place along the roll, with its bar where the piece
// has bars.
func (f *out) when() func(alongMM float64) string {
	var bars []spools.Bar
	if f.job != nil { // a test roll is of no piece
		bars = f.job.bars(f.roll.Spool)
	}
	return func(alongMM float64) string {
		sec := f.roll.Instrument.Transport.Sec(alongMM)
		text := say.Clock(f.roll.FromSec+sec, 1)
		after := sort.Search(len(bars), func(i int) bool { return bars[i].Sec > sec+sameRowSec })
		if after == 0 || bars[after-1].Number == 0 {
			return text
		}
		return fmt.Sprintf("bar %d · %s", bars[after-1].Number, text)
	}
}

// sameRowSec is how much earlier than a bar a row may be that belongs to it: rows lie up
// to half a step beside their notes.
const sameRowSec = 0.03
