// Package lay lays performances out on the paper of instruments: events become
// slots in exact places.
//
// Each event of a key asks for a slot from the row under its start to the row
// under its end; two strokes on one port leave the action its gap, or merge; theme
// and level ports open for the levels that come closest to what is written. Times
// become millimetres through the instrument's transport, in float64. What the
// paper could not take is noted in the rolls.
package lay

import (
	"fmt"
	"iter"
	"math"

	"rollwright/music/event"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

// Options are what Out may know besides the events. The zero value is good.
type Options struct {
	Spans []roll.Span // pedalling, in any order
	Slots int         // about how many slots there will be, to save memory; 0: not known
}

// The roll tempos that a piece may ask for. The slowest rolls known run at
// about 30, the fastest at about 140; the rest is room for experiments.
const (
	slowestRollTempo = 5
	fastestRollTempo = 1000
)

// Out lays the events out on one roll for every piano of p, in the pianos'
// order. Events must come in the order of perform.Performance.Events; they are
// taken as they come and not kept. A piano's roll tempo in the piece takes the
// place of its instrument's. What the paper cannot take is noted in the rolls;
// the only errors are a roll tempo out of range (a *source.Error).
func Out(p *piece.Piece, events iter.Seq[event.Event], instruments []*instrument.Instrument, o Options) ([]*roll.Roll,
	error) {
	if len(instruments) != len(p.Pianos) {
		return nil, fmt.Errorf("lay: %d instruments for %d pianos", len(instruments), len(p.Pianos))
	}
	voices := p.VoiceNames()
	layers := make([]*layer, len(p.Pianos))
	for i := range p.Pianos {
		in, err := AtTempo(p, i, instruments[i])
		if err != nil {
			return nil, err
		}
		layers[i] = newLayer(&roll.Roll{Piano: i, Name: p.Pianos[i].Name, Voices: voices, Instrument: in}, o)
		layers[i].roll.Slots = make([]roll.Slot, 0, (o.Slots+o.Slots/8)/len(p.Pianos)) // an eighth for control ports
	}
	for e := range events {
		layers[e.Piano].take(&e)
	}
	rolls := make([]*roll.Roll, len(layers))
	for i, l := range layers {
		rolls[i] = l.finish()
	}
	return rolls, nil
}

// AtTempo is the instrument with its lever at the roll tempo that the piece asks
// of it: a copy, unless the piece leaves it as it is. The error is a *source.Error.
func AtTempo(p *piece.Piece, piano int, in *instrument.Instrument) (*instrument.Instrument, error) {
	asked := p.Pianos[piano].RollTempo
	if asked.Sign() == 0 {
		return in, nil
	}
	out, err := AtLever(in, asked.Float64())
	if err != nil {
		err.File, err.At = p.File, p.Pianos[piano].Places.Of("roll_tempo")
		err.Problem = fmt.Sprintf("a roll tempo of %v is out of range", asked)
		return nil, err
	}
	return out, nil
}

// AtLever is a copy of the instrument with its lever at a roll tempo. The error,
// which has no place, says that it is out of range; nil: there is none.
func AtLever(in *instrument.Instrument, tempo float64) (*instrument.Instrument, *source.Error) {
	if !(tempo >= slowestRollTempo && tempo <= fastestRollTempo) {
		return nil, &source.Error{
			Problem: fmt.Sprintf("a roll tempo of %g is out of range", tempo),
			Hint: fmt.Sprintf("roll tempos run from %d to %d; 80 is eight feet of paper a minute", slowestRollTempo,
				fastestRollTempo),
		}
	}
	changed := *in
	changed.Transport = in.Transport.AtLever(tempo)
	return &changed, nil
}

// togetherSec is how close two starts on one port must be to count as one.
// The half of a thousandth of a second is far below what an action can tell.
const togetherSec = 0.0005

// layer lays out the roll of one piano. Strokes on one port must come to it
// in order of their starts.
type layer struct {
	roll    *roll.Roll
	in      *instrument.Instrument
	die     roll.Die
	edgeMM  float64      // p*(f - 1/2)
	ports   [128][]int32 // of each key, from the bass; most have one
	pending []pending    // of each port
	spare   []roll.Cause // room for second causes, handed out piece by piece
	levels  leveller
	pedals  []pedal
}

// pending is the last slot of a port: it may yet be shortened or joined.
type pending struct {
	slot     int // index into Roll.Slots; -1: none
	startSec float64
	endSec   float64    // the latest end of its causes
	holder   roll.Cause // the cause that ends then
}

// stroke asks for a slot.
type stroke struct {
	startSec, endSec float64
	port             int32
	cause            roll.Cause
}

func newLayer(r *roll.Roll, o Options) *layer {
	l := &layer{roll: r, in: r.Instrument, die: roll.NewDie(r.Instrument), edgeMM: r.Instrument.EdgeShiftMM()}
	l.pending = make([]pending, len(l.in.Bar.Ports))
	for i, p := range l.in.Bar.Ports {
		l.pending[i].slot = -1
		if p.Struck() {
			l.ports[p.Key] = append(l.ports[p.Key], int32(i))
		}
	}
	l.levels = newLeveller(l.in)
	l.pedals = l.newPedals(o.Spans)
	return l
}

// take lays one event.
func (l *layer) take(e *event.Event) {
	l.roll.EndSec = max(l.roll.EndSec, e.EndSec)
	cause := roll.Cause{Voice: e.Voice, Note: e.Note, Level: e.Level}
	ports := l.ports[e.Key&127]
	if len(ports) == 0 {
		l.roll.Outside = append(l.roll.Outside, roll.Outside{StartSec: e.StartSec, Cause: cause, Key: e.Key})
		return
	}
	for _, port := range ports {
		s := stroke{e.StartSec, e.EndSec, port, cause}
		if e.Single {
			s.endSec = s.startSec
		}
		l.levels.take(l, s, int(e.Key))
	}
}

// finish settles what is pending and puts the slots in order.
func (l *layer) finish() *roll.Roll {
	notes := len(l.roll.Slots)
	l.levels.finish(l)
	for _, p := range l.pedals {
		l.pedal(p)
	}
	for i := range l.pending {
		if p := &l.pending[i]; p.slot >= 0 {
			l.settle(p, math.Inf(1))
		}
	}
	l.roll.SortFrom(notes)
	return l.roll
}

// strike cuts a slot for s, after settling the port's slot before it.
func (l *layer) strike(s stroke) {
	transport, delay := &l.in.Transport, l.in.Action.DelaySec
	open := transport.AlongMM(s.startSec-delay) - l.edgeMM
	shut := open
	if s.endSec > s.startSec {
		shut = transport.AlongMM(s.endSec-delay) + l.edgeMM
	}
	first := l.die.Centre(open + l.in.Die.DiameterMM/2)
	lead := first - l.in.Die.DiameterMM/2
	p := &l.pending[s.port]
	if p.slot >= 0 {
		if s.startSec-p.startSec <= togetherSec {
			l.join(p, s, shut, lead, roll.Shared)
			return
		}
		if !l.settle(p, l.latestTrail(lead)) {
			l.join(p, s, shut, lead, roll.Lost)
			return
		}
		if held := p.endSec - s.startSec; held > togetherSec {
			l.clash(roll.Clash{
				Fate: roll.Cut, Port: s.port, Earlier: p.holder, Later: s.cause,
				StartSec: s.startSec, HeldSec: held, LeadMM: lead,
			})
		}
	}
	*p = pending{len(l.roll.Slots), s.startSec, s.endSec, s.cause}
	l.roll.Slots = append(l.roll.Slots, roll.Slot{
		LeadMM: lead, FirstMM: first, OpenMM: open, ShutMM: shut,
		Port: s.port, Causes: roll.Causes{First: s.cause},
	})
}

// latestTrail is the last trailing edge that leaves the action its gap of
// paper and of time before a slot with the given leading edge. Time counts
// from the port's shutting to its opening.
func (l *layer) latestTrail(lead float64) float64 {
	transport := &l.in.Transport
	opens := transport.Sec(lead + l.edgeMM)
	shuts := transport.AlongMM(opens-l.in.Action.GapSec) + l.edgeMM
	return min(lead-l.in.Action.GapPaperMM, shuts)
}

// settle gives the pending slot its last punch, its trailing edge not beyond
// limit, and reports false, changing nothing, when not even one punch fits.
func (l *layer) settle(p *pending, limit float64) bool {
	s, radius := &l.roll.Slots[p.slot], l.in.Die.DiameterMM/2
	latest := l.die.CentreBefore(limit - radius)
	if latest < s.FirstMM-roll.NoiseMM {
		return false
	}
	last := max(l.die.Centre(s.ShutMM-radius), s.FirstMM)
	if last > latest+roll.NoiseMM {
		last = max(latest, s.FirstMM)
	}
	s.LastMM, s.TrailMM = last, last+radius
	s.Punches = l.die.Count(s.FirstMM, last)
	return true
}

// join makes s another cause of the pending slot, which ends with the later
// of the two.
func (l *layer) join(p *pending, s stroke, shut, lead float64, fate roll.Fate) {
	slot := &l.roll.Slots[p.slot]
	l.clash(roll.Clash{
		Fate: fate, Port: s.port, Earlier: meets(slot.Causes, s.cause.Voice), Later: s.cause,
		StartSec: s.startSec, ApartSec: s.startSec - p.startSec, LeadMM: lead,
	})
	slot.ShutMM = max(slot.ShutMM, shut)
	l.addCause(&slot.Causes, s.cause)
	if s.endSec > p.endSec {
		p.endSec, p.holder = s.endSec, s.cause
	}
}

// meets is the cause that a stroke of voice meets in a slot: the last one of
// its own voice, else the last one.
func meets(c roll.Causes, voice int32) roll.Cause {
	found := c.First
	for _, m := range c.More {
		if m.Voice == voice || found.Voice != voice {
			found = m
		}
	}
	return found
}

// clash notes a meeting, but for theme and level ports, whose slots may grow
// together without loss.
func (l *layer) clash(c roll.Clash) {
	switch l.in.Bar.Ports[c.Port].Role {
	case instrument.Note, instrument.Sustain, instrument.Soft:
		l.roll.Clashes = append(l.roll.Clashes, c)
	}
}

// addCause appends to the causes; the first of them shares one large
// allocation with those of other slots.
func (l *layer) addCause(c *roll.Causes, add roll.Cause) {
	if c.More != nil {
		c.More = append(c.More, add)
		return
	}
	if len(l.spare) == 0 {
		l.spare = make([]roll.Cause, 1024)
	}
	l.spare[0] = add
	c.More, l.spare = l.spare[:1:1], l.spare[1:]
}
