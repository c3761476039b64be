package inspect

import (
	"math"
	"math/bits"

	"rollwright/paper/roll"
)

// voiceTally is what a voice has gathered on one roll.
type voiceTally struct {
	strokes         int
	largest, square float64 // step error in seconds, and the sum of squares
	at              int     // slot of the largest error
	written, played levelSet
	levelOff        float64 // largest distance from the level written, and the sum of squares
	levelSquare     float64
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

// throughout tells what a voice has all through the roll.
func (s *sweep) throughout() {
	var all voiceTally
	told := false
	for i := range s.voices {
		v := &s.voices[i]
		if v.strokes == 0 {
			continue
		}
		s.stepError(i, v)
		s.levelFact(i, v)
		told = s.levelsLost(i, v) || told
		all.strokes += v.strokes
		all.levelSquare += v.levelSquare
		all.levelOff = max(all.levelOff, v.levelOff)
		all.written.join(v.written)
		all.played.join(v.played)
	}
	if !told {
		s.levelsLost(-1, &all)
	}
	s.close()
}

func (s *sweep) stepError(voice int, v *voiceTally) {
	if s.in.StepMM <= 0 {
		return
	}
	rms := math.Sqrt(v.square / float64(v.strokes))
	s.facts.Steps = append(s.facts.Steps, StepFact{Voice: s.piece.Voices[voice].Name, LargestMS: 1000 * v.largest,
		RMSMS: 1000 * rms})
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

// levelsLost tells when more levels are written than played, and how far notes
// are off.
func (s *sweep) levelsLost(voice int, v *voiceTally) bool {
	if v.written.count() <= v.played.count() {
		return false
	}
	s.tell(Finding{
		Kind: LevelsLost, Severity: Note, Key: -1, Voice: voice, Other: -1, At: s.spot(voice, levelOf),
		Value: float64(v.written.count()), Limit: float64(v.played.count()),
		fine: math.Sqrt(v.levelSquare / float64(v.strokes)), apart: v.levelOff,
	})
	return true
}
