package inspect

import (
	"math"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// whole looks at what concerns the roll as a whole.
func (s *sweep) whole() {
	r, paper := s.roll, &s.in.Paper
	if len(r.Slots) == 0 && len(r.Outside) == 0 && len(r.NoPort) == 0 {
		return
	}
	f := Finding{Kind: Length, Severity: Note, Key: -1, Voice: -1, Other: -1, Value: r.LengthMM(),
		Limit: paper.LengthNoteMM, Unit: "mm"}
	if paper.LengthRiskMM > 0 && f.Value > paper.LengthRiskMM {
		f.Severity, f.Limit = Risks, paper.LengthRiskMM
	}
	if f.Limit > 0 && f.Value > f.Limit {
		s.tell(f)
	}
	if d := s.in.Die.DiameterMM; d < paper.HoleMM-noiseMM {
		s.tell(Finding{Kind: SmallDie, Severity: Note, Key: -1, Voice: -1, Other: -1, Value: d, Limit: paper.HoleMM,
			Unit: "mm"})
	}
	s.lever()
	for _, span := range r.NoPort {
		f := s.ofPedal(NoPedalPort, span)
		f.Unit = f.pedal
		s.tell(f)
	}
	for _, span := range r.Beyond {
		f := s.ofPedal(PedalBeyond, span)
		if f.stretch = span.Units; f.stretch.Outside() {
			f.Severity = Risks
		}
		f.Value, f.Limit, f.Unit = span.Units.To, span.Units.Of, "units"
		s.tell(f)
	}
}

// lever looks whether the tempo lever reaches the roll tempo.
func (s *sweep) lever() {
	t := &s.in.Transport
	f := Finding{Kind: LeverRange, Severity: Risks, Key: -1, Voice: -1, Other: -1, Value: t.LeverTempo()}
	switch {
	case t.Fastest > 0 && f.Value > t.Fastest+noiseMM:
		f.Limit = t.Fastest
	case t.Slowest > 0 && f.Value < t.Slowest-noiseMM:
		f.Limit = t.Slowest
	default:
		return
	}
	if s.roll.Piano < len(s.piece.Pianos) {
		f.At = s.piece.Pianos[s.roll.Piano].Places.Of("roll_tempo")
	}
	s.tell(f)
}

// ofPedal is a finding about a span of a pedal, at its start.
func (s *sweep) ofPedal(kind Kind, span roll.Span) Finding {
	f := Finding{
		Kind: kind, Severity: Note, StartSec: span.StartSec, AlongMM: s.in.Transport.AlongMM(span.StartSec),
		Key: -1, Voice: span.Voice, Other: -1, pedal: "sustain", At: s.where[span.Voice].pedal,
	}
	if span.Role == instrument.Soft {
		f.pedal, f.At = "soft", s.where[span.Voice].soft
	}
	if span.Role == instrument.Register {
		f.pedal, f.stop, f.At = span.Stop, true, s.where[span.Voice].stop
	}
	return f
}

// first looks at a port when its first slot is met, and at rows before the
// paper.
func (s *sweep) first(i int) {
	slot := &s.roll.Slots[i]
	if leader := s.in.Paper.LeaderMM; slot.LeadMM < -leader {
		f := s.at(BeforePaper, Forbids, i)
		f.Value, f.Limit, f.Unit, f.At = -slot.LeadMM, leader, "mm", s.spot(f.Voice, timeOf)
		s.tell(f)
	}
	if s.last[slot.Port] >= 0 {
		return
	}
	p := &s.in.Bar.Ports[slot.Port]
	edge := min(p.AcrossMM, s.in.Paper.WidthMM-p.AcrossMM) - s.in.Die.DiameterMM/2
	f := s.at(OffPaper, Forbids, i)
	f.At = s.spot(f.Voice, pitchOf)
	switch {
	case edge < 0:
		f.Value, f.Unit = -edge, "mm"
		s.tell(f)
	case edge < s.in.Paper.EdgeMM-noiseMM && p.Role == instrument.Note:
		f.Kind, f.Severity, f.Value, f.Limit, f.Unit = NearEdge, Risks, edge, s.in.Paper.EdgeMM, "mm"
		s.tell(f)
	}
}

// paper looks at the length of slot i and its bridges.
func (s *sweep) paper(i int) {
	slot, paper := &s.roll.Slots[i], &s.in.Paper
	length := slot.TrailMM - slot.LeadMM
	if length < paper.SlotMM-noiseMM && (paper.SlotDieMM == 0 || s.in.Die.DiameterMM <= paper.SlotDieMM+noiseMM) {
		f := s.at(ShortSlot, Risks, i)
		f.At, f.Value, f.Limit, f.Unit = s.spot(f.Voice, holdOf), length, paper.SlotMM, "mm"
		s.tell(f)
	}
	if paper.OpenSlotMM <= 0 || length <= paper.OpenSlotMM {
		return
	}
	if open := s.roll.LongestOpenMM(slot); open > paper.OpenSlotMM+noiseMM {
		f := s.at(OpenSlot, Risks, i)
		f.At, f.Value, f.Limit, f.Unit = s.spot(f.Voice, holdOf), open, paper.OpenSlotMM, "mm"
		s.tell(f)
	}
}

// control looks whether slot i ends the playing before the music has ended.
func (s *sweep) control(i int) {
	slot := &s.roll.Slots[i]
	switch s.in.Bar.Ports[slot.Port].Role {
	case instrument.Rewind, instrument.ShutOff:
	default:
		return
	}
	f := s.at(EndsEarly, Forbids, i)
	if f.Value, f.Unit = s.roll.EndSec-f.StartSec, "s"; f.Value > noiseSec {
		s.tell(f)
	}
}

// neighbours looks for open slots on the ports beside slot i's.
func (s *sweep) neighbours(i int) {
	port := s.roll.Slots[i].Port
	if port > 0 && s.land[port-1] {
		s.beside(i, port-1)
	}
	if s.land[port] {
		s.beside(i, port+1)
	}
}

// beside tells when the slot of the neighbouring port is open with slot i for
// longer than two holes. Over a stretch that would need a bridge it is a risk.
func (s *sweep) beside(i int, port int32) {
	j := s.last[port]
	if j < 0 {
		return
	}
	a, b, d := &s.roll.Slots[i], &s.roll.Slots[j], s.in.Die.DiameterMM
	overlap := min(a.TrailMM, b.TrailMM) - a.LeadMM
	if overlap <= 2*d {
		return
	}
	f := s.at(SideBySide, Note, i)
	if limit := s.in.Paper.OpenSlotMM; limit > 0 && overlap > limit {
		f.Severity = Risks
	}
	f.Value, f.Unit, f.beside = overlap, "mm", int(port)+1
	f.Limit = math.Abs(s.in.Bar.Ports[port].AcrossMM-s.in.Bar.Ports[a.Port].AcrossMM) - d
	f.At = s.spot(f.Voice, holdOf)
	if c := b.Causes.First; c.Note > 0 {
		f.Other, f.OtherNote = int(c.Voice), int(c.Note)
	}
	s.tell(f)
}
