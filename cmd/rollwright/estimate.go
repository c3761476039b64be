package main

import (
	"fmt"
	"io"
	"strings"

	"rollwright/making/bench"
	"rollwright/paper/instrument"
	"rollwright/text/say"
	"rollwright/workshop"
)

// sayHandWork says what the rolls that worksheets were written of will take.
func sayHandWork(w io.Writer, job *workshop.Job, o *workshop.Options) error {
	all, err := job.ToPunch(o.Piano, &o.Making)
	if err != nil {
		return err
	}
	for _, s := range all {
		plan, err := job.BenchPlan(s, &o.Making)
		if err != nil {
			return err
		}
		name := s.Name
		if s.Of > 1 {
			name = strings.TrimSpace(fmt.Sprintf("%s spool %d", name, s.Number))
		}
		sayWork(w, name, plan, bench.Pace{})
	}
	return nil
}

// sayWork says what the work on a roll by hand will take, and what this bench
// cannot do as the roll wants it. name tells rolls apart; empty: there is one.
func sayWork(w io.Writer, name string, p *bench.Plan, pace bench.Pace) {
	if name != "" {
		name += ": "
	}
	e, lengths := p.Estimate(pace), p.Profile.Lengths
	assumed := ""
	if e.Assumed {
		assumed = " (assumed)"
	}
	fmt.Fprintf(w, "%s%s in %s: %s at %s%s, %s; %s; paper %s\n", name, punches(e.Punches),
		say.Count(e.Rows, "row"),
		say.Work(e.WorkSec), e.Pace.Text(), assumed, say.Count(e.Sessions, "sitting"), p.Profile.Crank.Work(e.Turns),
		lengths.Long(e.PaperMM))
	sayLosses(w, name, p)
}

// lostMM is how far a hole may stand beside its place before it is worth a word:
// more than the half part of a dial of tenths of a millimetre, 2.5 ms at roll
// tempo 80.
const lostMM = 0.1

// sayLosses says which strokes this bench drops, or puts beside their places,
// and what would help.
func sayLosses(w io.Writer, name string, p *bench.Plan) {
	if p.Merged == 0 && p.LargestMM <= lostMM && !p.WebTooWide() {
		return
	}
	in := p.Roll.Instrument
	fmt.Fprintf(w, "%s%s of this bench stand %.3f mm apart: the farthest hole is %.2f mm (%.1f ms) beside its place", name,
		map[bool]string{true: "the clicks", false: "the marks"}[p.Profile.Crank.Clicks()], p.Profile.Crank.PartMM(),
		p.LargestMM, 1000*p.LargestMM/in.Transport.SpeedMMPerSec())
	if p.Merged > 0 {
		fmt.Fprintf(w, ", %s that fall on a neighbour are left out", say.Count(p.Merged, "stroke"))
	}
	if p.WebTooWide() {
		fmt.Fprintf(w, ", webs inside slots are up to %.2f mm wide and may shut a port, which bears %.2f mm", p.WebMM,
			in.WebMaxMM())
	}
	remedy := "take a finer dial"
	if other := onRows(in, p.Profile.Crank.PartMM()); other != "" {
		remedy = fmt.Sprintf("write instrument = %q in the piece, whose holes stand on these rows", other)
	}
	fmt.Fprintf(w, "; %s\n", remedy)
}

// onRows is the built-in instrument with the same ports as in, but with holes on
// rows so far apart; empty: there is none.
func onRows(in *instrument.Instrument, stepMM float64) string {
	for _, l := range instrument.List() {
		other, err := instrument.Load(l.Name, "")
		const same = 1e-6
		if err != nil || in.StepMM > 0 || other.StepMM < stepMM-same || other.StepMM > stepMM+same ||
			len(other.Bar.Ports) != len(in.Bar.Ports) {
			continue
		}
		if other.Bar.Ports[0].AcrossMM == in.Bar.Ports[0].AcrossMM && other.Transport.Spool == in.Transport.Spool {
			return l.Name
		}
	}
	return ""
}

// punches is a number of them.
func punches(n int) string {
	if n == 1 {
		return "1 punch"
	}
	return fmt.Sprintf("%d punches", n)
}
