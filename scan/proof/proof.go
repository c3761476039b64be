// Package proof holds a roll as it lies on the table against the roll as it was
// planned, and lists what differs.
//
// The input is two rolls of one instrument: the plan, and what a scan of the
// paper read. The output is a Result: the differences, in millimetres of the
// plan, and the jumps of the paper. Places are float64 millimetres; what the scan
// says is mapped onto the plan by pieces (see Map), each a smooth curve fitted
// robustly to the edges that answer each other, so that paper that has shrunk,
// stretched, slipped or lost a piece makes no differences of its own.
package proof

import (
	"cmp"
	"errors"
	"fmt"
	"slices"

	"rollwright/paper/roll"
)

// ToleranceMM is how far an edge may lie off its place when nothing else is asked.
const ToleranceMM = 0.5

// nearMM is how far off a slot of the same port and length still counts as that
// slot, shifted.
const nearMM = 4

// Kind is what a difference is.
type Kind int8

// The kinds of differences.
const (
	Missing Kind = iota // planned, not found
	Extra               // found, not planned
	Shifted             // both edges off alike
	Short               // one edge off, or both unequally: shorter than planned
	Long                // likewise, longer
	Joined              // the paper between strokes is gone
	Split               // paper where the slot should be open
)

// Kinds is how many kinds there are.
const Kinds = int(Split) + 1

var kindNames = [Kinds]string{"missing", "extra", "shifted", "short", "long", "joined", "split"}

func (k Kind) String() string { return kindNames[k] }

// Difference is one place where plan and paper differ: one slot, none, or several
// of a port in order, on either side. Edges are millimetres of the plan: of the
// first slot the leading one, of the last the trailing one.
type Difference struct {
	Kind                      Kind
	Port                      int32   // index into Instrument.Bar.Ports
	Plan, Found               []int32 // indices of slots in the plan's roll, and in the scan's
	LeadMM, TrailMM           float64 // when Plan is not empty
	FoundLeadMM, FoundTrailMM float64 // when Found is not empty
}

// AtMM is where the difference lies along the plan.
func (d *Difference) AtMM() float64 {
	if len(d.Plan) > 0 {
		return d.LeadMM
	}
	return d.FoundLeadMM
}

// EndMM is where it ends.
func (d *Difference) EndMM() float64 {
	if len(d.Plan) > 0 {
		return max(d.TrailMM, d.FoundTrailMM)
	}
	return d.FoundTrailMM
}

// Jump is a place where the scan's paper does not go on as the plan does: at a
// splice, or where it slipped.
type Jump struct {
	FromMM, ToMM float64 // of the plan, before and after: ToMM-FromMM is lost, or, below 0, put in
	ScanMM       float64 // where it lies in the scan
}

// LostMM is how much of the plan is missing at the jump; below 0 paper was put in.
func (j Jump) LostMM() float64 { return j.ToMM - j.FromMM }

// Options say how the rolls are compared. The zero value is good.
type Options struct {
	ToleranceMM float64 // 0: ToleranceMM
}

// Result is what came out.
type Result struct {
	Plan, Scan  *roll.Roll
	Map         *Map
	Differences []Difference // in order of AtMM, then port
	Jumps       []Jump       // of a millimetre and more, in order
	Count       [Kinds]int   // of differences
	Same        int          // planned slots that are as planned

	// FromMM and ToMM are the stretch of the plan from the first to the last slot
	// that the scan has in common with it. Before and After are how many planned
	// slots begin before it and end after it: they are among the missing.
	FromMM, ToMM  float64
	Before, After int

	ToleranceMM float64
}

// ErrNothingAlike is the error of rolls that have too little in common.
var ErrNothingAlike = errors.New("proof: the scan and the plan have too little in common to be compared")

// UnlikeError says what was found where the two rolls could not be compared.
type UnlikeError struct {
	Matched, Slots int  // slots of the scan that answer to the plan, of all of them
	Mirrored       bool // it fits when bass and treble change places
	Backwards      bool // it fits from its end
}

func (e *UnlikeError) Error() string {
	text := fmt.Sprintf("%v: %d of the %d slots found answer to one of the plan", ErrNothingAlike, e.Matched, e.Slots)
	switch {
	case e.Mirrored && e.Backwards:
		text += "; they would fit turned end for end"
	case e.Mirrored:
		text += "; they would fit with bass and treble exchanged: it may be the back that is seen"
	case e.Backwards:
		text += "; they would fit read from the other end"
	}
	return text
}

// Unwrap is ErrNothingAlike.
func (e *UnlikeError) Unwrap() error { return ErrNothingAlike }

