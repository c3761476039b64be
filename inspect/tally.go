package inspect

import (
	"math"
	"math/bits"

	"rollwright/instrument"
	"rollwright/roll"
)

// voiceTally is what a voice has gathered on one roll.
type voiceTally struct {
	strokes         int
	largest, square float64 // step error in seconds, and the sum of squares
	at              int     // slot of the largest error
	written, played levelSet
}

// levelSet is which of the levels 0 to 127 have occurred.
type levelSet [2]uint64

func (l *levelSet) add(level int) {
	level &= 127
	l[level>>6] |= 1 << (level & 63)
}

func (l *levelSet) join(m levelSet) { l[0], l[1] = l[0]|m[0], l[1]|m[1] }

func (l *levelSet) count() int { return bits.OnesCount64(l[0]) + bits.OnesCount64(l[1]) }

// step adds the distance of slot i from where its events would begin on paper
// without rows.
func (s *sweep) step(i int) {
	if s.in.StepMM <= 0 {
		return
	}
	slot := &s.roll.Slots[i]
	sec := math.Abs(s.in.Transport.Sec(slot.LeadMM) - s.in.Transport.Sec(slot.OpenMM))
	for c := range slot.Causes.All() {
		v := &s.voices[c.Voice]
		v.square += sec * sec
		if sec > v.largest {
			v.largest, v.at = sec, i
		}
	}
}

// played looks at a slot as its instrument sounds it.
func (s *sweep) played(p roll.Played) {
	slot := &s.roll.Slots[p.Slot]
	if !p.Sounds {
		f := s.at(TooShort, Risks, p.Slot)
		f.At = s.spot(f.Voice, holdOf)
		f.Value, f.Limit, f.Unit = 1000*(p.EndSec-p.StartSec), 1000*s.in.Action.ShortestSec, "ms"
		s.tell(f)
	}
	if c := slot.Causes.First; c.Note > 0 {
		s.level(p, c)
	}
	for _, c := range slot.Causes.More {
		s.level(p, c)
	}
}

// level compares what a cause was written for with what its slot sounds at.
func (s *sweep) level(p roll.Played, c roll.Cause) {
	v := &s.voices[c.Voice]
	v.strokes++
	v.written.add(int(c.Level))
	v.played.add(p.Level)
	own := s.own(int(c.Level))
	if own == p.Level {
		return
	}
	f := s.at(AccentLost, Note, p.Slot)
	f.Voice, f.Note = int(c.Voice), int(c.Note)
	f.Value, f.Limit, f.At = float64(p.Level), float64(own), s.spot(f.Voice, levelOf)
	s.tell(f)
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

// throughout tells what a voice has all through the roll.
func (s *sweep) throughout() {
	var written, played levelSet
	told := false
	for i := range s.voices {
		v := &s.voices[i]
		if v.strokes == 0 {
			continue
		}
		s.stepError(i, v)
		told = s.levelsLost(i, v.written, v.played) || told
		written.join(v.written)
		played.join(v.played)
	}
	if !told {
		s.levelsLost(-1, written, played)
	}
	s.close()
}

func (s *sweep) stepError(voice int, v *voiceTally) {
	if s.in.StepMM <= 0 {
		return
	}
	rms := math.Sqrt(v.square / float64(v.strokes))
	s.facts.Steps = append(s.facts.Steps, StepFact{Voice: s.piece.Voices[voice].Name, LargestMS: 1000 * v.largest, RMSMS: 1000 * rms})
	tolerance := s.in.Action.StepTolerance
	if tolerance <= 0 || v.largest <= tolerance+noiseSec {
		return
	}
	f := s.at(StepError, Note, v.at)
	f.Voice, f.Port, f.Key = voice, 0, -1
	f.At = s.spot(voice, timeOf)
	f.Value, f.Limit, f.Unit, f.fine = 1000*v.largest, 1000*tolerance, "ms", 1000*rms
	s.tell(f)
}

// levelsLost tells when more levels are written than played.
func (s *sweep) levelsLost(voice int, written, played levelSet) bool {
	if written.count() <= played.count() {
		return false
	}
	s.tell(Finding{
		Kind: LevelsLost, Severity: Note, Key: -1, Voice: voice, Other: -1, At: s.spot(voice, levelOf),
		Value: float64(written.count()), Limit: float64(played.count()),
	})
	return true
}
