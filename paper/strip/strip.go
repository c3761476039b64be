// Package strip makes a trial strip of a roll: a short paper with the worst place of
// each kind of doubt, to play on the instrument before months go into the whole.
//
// A doubt is a finding that the instrument itself can answer. The strip holds
// stretches of the roll, windows, one after the other with a rest and a letter
// between; the holes of a window are those of the roll, all moved by one length.
// Lengths are millimetres in float64. The answers come back as a text: see Form and
// Read.
package strip

import (
	"errors"
	"fmt"
	"iter"
	"math"
	"slices"

	"rollwright/paper/inspect"
	"rollwright/paper/roll"
)

// Window is a stretch of the roll on the strip.
type Window struct {
	Letter       string  // printed before it
	FromMM, ToMM float64 // on the roll: holes whose middle lies from FromMM up to ToMM
	MovedMM      float64 // a place on the strip less the same place on the roll
	Doubts       []Doubt
}

// Doubt is a question to the instrument.
type Doubt struct {
	inspect.Finding
	Name    string // letter and number: A1
	Strokes int    // of its port in the window; 0: the doubt is about no single port
}

// Strip is a trial strip.
type Strip struct {
	Roll    *roll.Roll
	Windows []Window
	NoRoom  []inspect.Kind // of which the worst place does not fit
}

// Options say how a strip is made.
type Options struct {
	LongestMM float64 // of all windows with their rests
	RowMM     float64 // windows are moved by multiples of it, so that holes stay on rows; 0: of a millimetre
}

// aroundSec is what is heard before and after a doubt.
const aroundSec = 1

// restMM is blank paper between two windows, with the letter of the second on it.
const restMM = 30

// placesOfKind bounds the equally bad places of a kind that are looked at.
const placesOfKind = 100

// asked are the kinds that playing can answer.
var asked = []inspect.Kind{
	inspect.Repetition, inspect.ShortBridge, inspect.UnclearWeb, inspect.TooShort, inspect.ShortSlot, inspect.AtOnce,
	inspect.Rate, inspect.SideBySide, inspect.RowCutAway, inspect.WeakLine, inspect.OpenSlot, inspect.NearEdge,
}

// weightOf is how much a kind is worth: what may fail more than what is good to
// know.
func weightOf(s inspect.Severity) float64 {
	if s == inspect.Note {
		return 1
	}
	return 3
}

// ErrNoDoubt says that playing could answer nothing about a roll.
var ErrNoDoubt = errors.New("strip: nothing on this roll is in doubt that playing could answer, so there is nothing to try")

// Make makes the strip of a roll. findings are those of this roll, or of the same
// one before its punches were moved to rows; they are walked twice. It is a weighted
// set cover: of all windows the one that has most weight of new kinds a millimetre
// is taken, until every kind is there or nothing more fits (V. Chvatal, A greedy
// heuristic for the set-covering problem, Mathematics of Operations Research 4
// (1979) 233). The error says that there is nothing to try, or no room for it.
func Make(r *roll.Roll, findings iter.Seq[inspect.Finding], o Options) (*Strip, error) {
	worst := map[inspect.Kind]inspect.Finding{}
	for f := range findings {
		if !doubtful(r, &f) {
			continue
		}
		if w, ok := worst[f.Kind]; !ok || f.WorseThan(&w) {
			worst[f.Kind] = f
		}
	}
	if len(worst) == 0 {
		return nil, ErrNoDoubt
	}
	var places []Window
	count := map[inspect.Kind]int{}
	for f := range findings {
		w, ok := worst[f.Kind]
		if ok && doubtful(r, &f) && !w.WorseThan(&f) && count[f.Kind] < placesOfKind {
			count[f.Kind]++
			places = append(places, around(r, &f))
		}
	}
	for i := range places { // every worst place that lies in a window is a doubt of it
		for _, w := range places {
			d := w.Doubts[0]
			within := d.AlongMM >= places[i].FromMM && endOf(r, &d) <= places[i].ToMM
			if within && !slices.ContainsFunc(places[i].Doubts, func(e Doubt) bool { return e.Kind == d.Kind }) {
				places[i].Doubts = append(places[i].Doubts, d)
			}
		}
	}
	s := &Strip{}
	s.choose(places, worst, o.LongestMM)
	if len(s.Windows) == 0 {
		return nil, fmt.Errorf("strip: %g mm have no room for any doubt with a second before and after it; the shortest needs %.0f mm",
			o.LongestMM, shortest(places)+restMM)
	}
	s.cut(r, o)
	return s, nil
}

func doubtful(r *roll.Roll, f *inspect.Finding) bool {
	return f.Piano == r.Piano && slices.Contains(asked, f.Kind)
}