// Compare registers scan on plan and lists the differences. Both must be of
// instruments with the same ports. The error is an *UnlikeError.
func Compare(plan, scan *roll.Roll, o Options) (*Result, error) {
	if o.ToleranceMM == 0 {
		o.ToleranceMM = ToleranceMM
	}
	r := &Result{Plan: plan, Scan: scan, ToleranceMM: o.ToleranceMM}
	ports := len(plan.Instrument.Bar.Ports)
	p, s := newStrip(plan.Slots, ports), newStrip(scan.Slots, ports)
	if len(p.slots) == 0 && len(s.slots) == 0 {
		r.Map = &Map{}
		return r, nil
	}
	m, matched := register(p, s)
	if !alike(matched, len(p.slots), len(s.slots)) {
		return nil, unlike(p, s, matched)
	}
	r.Map = m
	r.Jumps = m.jumps()
	c := newMatcher(p, s, m, o.ToleranceMM)
	c.match()
	r.take(c)
	return r, nil
}

// alike reports whether so many slots in common make one roll of two.
func alike(matched, plan, scan int) bool {
	few := min(plan, scan)
	switch {
	case few == 0:
		return false
	case few <= 4:
		return matched >= 1 && 2*matched >= few
	}
	return matched >= 3 && 3*matched >= few
}

// unlike finds out whether the scan would fit the other way round.
func unlike(p, s *strip, matched int) error {
	e := &UnlikeError{Matched: matched, Slots: len(s.slots)}
	fits := func(turned *strip) bool {
		_, n := register(p, turned)
		return len(s.slots) > 4 && 2*n >= min(len(p.slots), len(s.slots))
	}
	e.Mirrored = fits(s.turned(true, false))
	e.Backwards = fits(s.turned(false, true))
	if !e.Mirrored && !e.Backwards && fits(s.turned(true, true)) {
		e.Mirrored, e.Backwards = true, true
	}
	return e
}

// take puts the differences in order and counts them.
func (r *Result) take(c *matcher) {
	r.Differences, r.Same = c.out, c.same
	slices.SortFunc(r.Differences, func(a, b Difference) int {
		return cmp.Or(cmp.Compare(roll.Printed(a.AtMM()), roll.Printed(b.AtMM())),
			cmp.Compare(a.Port, b.Port), cmp.Compare(a.Kind, b.Kind))
	})
	for i := range r.Differences {
		r.Count[r.Differences[i].Kind]++
	}
	r.FromMM, r.ToMM = c.from, c.to
	for i := range r.Differences {
		d := &r.Differences[i]
		switch {
		case d.Kind != Missing:
		case d.LeadMM < r.FromMM:
			r.Before++
		case d.TrailMM > r.ToMM:
			r.After++
		}
	}
}

// slot is a slot as it is registered.
type slot struct {
	lead, trail float64
	port, at    int32 // at: index into the roll's slots
}

func (s *slot) length() float64 { return s.trail - s.lead }

// strip is the slots of a roll, along it and by port.
type strip struct {
	slots  []slot    // by leading edge
	byPort [][]int32 // indices into slots, in order
}

func newStrip(slots []roll.Slot, ports int) *strip {
	s := &strip{slots: make([]slot, 0, len(slots))}
	for i := range slots {
		s.slots = append(s.slots, slot{slots[i].LeadMM, slots[i].TrailMM, slots[i].Port, int32(i)})
	}
	s.sort(ports)
	return s
}

func (s *strip) sort(ports int) {
	slices.SortStableFunc(s.slots, func(a, b slot) int {
		return cmp.Or(cmp.Compare(a.lead, b.lead), cmp.Compare(a.port, b.port))
	})
	s.byPort = make([][]int32, ports)
	for i := range s.slots {
		p := s.slots[i].port
		s.byPort[p] = append(s.byPort[p], int32(i))
	}
}

// turned is the strip as its back shows it, or from its end.
func (s *strip) turned(mirrored, backwards bool) *strip {
	out := &strip{slots: slices.Clone(s.slots)}
	for i := range out.slots {
		t := &out.slots[i]
		if mirrored {
			t.port = int32(len(s.byPort)) - 1 - t.port
		}
		if backwards {
			t.lead, t.trail = -t.trail, -t.lead
		}
	}
	out.sort(len(s.byPort))
	return out
}

// endMM is where the last slot ends.
func (s *strip) endMM() float64 {
	end := 0.0
	for i := range s.slots {
		end = max(end, s.slots[i].trail)
	}
	return end
}
