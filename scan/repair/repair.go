// Package repair turns the differences of a proof into work at the bench.
//
// The input is a proof.Result and the bench.Plan of the same roll; the output is
// what to patch and what to punch, in the order of the roll, as pages and as
// records of the journal. Lengths are millimetres of the roll, in float64.
package repair

import (
	"cmp"
	"math"
	"slices"

	"rollwright/making/bench"
	"rollwright/scan/proof"
)

// edgeMM is how near the end of a patch must lie to a planned edge for that edge
// to be cut again: a patch does not end where a hole does.
const edgeMM = 1

// nearEndMM is how near to the first planned slot a proof must begin, or to the
// last one end, to be about that end of the roll too.
const nearEndMM = 50

// Patch is a stretch of a port that is open and should not be.
type Patch struct {
	Port         int32 // index into Instrument.Bar.Ports
	FromMM, ToMM float64
	Kind         proof.Kind // what the proof calls it
}

// Work is what is to be done to a roll.
type Work struct {
	Plan    *bench.Plan // the whole roll
	Patches []Patch     // in the order of the roll
	Rows    []bench.Row // what to punch: rows of the plan with the strokes that are missing
	Numbers []int       // of these rows in the plan, from 1
	FromMM  float64     // the stretch of the roll that the proof is about
	ToMM    float64
	Beyond  int // missing slots outside that stretch, which are no repair

	result  *proof.Result
	there   [][]bool // by row, by stroke of the plan: it lies within the stretch, and the paper has it
	missing [][]bool // it lies within the stretch, and is to be punched
}

// New works out what has to be done so that the paper becomes the plan. The
// proof's plan must be the bench plan's roll.
func New(r *proof.Result, p *bench.Plan) *Work {
	w := &Work{Plan: p, result: r}
	w.stretch()
	w.patches()
	w.strokes()
	w.again()
	w.rows()
	return w
}

// stretch is what the proof is about: to an end of the roll, when it comes near.
func (w *Work) stretch() {
	w.FromMM, w.ToMM = w.result.FromMM, w.result.ToMM
	first, last := math.Inf(1), math.Inf(-1)
	for i := range w.Plan.Roll.Slots {
		first, last = min(first, w.Plan.Roll.Slots[i].LeadMM), max(last, w.Plan.Roll.Slots[i].TrailMM)
	}
	if w.FromMM-first < nearEndMM {
		w.FromMM = first
	}
	if last-w.ToMM < nearEndMM {
		w.ToMM = last
	}
}

// within reports whether a stretch of the roll lies in what the proof is about.
func (w *Work) within(fromMM, toMM float64) bool {
	return fromMM >= w.FromMM-edgeMM && toMM <= w.ToMM+edgeMM
}

// span is a stretch of a port.
type span struct{ from, to float64 }

// patches are the parts of what was found that are not planned.
func (w *Work) patches() {
	for i := range w.result.Differences {
		d := &w.result.Differences[i]
		if d.Kind == proof.Missing && !w.within(d.LeadMM, d.TrailMM) {
			w.Beyond++
		}
		for _, s := range without(w.found(d), w.planned(d)) {
			if s.to-s.from > w.result.ToleranceMM {
				w.Patches = append(w.Patches, Patch{d.Port, s.from, s.to, d.Kind})
			}
		}
	}
	slices.SortStableFunc(w.Patches, func(a, b Patch) int {
		return cmp.Or(cmp.Compare(a.FromMM, b.FromMM), cmp.Compare(a.Port, b.Port))
	})
}

func (w *Work) planned(d *proof.Difference) []span {
	var out []span
	for _, i := range d.Plan {
		s := &w.result.Plan.Slots[i]
		out = append(out, span{s.LeadMM, s.TrailMM})
	}
	return out
}

// found are the openings of the paper, on the plan.
func (w *Work) found(d *proof.Difference) []span {
	var out []span
	for _, i := range d.Found {
		s := &w.result.Scan.Slots[i]
		out = append(out, span{w.result.Map.ToPlan(s.LeadMM), w.result.Map.ToPlan(s.TrailMM)})
	}
	return out
}

// without is what of some spans no other covers; both are in order.
func without(spans, others []span) []span {
	var out []span
	for _, s := range spans {
		for _, o := range others {
			if o.to <= s.from || o.from >= s.to {
				continue
			}
			if o.from > s.from {
				out = append(out, span{s.from, o.from})
			}
			s.from = o.to
		}
		if s.from < s.to {
			out = append(out, s)
		}
	}
	return out
}

// strokes finds which strokes of the plan the paper has.
func (w *Work) strokes() {
	differs := map[int32]*proof.Difference{}
	for i := range w.result.Differences {
		d := &w.result.Differences[i]
		for _, slot := range d.Plan {
			differs[slot] = d
		}
	}
	w.there, w.missing = make([][]bool, len(w.Plan.Rows)), make([][]bool, len(w.Plan.Rows))
	radius := w.Plan.DieMM() / 2
	for i := range w.Plan.Rows {
		row := &w.Plan.Rows[i]
		w.there[i], w.missing[i] = make([]bool, len(row.Strokes)), make([]bool, len(row.Strokes))
		along := w.Plan.AlongMM(row.Dial)
		for k, s := range row.Strokes {
			slot := &w.Plan.Roll.Slots[s.Slot]
			d := differs[s.Slot]
			switch {
			case d == nil:
				w.there[i][k] = true
			case d.Kind == proof.Missing && !w.within(slot.LeadMM, slot.TrailMM):
			default:
				w.there[i][k] = covered(w.found(d), along-radius, along+radius, w.result.ToleranceMM)
				w.missing[i][k] = !w.there[i][k]
			}
		}
	}
}

// covered reports whether a stroke lies within one of the spans, but for so much.
func covered(spans []span, from, to, tolerance float64) bool {
	for _, s := range spans {
		if from >= s.from-tolerance && to <= s.to+tolerance {
			return true
		}
	}
	return false
}

// again asks for the strokes at planned edges that a patch covers: they are cut
// once more when it has dried.
func (w *Work) again() {
	radius := w.Plan.DieMM() / 2
	for i := range w.Plan.Rows {
		row := &w.Plan.Rows[i]
		along := w.Plan.AlongMM(row.Dial)
		for k, s := range row.Strokes {
			for _, p := range w.Patches {
				if p.Port != s.Port || w.missing[i][k] || !w.there[i][k] {
					continue
				}
				after := s.N == s.Of && math.Abs(p.FromMM-along-radius) < edgeMM
				before := s.N == 1 && math.Abs(p.ToMM-along+radius) < edgeMM
				if after || before {
					w.missing[i][k] = true
				}
			}
		}
	}
}

// rows are the rows of the plan with what is missing in them.
func (w *Work) rows() {
	before := 0
	for i := range w.Plan.Rows {
		var strokes []bench.Stroke
		for k, s := range w.Plan.Rows[i].Strokes {
			if w.missing[i][k] {
				strokes = append(strokes, s)
			}
		}
		if len(strokes) == 0 {
			continue
		}
		row := w.Plan.Rows[i]
		row.Strokes, row.Before, row.Check = strokes, before, false
		before += len(strokes)
		w.Rows, w.Numbers = append(w.Rows, row), append(w.Numbers, i+1)
	}
}

// Punches is how many strokes there are to make.
func (w *Work) Punches() int {
	n := 0
	for i := range w.Rows {
		n += len(w.Rows[i].Strokes)
	}
	return n
}

// None reports whether there is nothing to do.
func (w *Work) None() bool { return len(w.Patches)+len(w.Rows) == 0 }