// endOf is where a doubt ends on the roll.
func endOf(r *roll.Roll, d *Doubt) float64 {
	t := &r.Instrument.Transport
	switch d.Kind {
	case inspect.Rate:
		return d.AlongMM
	case inspect.SideBySide, inspect.OpenSlot, inspect.ShortSlot:
		return d.AlongMM + d.Value
	case inspect.WeakLine:
		return d.LastMM()
	}
	return t.AlongMM(t.Sec(d.AlongMM) + 0.2)
}

// around is the window of one finding. What is told of a passage is told where its
// last stroke begins, so a second before holds it.
func around(r *roll.Roll, f *inspect.Finding) Window {
	t := &r.Instrument.Transport
	d := Doubt{Finding: *f}
	return Window{
		FromMM: t.AlongMM(t.Sec(f.AlongMM) - aroundSec),
		ToMM:   t.AlongMM(t.Sec(endOf(r, &d)) + aroundSec),
		Doubts: []Doubt{d},
	}
}

func shortest(places []Window) float64 {
	least := math.Inf(1)
	for _, w := range places {
		least = min(least, w.ToMM-w.FromMM)
	}
	return least
}

// choose takes windows greedily, then puts them in the order of the roll.
func (s *Strip) choose(places []Window, worst map[inspect.Kind]inspect.Finding, room float64) {
	missing := map[inspect.Kind]bool{}
	for k := range worst {
		missing[k] = true
	}
	for len(missing) > 0 {
		best, most := -1, 0.0
		for i, w := range places {
			long, gain := w.ToMM-w.FromMM+restMM, 0.0
			for _, d := range w.Doubts {
				if missing[d.Kind] {
					gain += weightOf(d.Severity)
				}
			}
			if long <= room && gain/long > most {
				best, most = i, gain/long
			}
		}
		if best < 0 {
			break
		}
		w := places[best]
		w.Doubts = slices.DeleteFunc(slices.Clone(w.Doubts), func(d Doubt) bool { return !missing[d.Kind] })
		for _, d := range w.Doubts {
			delete(missing, d.Kind)
		}
		room -= w.ToMM - w.FromMM + restMM
		s.Windows = append(s.Windows, w)
	}
	for _, k := range asked {
		if missing[k] {
			s.NoRoom = append(s.NoRoom, k)
		}
	}
	slices.SortStableFunc(s.Windows, func(a, b Window) int {
		if a.FromMM < b.FromMM {
			return -1
		}
		return 1
	})
}

// cut puts the holes of all windows on the strip.
func (s *Strip) cut(r *roll.Roll, o Options) {
	strip := *r
	strip.Slots, strip.Outside, strip.Clashes, strip.NoPort, strip.Beyond = nil, nil, nil, nil, nil
	row := o.RowMM
	if row <= 0 {
		row = 1
	}
	next := float64(restMM)
	for i := range s.Windows {
		w := &s.Windows[i]
		w.Letter = letter(i)
		w.MovedMM = math.Ceil((next-w.FromMM)/row-1e-9) * row
		next = w.ToMM + w.MovedMM + restMM
		s.window(r, w, &strip)
		for k := range w.Doubts {
			w.Doubts[k].Name = fmt.Sprintf("%s%d", w.Letter, k+1)
			w.Doubts[k].Strokes = strokes(r, w, w.Doubts[k].Port)
		}
	}
	strip.EndSec = max(r.Instrument.Transport.Sec(next-restMM), 0)
	strip.Sort()
	s.Roll = &strip
}

// window copies the punches whose middle lies in a window, moved as a whole.
func (s *Strip) window(r *roll.Roll, w *Window, strip *roll.Roll) {
	radius := r.Instrument.Die.DiameterMM / 2
	for i := range r.Slots {
		slot := r.Slots[i]
		if slot.FirstMM >= w.ToMM || slot.LastMM < w.FromMM {
			continue
		}
		var own []float64
		for at := range r.Punches(&r.Slots[i]) {
			if at >= w.FromMM && at < w.ToMM {
				own = append(own, at+w.MovedMM)
			}
		}
		if len(own) == 0 {
			continue
		}
		slot.Own, slot.Punches = own, int32(len(own))
		slot.FirstMM, slot.LastMM = own[0], own[len(own)-1]
		slot.LeadMM, slot.TrailMM = slot.FirstMM-radius, slot.LastMM+radius
		slot.OpenMM, slot.ShutMM = slot.LeadMM, slot.TrailMM
		strip.Slots = append(strip.Slots, slot)
	}
}

// strokes is how often a port is struck in a window.
func strokes(r *roll.Roll, w *Window, port int) (n int) {
	for i := range r.Slots {
		if s := &r.Slots[i]; int(s.Port)+1 == port && s.FirstMM >= w.FromMM && s.FirstMM < w.ToMM {
			n++
		}
	}
	return n
}

// letter names windows: A to Z, then AA.
func letter(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return letter(i/26-1) + string(rune('A'+i%26))
}
