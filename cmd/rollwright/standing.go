package main

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/making/bench"
	"rollwright/making/journal"
	"rollwright/making/punching"
	"rollwright/paper/edition"
	"rollwright/paper/roll"
	"rollwright/text/cell"
	"rollwright/text/say"
	"rollwright/workshop"
)

// standing says how far the work on all rolls of a piece is, or what to patch and
// to add on them.
func (c *punchCommand) standing(t terminal, job *workshop.Job, m *workshop.Making) error {
	rolls, err := c.rolls(job, m)
	if err != nil {
		return err
	}
	for _, w := range rolls {
		for _, note := range slices.Concat(w.doubts(), c.parted(job, m, w), w.otherBench()) {
			fmt.Fprintln(t.err, note)
		}
	}
	switch {
	case c.Changes:
		return changes(t, rolls...)
	case len(rolls) == 1:
		return rolls[0].status(t.out)
	}
	var b strings.Builder
	fmt.Fprintln(&b, job.Title())
	for _, w := range rolls {
		fmt.Fprintln(&b, w.line())
	}
	fmt.Fprintf(&b, "more of one roll: rollwright punch %s --status%s\n", c.File, choose(&rolls[0].head))
	_, err = io.WriteString(t.out, b.String())
	return err
}

// rolls are those that have begun, on the spools that are asked for where some
// are, and those that may begin; in the order of pianos, then of spools. A piano
// whose roll has begun on spools has no other.
func (c *punchCommand) rolls(job *workshop.Job, m *workshop.Making) ([]*work, error) {
	asked, err := job.ToPunch(c.Piano, m)
	if err != nil {
		return nil, err
	}
	out, err := c.onSpools(job, m)
	if err != nil {
		return nil, err
	}
	spooled := slices.Clone(out)
	for _, s := range asked {
		path := journal.Path(c.source(), s.Name, s.Number, s.Of)
		w, err := begun(job, path, m)
		if w == nil && err == nil && !slices.ContainsFunc(spooled, func(w *work) bool { return w.spool.Name == s.Name }) {
			w, err = fresh(job, path, s, m)
		}
		if err != nil {
			return nil, err
		}
		if w != nil {
			out = append(out, w)
		}
	}
	piano := func(w *work) int {
		return slices.IndexFunc(job.Pianos, func(p workshop.Piano) bool { return p.Name == w.spool.Name })
	}
	slices.SortStableFunc(out, func(a, b *work) int {
		return cmp.Or(cmp.Compare(piano(a), piano(b)), cmp.Compare(a.spool.Number, b.spool.Number))
	})
	return out, nil
}

// onSpools are the rolls that have begun on spools, where none are asked for.
func (c *punchCommand) onSpools(job *workshop.Job, m *workshop.Making) ([]*work, error) {
	if !m.Spools.None() {
		return nil, nil
	}
	paths, err := journal.Beside(c.File)
	if err != nil {
		return nil, nil // a folder that cannot be listed holds no journal
	}
	var out []*work
	for _, path := range paths {
		state, err := journal.Read(path)
		if err != nil || state.Head.Spools < 2 || c.Piano != "" && state.Head.Piano != c.Piano {
			continue // that of a roll that is asked for is read again, and complained of
		}
		w, err := begun(job, path, m)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", path, err)
		}
		out = append(out, w)
	}
	return out, nil
}

// line is how far the work on one of several rolls is.
func (w *work) line() string {
	which := strings.Join(w.which(), " · ")
	if which == "" {
		which = "the whole roll"
	}
	if w.state == nil {
		return fmt.Sprintf("%s: not begun, %s in %s", which, punches(w.plan.Punches), say.Count(len(w.plan.Rows), "row"))
	}
	c := w.compare()
	text := fmt.Sprintf("%s: %s", which, c.Tally())
	if n := len(c.Add); n > 0 {
		text += fmt.Sprintf("; %d of those not there are in the part already done", n)
	}
	return text + " (" + w.path + ")"
}

// status says how far the work is.
func (w *work) status(out io.Writer) error {
	var pace bench.Pace
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n", w.title())
	if w.state == nil {
		fmt.Fprintf(&b, "not begun; %s will hold the journal\n", w.path)
	} else {
		pace = w.state.Pace(w.plan.Profile.Pace)
		fmt.Fprintf(&b, "journal: %s\n", w.path)
		b.WriteString(atBench(w.plan, w.spool, w.state, w.compare()))
		if worked, made := w.state.Worked(); made > 0 {
			fmt.Fprintf(&b, "worked: %s for %s\n", say.Work(worked.Seconds()), punches(made))
		}
		for _, line := range punching.Told(w.state) {
			fmt.Fprintf(&b, "from the journal: %s\n", line)
		}
	}
	e := w.plan.Estimate(pace)
	assumed := ""
	if e.Assumed {
		assumed = ", assumed"
	}
	lengths := w.plan.Profile.Lengths
	fmt.Fprintf(&b, "in all: %s in %s, %s\n", punches(e.Punches), say.Count(e.Rows, "row"),
		w.plan.Profile.Crank.Work(e.Turns))
	fmt.Fprintf(&b, "work: %s at %s%s, %s\n", say.Work(e.WorkSec), e.Pace.Text(), assumed,
		say.Count(e.Sessions, "sitting"))
	fmt.Fprintf(&b, "paper: %s leader, %s music, %s trailer, %s in all; wound up %s, %s across\n",
		lengths.Long(e.LeaderMM), lengths.Long(e.MusicMM), lengths.Long(e.TrailerMM), lengths.Long(e.PaperMM),
		say.Count(int(math.Round(e.SpoolTurns)), "turn"), lengths.Across(e.SpoolMM))
	sayLosses(&b, "mind: ", w.plan)
	_, err := io.WriteString(out, b.String())
	return err
}

