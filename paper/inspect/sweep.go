package inspect

import (
	"iter"

	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/tear"
	"rollwright/text/source"
)

// noiseMM and noiseSec are what arithmetic alone can have made.
const (
	noiseMM  = 1e-7
	noiseSec = 1e-9
)

// All are the findings of every roll, roll after roll: first what concerns the
// whole roll, then what has a place, from start to end, then what a voice has
// throughout. Rolls must have been laid out for p.
func All(p *piece.Piece, rolls []*roll.Roll) iter.Seq[Finding] {
	return all(p, rolls, nil, nil)
}

func all(p *piece.Piece, rolls []*roll.Roll, answers []Answer, t *trials) iter.Seq[Finding] {
	return func(yield func(Finding) bool) {
		for _, r := range rolls {
			s := newSweep(p, r, yield)
			s.trials, s.answers = t, answers
			if s.run(); s.stopped {
				return
			}
		}
	}
}

// sweep is one walk over one roll.
type sweep struct {
	piece   *piece.Piece
	written *piece.Piece // the same; nil where no piece made the roll
	roll    *roll.Roll
	in      *instrument.Instrument
	yield   func(Finding) bool
	reach   *reach
	trials  *trials // nil: remedies are not tried
	answers []Answer
	stopped bool

	edgeMM, webMaxMM float64
	last             []int   // of each port: its last slot so far, -1: none
	land             []bool  // of each port: the paper between its holes and the next port's is narrower than a hole
	open             trails  // of all open slots
	openNotes        trails  // of those that are notes
	front            int64   // leading edge, as printed, of the slots that begin together now
	begins           int     // slot that began last there; -1: none
	rate             passage // strokes in a second
	outside          int     // how many of Roll.Outside have been told
	clashes          int     // how many of Roll.Clashes
	voices           []voiceTally
	where            []places
	halves           []instrument.Half // of each port, -1 for those that are no notes
	gestured         []bool            // of each voice: its color has gestures
	owns             [128]int16        // what a note of each level would sound at alone
	weak             []tear.Line       // weak lines that are not told yet, by where they begin
	facts            Facts
}

// places are where in the piece's file a voice says what a finding is about.
type places struct{ pitch, time, hold, level, pedal, soft, stop source.Pos }

func newSweep(p *piece.Piece, r *roll.Roll, yield func(Finding) bool) *sweep {
	in, written := r.Instrument, p
	if p == nil {
		p = nameless(r)
	}
	s := &sweep{
		piece: p, written: written, roll: r, in: in, yield: yield, reach: &reach{roll: r},
		edgeMM: in.EdgeShiftMM(), webMaxMM: in.WebMaxMM(),
		last: make([]int, len(in.Bar.Ports)), land: make([]bool, len(in.Bar.Ports)),
		begins: -1, voices: make([]voiceTally, len(p.Voices)), where: make([]places, len(p.Voices)),
		gestured: make([]bool, len(p.Voices)),
	}
	s.hear()
	for i := range s.last {
		s.last[i] = -1
		if i > 0 {
			s.land[i-1] = in.Bar.Ports[i].AcrossMM-in.Bar.Ports[i-1].AcrossMM < 2*in.Die.DiameterMM
		}
	}
	for i := range p.Voices {
		v := &p.Voices[i]
		pitch, time := "color", "talea"
		if v.FromLine {
			pitch, time = "line", "line"
		}
		s.gestured[i] = hasGestures(v.Color)
		s.where[i] = places{
			v.Places.Of(pitch), v.Places.Of(time), v.Places.Of("hold"),
			v.Places.Of("dynamics"), v.Places.Of("pedal"), v.Places.Of("soft"), v.Places.Of("stop"),
		}
	}
	return s
}

// nameless is a piece that says no more than a roll does: the names of its voices.
func nameless(r *roll.Roll) *piece.Piece {
	p := &piece.Piece{}
	for _, name := range r.Voices {
		p.Voices = append(p.Voices, piece.Voice{Name: name})
	}
	return p
}

