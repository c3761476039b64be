package inspect

import (
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// noted tells what the layout noted of rows up to along.
func (s *sweep) noted(along float64) {
	r := s.roll
	for ; s.outside < len(r.Outside); s.outside++ {
		o := &r.Outside[s.outside]
		row := s.in.Transport.AlongMM(o.StartSec - s.in.Action.DelaySec)
		if row > along {
			break
		}
		s.outsideOf(o, row)
	}
	for ; s.clashes < len(r.Clashes) && r.Clashes[s.clashes].LeadMM <= along; s.clashes++ {
		s.clash(&r.Clashes[s.clashes])
	}
}

func (s *sweep) outsideOf(o *roll.Outside, row float64) {
	low, high := compass(&s.in.Bar)
	limit := low
	if int(o.Key) > high {
		limit = high
	}
	s.tell(Finding{
		Kind: OutsideCompass, Severity: Forbids, StartSec: o.StartSec, AlongMM: row, Key: int(o.Key),
		Voice: int(o.Cause.Voice), Note: int(o.Cause.Note), Other: -1,
		At: s.spot(int(o.Cause.Voice), pitchOf), Value: float64(o.Key), Limit: float64(limit),
	})
}

// clash tells of two strokes that met on one port.
func (s *sweep) clash(c *roll.Clash) {
	f := s.onPort(StrokeLost, Forbids, c.Port, c.LeadMM)
	f.StartSec, f.apart = c.StartSec, c.ApartSec
	f.Voice, f.Note, f.Other, f.OtherNote = int(c.Later.Voice), int(c.Later.Note), int(c.Earlier.Voice),
		int(c.Earlier.Note)
	f.At = s.spot(f.Voice, timeOf)
	if s.pedal(c.Port) {
		s.pedalClash(f, c)
		return
	}
	switch c.Fate {
	case roll.Lost:
		if f.Voice != f.Other {
			f.Severity = Risks
		}
		f.Value, f.Limit, f.Unit = 1000*c.ApartSec, 1000/s.in.FastestStrokes(), "ms"
	case roll.Shared:
		f.Kind, f.Severity, f.At = OneKey, Note, s.spot(f.Voice, pitchOf)
	case roll.Cut:
		f.Kind, f.Severity = CutOff, Note
		f.Value, f.Unit = c.HeldSec, "s"
		f.Voice, f.Note, f.Other, f.OtherNote = f.Other, f.OtherNote, f.Voice, f.Note
		f.At = s.spot(f.Voice, holdOf)
		if f.Voice != f.Other {
			f.Severity = Risks
		}
	}
	s.tell(f)
}

func (s *sweep) pedalClash(f Finding, c *roll.Clash) {
	if c.Fate != roll.Lost {
		return
	}
	f.Kind, f.Severity, f.Note, f.OtherNote = PedalLost, Risks, 0, 0
	f.Value, f.Limit, f.Unit = 1000*c.ApartSec, 1000/s.in.FastestStrokes(), "ms"
	f.At = s.where[f.Voice].pedal
	if s.in.Bar.Ports[c.Port].Role == instrument.Soft {
		f.At = s.where[f.Voice].soft
	}
	s.tell(f)
}

// repeat looks at the paper and time between slot i and the one before it on
// its port.
func (s *sweep) repeat(i int) {
	slot := &s.roll.Slots[i]
	before := s.last[slot.Port]
	if before < 0 {
		return
	}
	role := s.in.Bar.Ports[slot.Port].Role
	if role != instrument.Note && !s.pedal(slot.Port) {
		return // theme and level ports may run on
	}
	earlier, action := &s.roll.Slots[before], &s.in.Action
	gap := slot.LeadMM - earlier.TrailMM
	if role == instrument.Note {
		s.facts.bridge(gap)
	}
	bridge, needs := s.in.Paper.BridgeMM, action.GapPaperMM
	if gap >= bridge-noiseMM && gap >= needs-noiseMM && s.in.Transport.SpeedAt(0)*action.GapSec <= gap+2*s.edgeMM &&
		!s.in.Transport.Spool {
		return // the common case, without a root
	}
	seconds := s.in.Transport.Sec(slot.LeadMM+s.edgeMM) - s.in.Transport.Sec(earlier.TrailMM-s.edgeMM)
	f := s.at(ShortBridge, Risks, i)
	if c := earlier.Causes.First; c.Note > 0 {
		f.Other, f.OtherNote = int(c.Voice), int(c.Note)
	}
	f.At = s.spot(f.Other, holdOf) // the earlier note is the one to shorten
	f.apart = s.in.Transport.Sec(slot.LeadMM) - s.in.Transport.Sec(earlier.LeadMM)
	switch {
	case gap <= s.webMaxMM:
		f.Kind, f.Severity, f.Value, f.Limit, f.Unit = Repetition, Forbids, gap, needs, "mm"
	case gap < needs-noiseMM:
		f.Kind, f.Value, f.Limit, f.Unit = UnclearWeb, gap, needs, "mm"
	case seconds < action.GapSec-noiseSec:
		f.Kind, f.Severity, f.Value, f.Limit, f.Unit = Repetition, Forbids, 1000*seconds, 1000*action.GapSec, "ms"
	case gap < bridge-noiseMM && role == instrument.Note:
		f.Value, f.Limit, f.Unit = gap, bridge, "mm"
	default:
		return
	}
	s.tell(f)
}
