package inspect

import (
	"fmt"
	"math"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// LevelFact is how far the notes of a voice sound from what is written for
// them, in levels.
type LevelFact struct {
	Voice   string  `json:"voice"`
	Written int     `json:"written"` // how many different levels
	Played  int     `json:"played"`
	Largest float64 `json:"largest"`
	RMS     float64 `json:"rms"`
}

// level compares what a cause was written for with what its slot sounds at: the
// roll decoded back to levels.
func (s *sweep) level(p roll.Played, c roll.Cause) {
	v := &s.voices[c.Voice]
	v.strokes++
	v.written.add(int(c.Level))
	v.played.add(p.Level)
	off := math.Abs(float64(p.Level - int(c.Level)))
	v.levelOff = max(v.levelOff, off)
	v.levelSquare += off * off
	own := int(s.owns[c.Level&127])
	if own == p.Level {
		return
	}
	f := s.at(AccentLost, Note, p.Slot)
	f.Voice, f.Note = int(c.Voice), int(c.Note)
	f.Value, f.Limit, f.At = float64(p.Level), float64(own), s.spot(f.Voice, levelOf)
	if f.oneKey = s.asks(&s.roll.Slots[p.Slot], p.Level); f.oneKey {
		f.together = true
	} else {
		f.apart, f.together = s.partnerOf(p)
	}
	s.tell(f)
}

// hear prepares what loudness is asked for: the half of every note port (of
// others -1), and what each level would sound at alone.
func (s *sweep) hear() {
	s.halves = make([]instrument.Half, len(s.in.Bar.Ports))
	for i, p := range s.in.Bar.Ports {
		s.halves[i] = -1
		if p.Role == instrument.Note {
			s.halves[i] = s.in.Bar.Half(p.Key)
		}
	}
	for level := range s.owns {
		s.owns[level] = int16(s.own(level))
	}
}

// own is the level that a note would sound at if it were alone.
func (s *sweep) own(written int) int {
	levels := &s.in.Levels
	switch {
	case levels.Kind == instrument.Steps:
		return levels.Steps[levels.NearestStep(written)]
	case levels.Accented(written):
		return levels.AccentLevel
	}
	return levels.PlainLevel
}

// togetherSec is how close starts must be to count as one, as the layout has
// it.
const togetherSec = 0.0005

// nearSec is as far as an opening of a theme port, or a change of steps, can
// reach with its lead.
const nearSec = 0.2

// mostPartners is how many slots on either side are looked at for the note that
// gives another its level. It is nearly always among the first few.
const mostPartners = 32

// partnerOf is the note of the same half for whose sake a note sounds at a level
// that is not its own: how long before it that one begins (negative: after;
// infinite: it was not found), and whether both begin together.
func (s *sweep) partnerOf(p roll.Played) (sec float64, together bool) {
	slots := s.roll.Slots
	slot := &slots[p.Slot]
	half := s.halves[slot.Port]
	mm := math.Inf(1)
	for _, step := range [...]int{-1, 1} {
		for i := p.Slot + step; i >= 0 && i < len(slots) && i >= p.Slot-mostPartners && i <= p.Slot+mostPartners; i += step {
			o := &slots[i]
			apart := slot.OpenMM - o.OpenMM
			if math.Abs(apart) >= math.Abs(mm) {
				break
			}
			if s.halves[o.Port] == half && s.asks(o, p.Level) {
				mm = apart
			}
		}
	}
	if sec = mm / s.in.Transport.SpeedAt(p.StartSec); math.Abs(sec) > nearSec {
		return math.Inf(1), false
	}
	return sec, math.Abs(sec) <= togetherSec+noiseSec
}

// asks reports whether a cause of slot would sound at level by itself.
func (s *sweep) asks(slot *roll.Slot, level int) bool {
	if c := slot.Causes.First; slot.Causes.More == nil {
		return s.owns[c.Level&127] == int16(level)
	}
	for c := range slot.Causes.All() {
		if s.owns[c.Level&127] == int16(level) {
			return true
		}
	}
	return false
}

// levelFact is how a voice's levels came out.
func (s *sweep) levelFact(voice int, v *voiceTally) {
	s.facts.Levels = append(s.facts.Levels, LevelFact{
		Voice: s.piece.Voices[voice].Name, Written: v.written.count(), Played: v.played.count(),
		Largest: v.levelOff, RMS: math.Sqrt(v.levelSquare / float64(v.strokes)),
	})
}

// lostAccent is the message of a note that does not sound at its own level.
func (f *Finding) lostAccent(value, limit string) string {
	if f.roll.Instrument.Levels.Kind != instrument.Accents {
		return fmt.Sprintf("%s loses its level: alone it would sound at %s, %s it sounds at %s", f.port(), limit,
			f.company("others"), value)
	}
	if f.Value > f.Limit {
		return fmt.Sprintf("%s sounds accented, though it is not: it begins %s", f.port(), f.company("an accent"))
	}
	return fmt.Sprintf("%s loses its accent: it begins %s, and the roll comes closer to what is written without", f.port(),
		f.company("plain notes"))
}

// company is what a note begins with, or near.
func (f *Finding) company(what string) string {
	switch {
	case f.together:
		return "with " + what + " of its half"
	case math.IsInf(f.apart, 0):
		return "near " + what + " of its half"
	case f.apart > 0:
		return fmt.Sprintf("%s ms after %s of its half", figure(1000*f.apart), what)
	}
	return fmt.Sprintf("%s ms before %s of its half", figure(-1000*f.apart), what)
}

// parting is the remedy for such a note. To move the accompaniment helps only
// notes that begin together.
func (f *Finding) parting() string {
	levels := &f.roll.Instrument.Levels
	switch {
	case f.together && !f.oneKey && levels.Kind == instrument.Accents && levels.AccentShiftSec == 0:
		return `accent_shift = "30 ms" in the levels of the instrument's file plays the others so much later`
	case f.together:
		return "one level for notes that begin together"
	case levels.Kind == instrument.Accents:
		return fmt.Sprintf("%.0f ms or more between accented and plain notes of one half", math.Ceil(1000*f.needed()))
	}
	return fmt.Sprintf("more than %.0f ms between notes of different levels in one half",
		math.Ceil(1000*levels.AccentLeadSec))
}

// needed is how far from an accent a plain note begins at least, on whichever
// side is longer: the port opens so much before, and is shut, a punch being the
// shortest opening, so much after.
func (f *Finding) needed() float64 {
	in := f.roll.Instrument
	punch := in.OpenMM(in.Die.DiameterMM) / in.Transport.SpeedAt(f.StartSec)
	after := max(in.Levels.AccentCloseSec, punch-in.Levels.AccentLeadSec)
	return max(in.Levels.AccentLeadSec, after) + in.StepMM/in.Transport.SpeedAt(f.StartSec) + togetherSec
}