// tell yields a finding, unless the listener has had enough.
func (s *sweep) tell(f Finding) {
	if s.stopped {
		return
	}
	f.Piano, f.PianoName, f.roll, f.piece, f.reach, f.trials = s.roll.Piano, s.roll.Name, s.roll, s.written, s.reach,
		s.trials
	if s.answered(&f) {
		return
	}
	s.ofGestures(&f)
	if f.Voice >= 0 {
		f.VoiceName = s.piece.Voices[f.Voice].Name
	}
	if f.Other >= 0 {
		f.OtherName = s.piece.Voices[f.Other].Name
	}
	s.stopped = !s.yield(f)
}

// run walks the roll. The notes as played lead; slots are looked at up to
// each of them.
func (s *sweep) run() {
	s.whole()
	s.findWeak()
	slots := s.roll.Slots
	next := 0
	for p := range s.roll.Played() {
		for ; next <= p.Slot; next++ {
			s.slot(next)
		}
		s.played(p)
		if s.stopped {
			return
		}
	}
	for ; next < len(slots); next++ {
		s.slot(next)
	}
	s.together()
	s.rate.end(s)
	s.noted(1e300)
	s.weakBefore(1e300)
	s.throughout()
}

// slot looks at slot i in its place among those before it.
func (s *sweep) slot(i int) {
	slot := &s.roll.Slots[i]
	if front := roll.Printed(slot.LeadMM); front != s.front || s.begins < 0 {
		s.together()
		s.front = front
	}
	s.begins = i
	s.noted(slot.LeadMM)
	s.weakBefore(slot.LeadMM)
	s.first(i)
	s.repeat(i)
	s.neighbours(i)
	s.paper(i)
	s.control(i)
	s.last[slot.Port] = i
	s.open.add(slot.LeadMM, slot.TrailMM)
	s.facts.Slots++
	s.facts.Punches += int(slot.Punches)
	if s.in.Bar.Ports[slot.Port].Role == instrument.Note {
		s.openNotes.add(slot.LeadMM, slot.TrailMM)
		s.rate.stroke(s, i)
		s.step(i)
	}
}

// at is a finding at slot i, with its place and the voice that caused it.
func (s *sweep) at(kind Kind, severity Severity, i int) Finding {
	slot := &s.roll.Slots[i]
	f := s.onPort(kind, severity, slot.Port, slot.LeadMM)
	f.StartSec = s.in.Transport.Sec(slot.LeadMM+s.edgeMM) + s.in.Action.DelaySec
	if c := slot.Causes.First; c.Note > 0 || s.pedal(slot.Port) && len(s.piece.Voices) > 0 {
		f.Voice, f.Note = int(c.Voice), int(c.Note)
	}
	return f
}

func (s *sweep) pedal(port int32) bool {
	role := s.in.Bar.Ports[port].Role
	return role == instrument.Sustain || role == instrument.Soft
}

// onPort is a finding on a port, without a voice.
func (s *sweep) onPort(kind Kind, severity Severity, port int32, along float64) Finding {
	p := &s.in.Bar.Ports[port]
	f := Finding{Kind: kind, Severity: severity, AlongMM: along, AcrossMM: p.AcrossMM, Port: int(port) + 1, Key: -1,
		Voice: -1, Other: -1}
	if p.Role == instrument.Note {
		f.Key = p.Key
	}
	return f
}

// spot is the place in the piece's file of what a voice says, or none.
func (s *sweep) spot(voice int, pick func(*places) source.Pos) source.Pos {
	if voice < 0 {
		return source.Pos{}
	}
	return pick(&s.where[voice])
}

func pitchOf(p *places) source.Pos { return p.pitch }
func timeOf(p *places) source.Pos  { return p.time }
func holdOf(p *places) source.Pos  { return p.hold }
func levelOf(p *places) source.Pos { return p.level }
