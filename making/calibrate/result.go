package calibrate

import (
	"fmt"
	"math"

	"rollwright/paper/instrument"
)

// Result is an instrument as it was found to be.
type Result struct {
	Readings *Readings
	Test     *Test
	Before   *instrument.Instrument // with its lever where it was
	Fit      *Fit
	Limits   []Limit
}

// Quantity is what a Limit limits.
type Quantity int8

// The quantities, in the order in which they are told.
const (
	Shortest    Quantity = iota // s, the port is open for the shortest note
	GapTime                     // s, between two strokes
	GapPaper                    // mm, likewise
	NotesAtOnce                 // notes
	Bridge                      // mm, the widest web heard as one note
)

// Limit is what the action was found to do: Value does, Beyond was the next try
// and did not; the true limit lies between. Open is true where no try failed,
// so that the limit may lie farther.
type Limit struct {
	What          Quantity
	Value, Beyond float64
	Open          bool
}

// Calibrate fits the instrument to the readings taken while the test roll made
// for it played. Warnings are for Result.Warnings; an error is readings that
// tell nothing, or that no test roll of this instrument can give.
func Calibrate(in *instrument.Instrument, r *Readings) (*Result, error) {
	test, err := NewTest(in, Options{LengthMM: r.LengthMM})
	if err != nil {
		return nil, err
	}
	lever := r.Lever
	if lever == 0 {
		lever = in.Transport.LeverTempo()
	}
	fit, err := newProblem(in, lever, r.list, r.runs).solve()
	if err != nil {
		return nil, err
	}
	before := *in
	before.Transport = in.Transport.AtLever(lever)
	before.Transport.Lever = lever
	result := &Result{Readings: r, Test: test, Before: &before, Fit: fit}
	return result, result.limits()
}

// After is the instrument by the fit, its limits left as they were.
func (r *Result) After() *instrument.Instrument {
	after := *r.Before
	after.Transport = r.Fit.Transport(r.Before.Transport.LeverTempo())
	after.Action.DelaySec = r.Fit.Delay.Value
	return &after
}

// speedAt is the paper speed that the fit has at a row.
func (r *Result) speedAt(along float64) float64 {
	t := r.Fit.Transport(0)
	return t.SpeedAt(t.Sec(along))
}

// limits works out what the tries say.
func (r *Result) limits() error {
	for _, one := range []func() error{r.shortest, r.gap, r.pair} {
		if err := one(); err != nil {
			return err
		}
	}
	if n := r.Readings.Chord; n > 0 {
		last := r.Test.Chords[len(r.Test.Chords)-1].Notes
		if n > last {
			return beyond("chords", n, last)
		}
		r.Limits = append(r.Limits, Limit{NotesAtOnce, float64(n), float64(n + 2), n >= last})
	}
	return nil
}

// beyond complains about a number that this test roll does not have.
func beyond(what string, n, most int) error {
	return fmt.Errorf("calibrate: %s says %d, and this test roll has %d: was it made for another instrument?", what, n,
		most)
}

// shortest is the open time of the first note that sounds, on the slowest of
// the three keys, and that of the last that did not.
func (r *Result) shortest() error {
	found := Limit{What: Shortest, Open: true}
	edge := r.Before.EdgeShiftMM()
	for k, n := range r.Readings.Slots {
		list := r.Test.Slots[k]
		switch {
		case n == 0:
			continue
		case n > len(list):
			return beyond("slots", n, len(list))
		}
		open := func(i int) float64 { return (list[i].LengthMM - 2*edge) / r.speedAt(list[i].AlongMM) }
		if sec := open(n - 1); sec > found.Value {
			found.Value, found.Open = sec, n == 1
			if n > 1 {
				found.Beyond = open(n - 2)
			}
		}
	}
	r.take(found)
	return nil
}

// gap is the time between two strokes of the fastest group that came out whole,
// on the slowest of the three keys.
func (r *Result) gap() error {
	found := Limit{What: GapTime}
	d, edge := r.Before.Die.DiameterMM, r.Before.EdgeShiftMM()
	for k, n := range r.Readings.Repeats {
		list := r.Test.Repeats[k]
		switch {
		case n == 0:
			continue
		case n > len(list):
			return beyond("repeats", n, len(list))
		}
		shut := func(i int) float64 { return (list[i].ApartMM - d + 2*edge) / r.speedAt(list[i].AlongMM) }
		if sec := shut(n - 1); sec > found.Value {
			found.Value, found.Open = sec, n == len(list)
			if n < len(list) {
				found.Beyond = shut(n)
			}
		}
	}
	r.take(found)
	return nil
}

