package roll

import (
	"cmp"
	"iter"
	"math"
	"slices"

	"rollwright/music/event"
	"rollwright/paper/instrument"
)

// Played is what one note port's slot sounds on the roll's instrument.
type Played struct {
	Slot             int     // index into Roll.Slots
	StartSec, EndSec float64 // the port's opening and shutting, each with the action's delay
	Level            int     // what the theme or level ports say, 1 to 127
	Sounds           bool    // the port is open at least the action's shortest time
}

// Played is every slot of a note port as the instrument plays it, in order of
// the slots. It knows the roll alone: events that were lost are not in it.
func (r *Roll) Played() iter.Seq[Played] {
	return func(yield func(Played) bool) {
		ear := newEar(r)
		for from := 0; from < len(r.Slots); {
			to := from + 1
			for to < len(r.Slots) && Printed(r.Slots[to].LeadMM) == Printed(r.Slots[from].LeadMM) {
				to++
			}
			for i := from; i < to; i++ {
				ear.control(&r.Slots[i])
			}
			for i := from; i < to; i++ {
				if p, ok := ear.note(i); ok && !yield(p) {
					return
				}
			}
			from = to
		}
	}
}

// shortSec is how much an open time may fall short of the action's shortest
// before it counts: the arithmetic of a slot cut to that time exactly.
const shortSec = 1e-9

// ear hears a roll slot by slot.
type ear struct {
	roll     *Roll
	edgeMM   float64
	until    []float64  // of each port: the leading edge up to which a note's port still opens while it is open
	controls [3][]int32 // the theme or level ports that decide the loudness of each half, by instrument.Half
}

func newEar(r *Roll) *ear {
	e := &ear{roll: r, edgeMM: r.Instrument.EdgeShiftMM(), until: make([]float64, len(r.Instrument.Bar.Ports))}
	for i, p := range r.Instrument.Bar.Ports {
		e.until[i] = math.Inf(-1)
		for _, half := range []instrument.Half{instrument.Bass, instrument.Treble} {
			if decides(r.Instrument.Levels.Kind, p, half) {
				e.controls[half] = append(e.controls[half], int32(i))
			}
		}
	}
	return e
}

// decides reports whether p has a say in the loudness of a half.
func decides(kind instrument.LevelKind, p instrument.Port, half instrument.Half) bool {
	switch {
	case kind == instrument.Accents && half == instrument.Bass:
		return p.Role == instrument.ThemeBass
	case kind == instrument.Accents:
		return p.Role == instrument.ThemeTreble
	}
	return kind == instrument.Steps && p.Role == instrument.Level && (p.Half == instrument.BothHalves || p.Half == half)
}

func (e *ear) control(s *Slot) {
	if e.roll.Instrument.Bar.Ports[s.Port].Role != instrument.Note {
		e.until[s.Port] = s.TrailMM - 2*e.edgeMM
	}
}

// note is slot i as played, and false when it is a control port's.
func (e *ear) note(i int) (Played, bool) {
	s, in := &e.roll.Slots[i], e.roll.Instrument
	port := &in.Bar.Ports[s.Port]
	if port.Role != instrument.Note {
		return Played{}, false
	}
	open := in.Transport.Sec(s.LeadMM + e.edgeMM)
	shut := in.Transport.Sec(s.TrailMM - e.edgeMM)
	return Played{
		Slot:     i,
		StartSec: open + in.Action.DelaySec,
		EndSec:   shut + in.Action.DelaySec,
		Level:    e.level(port.Key, s.LeadMM),
		Sounds:   shut-open >= in.Action.ShortestSec-shortSec,
	}, true
}

// level is the loudness of a note of the given key whose slot begins at lead.
func (e *ear) level(key int, lead float64) int {
	ports, levels := e.roll.Instrument.Bar.Ports, &e.roll.Instrument.Levels
	number, accent := 0, false
	for _, i := range e.controls[e.roll.Instrument.Bar.Half(key)] {
		if lead < e.until[i] {
			number, accent = number+ports[i].Weight, true
		}
	}
	switch {
	case levels.Kind == instrument.Steps:
		return levels.Steps[min(number, len(levels.Steps)-1)]
	case accent:
		return levels.AccentLevel
	}
	return levels.PlainLevel
}

// Play is the punched roll as music: the events that its instrument sounds, in
// order of StartSec, then Voice, then Key. A slot whose port is open for less
// than the action's shortest time is silent. Voice and Note are those of the
// slot's first cause, Part is 1. A slot that no event caused has Voice -1.
func Play(r *Roll) iter.Seq[event.Event] {
	return func(yield func(event.Event) bool) {
		var chord []event.Event
		flush := func() bool {
			slices.SortFunc(chord, func(a, b event.Event) int {
				return cmp.Or(cmp.Compare(a.StartSec, b.StartSec), cmp.Compare(a.Voice, b.Voice), cmp.Compare(a.Key, b.Key))
			})
			for _, e := range chord {
				if !yield(e) {
					return false
				}
			}
			chord = chord[:0]
			return true
		}
		printed := int64(0)
		for p := range r.Played() {
			s := &r.Slots[p.Slot]
			if at := Printed(s.LeadMM); at != printed {
				if !flush() {
					return
				}
				printed = at
			}
			if p.Sounds {
				chord = append(chord, r.event(s, p))
			}
		}
		flush()
	}
}

func (r *Roll) event(s *Slot, p Played) event.Event {
	voice := s.Causes.First.Voice
	if s.Causes.First.Note == 0 {
		voice = -1
	}
	return event.Event{
		StartSec: p.StartSec, EndSec: p.EndSec,
		Voice: voice, Note: s.Causes.First.Note, Part: 1,
		Piano: int16(r.Piano), Key: int16(r.Instrument.Bar.Ports[s.Port].Key), Level: int16(p.Level),
	}
}