// atBench is what is cut of a roll, whether it belongs, what is still free.
func atBench(plan *bench.Plan, spool *edition.Roll, state *journal.State, c *punching.Changes) string {
	var b strings.Builder
	slips := c.Slips
	fmt.Fprintf(&b, "%s; up to %s from zero\n", c.Tally(), plan.Profile.Lengths.With(c.CutMM-plan.AlongMM(plan.Start)))
	if math.IsInf(c.CutMM, -1) {
		b.Reset()
		b.WriteString("nothing is cut yet\n")
	}
	if proved := punching.Proved(plan, state); proved != "" {
		fmt.Fprintln(&b, proved)
	}
	if slips > 0 {
		fmt.Fprintf(&b, "to patch: %s\n", say.Count(slips, "slip"))
	}
	if n := len(c.Patch) - slips; n > 0 {
		fmt.Fprintf(&b, "to patch: %s that the piece no longer has\n", say.Count(n, "hole"))
	}
	if n := len(c.Add); n > 0 {
		fmt.Fprintf(&b, "to add: %s in the part already done\n", say.Count(n, "hole"))
	}
	if !math.IsInf(c.CutMM, -1) && state.Head.TrialMM == 0 { // a strip is not in the order of the piece
		fmt.Fprintf(&b, "free: notes that begin after %.3f s of the piece may still change\n",
			spool.FromSec+max(c.FreeSec, 0))
	}
	if n := len(state.Damaged); n > 0 {
		fmt.Fprintf(&b, "damaged: %s of the journal could not be read, the first is line %d; those rows come again\n",
			say.Count(n, "line"), state.Damaged[0])
	}
	return b.String()
}

// changes lists what to patch and to add on rolls; of several each line begins
// with piano and spool.
func changes(t terminal, rolls ...*work) error {
	out := csv.NewWriter(t.out)
	several := len(rolls) > 1
	heads := []string{"what", "why", "row", "number", "name", "from_zero", "across_mm", "along_mm", "time_s"}
	if several {
		heads = append([]string{"piano", "spool"}, heads...)
	}
	_ = out.Write(heads) // the error is kept
	for _, w := range rolls {
		w.changes(func(line []string) {
			if several {
				spool := ""
				if w.spool.Of > 1 {
					spool = strconv.Itoa(w.spool.Number)
				}
				line = append([]string{cell.Name(w.spool.Name), spool}, line...)
			}
			_ = out.Write(line)
		})
	}
	out.Flush()
	if err := out.Error(); err != nil {
		return err
	}
	for _, w := range rolls {
		if several {
			fmt.Fprintln(t.err, w.title())
		}
		if w.state == nil {
			fmt.Fprintln(t.err, "nothing is cut yet: everything may change")
			continue
		}
		fmt.Fprint(t.err, atBench(w.plan, w.spool, w.state, w.compare()))
	}
	return nil
}

// changes yields a line for each hole to patch and to add.
func (w *work) changes(yield func([]string)) {
	c := w.compare()
	for _, p := range c.Patch {
		why := "no longer planned"
		if p.Slip {
			why = "slip"
		}
		yield(w.change("patch", why, p))
	}
	for _, p := range c.Add {
		yield(w.change("add", "not cut", p))
	}
}

func (w *work) change(what, why string, p punching.Place) []string {
	row, port, name := "", "", ""
	if p.Row >= 0 {
		row = strconv.Itoa(p.Row + 1)
	}
	if p.Port >= 0 {
		port, name = strconv.Itoa(w.plan.Notch(p.Port)), w.plan.PortName(p.Port)
	}
	sec := w.plan.Roll.Instrument.Transport.Sec(p.AlongMM)
	return []string{
		what, why, row, port, name, w.plan.Profile.Lengths.With(p.AlongMM - w.plan.AlongMM(w.plan.Start)),
		string(roll.AppendMM(nil, p.AcrossMM)), string(roll.AppendMM(nil, p.AlongMM)), strconv.FormatFloat(sec+0, 'f', 3, 64),
	}
}