// pair is the narrowest web that parts two notes, and the widest that does not.
func (r *Result) pair() error {
	list := r.Test.Pairs
	if n := r.Readings.Two; n > len(list) {
		return beyond("pairs", n, len(list))
	} else if n > 0 {
		l := Limit{What: GapPaper, Value: list[n-1].WebMM, Open: n == 1}
		if n > 1 {
			l.Beyond = list[n-2].WebMM
		}
		r.take(l)
	}
	if n := r.Readings.One; n > len(list) {
		return beyond("pairs", n, len(list))
	} else if n > 0 {
		l := Limit{What: Bridge, Value: list[n-1].WebMM, Open: n == len(list)}
		if n < len(list) {
			l.Beyond = list[n].WebMM
		}
		r.take(l)
	}
	return nil
}

func (r *Result) take(l Limit) {
	if l.Value > 0 {
		r.Limits = append(r.Limits, l)
	}
}

// limit is what was found of a quantity.
func (r *Result) limit(what Quantity) (Limit, bool) {
	for _, l := range r.Limits {
		if l.What == what {
			return l, true
		}
	}
	return Limit{}, false
}

// mostScatter is how many times their own precision readings may scatter before
// something else than reading is wrong with them: a slipping belt, a wrong mark.
const mostScatter = 5

// oddSpeed is how many times faster or slower than its lever an instrument is
// before a slip of the pen is likelier.
const oddSpeed = 1.25

// Doubtful says why the fit should not be relied on; nil where it may be.
func (r *Result) Doubtful() error {
	f := r.Fit
	if f.Freedom == 0 || f.Scatter <= mostScatter {
		return nil
	}
	return fmt.Errorf("calibrate: the readings scatter %.2g times as much as their precision says, more than %d times; look again at %s, %s off", f.Scatter, mostScatter, f.Worst.Reading, f.Worst.text())
}

// Warnings are what a person should look at before trusting the result.
func (r *Result) Warnings() []string {
	var out []string
	f := r.Fit
	if f.Scatter > 2 && f.Freedom > 0 {
		out = append(out, fmt.Sprintf("the readings scatter %.2g times as much as their precision says; look again at %s, %s off", f.Scatter, f.Worst.Reading, f.Worst.text()))
	}
	if f.Lack != nil {
		out = append(out, f.Lack.Text())
	}
	if by := f.Speed.Value / speedOf(r.Before.Transport.LeverTempo()); f.Speed.Fitted &&
		(by > oddSpeed || by < 1/oddSpeed) {
		out = append(out, fmt.Sprintf("the paper runs at %.3g times what the lever says: are marks in millimetres, times in seconds, and is the lever right?", by))
	}
	if f.Freedom == 0 {
		out = append(out, "there are just as many readings as numbers fitted: the ranges rest on the assumed precision of readings alone")
	}
	if !f.Speed.Fitted {
		out = append(out, "the paper's speed was not measured: there are no times at two marks of one run")
	}
	if f.Delay.Fitted && f.Delay.Value < 0 {
		out = append(out, fmt.Sprintf("marks are heard %.0f ms before they are seen; the file has a delay of 0",
			-1000*f.Delay.Value))
	}
	in := r.Before
	if l, ok := r.limit(Bridge); ok && in.Chain.Bridged && !l.Open && in.BridgeMM()-in.Die.DiameterMM > l.Value {
		out = append(out, fmt.Sprintf("bridges of %.2f mm, as the chain has them, were heard as two notes: write bridge_spacing = %.2f in the chain, or kind = \"slot\"",
			in.BridgeMM()-in.Die.DiameterMM, math.Floor(100*(l.Value+in.Die.DiameterMM))/100))
	}
	if l, ok := r.limit(GapPaper); ok && l.Value < in.WebMaxMM() {
		out = append(out, fmt.Sprintf("webs of %.2f mm already part two notes, and open_share and port_height say %.2f mm: measure the ports", l.Value, in.WebMaxMM()))
	}
	return out
}

// text is how far a reading lies off.
func (r *Residual) text() string { return fmt.Sprintf("%+.3g %s", r.Off, r.Unit) }
