package lay

import (
	"math"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// leveller writes loudness on the roll as the instrument's bar can: it hands
// every note's stroke on to the layer, moved later where that is the way, and
// strikes theme and level ports beside.
//
// Notes of one half of the compass that begin together sound alike, so what a
// theme port or level ports say is chosen for each instant and half: of all
// that the ports can say in time, what comes closest to what is written, by the
// sum of the squares of the differences of level over all notes. The choice
// looks at the whole roll (see accents and steps), so the ports are struck when
// the last note is known. Where accent_shift parts notes that begin together,
// there is nothing to choose, and theme ports are struck as notes come.
type leveller struct {
	levels instrument.Levels
	bar    *instrument.Bar
	theme  [3]int32     // port of each half, by instrument.Half; -1: none
	halves [3][]instant // what begins when, where there is a choice
	tracks []track
	group  []grouped // strokes that begin together, when they must be seen together
	later  []stroke  // moved strokes, in order; from head on they wait
	head   int
}

// grouped is a stroke of a group with its half of the compass.
type grouped struct {
	stroke
	half instrument.Half
}

// instant is the notes of one half that begin together.
type instant struct {
	sec     float64
	notes   int32
	sum     int64      // of their levels
	squares int64      // of their levels
	cause   roll.Cause // the loudest, of equals the first
}

// apart is the sum of the squares by which the notes are off when they sound at
// a level.
func (i *instant) apart(level int) float64 {
	l := int64(level)
	return float64(int64(i.notes)*l*l - 2*l*i.sum + i.squares)
}

func newLeveller(in *instrument.Instrument) leveller {
	v := leveller{levels: in.Levels, bar: &in.Bar, theme: [3]int32{-1, -1, -1}}
	for i, p := range in.Bar.Ports {
		switch p.Role {
		case instrument.ThemeBass:
			v.theme[instrument.Bass] = int32(i)
		case instrument.ThemeTreble:
			v.theme[instrument.Treble] = int32(i)
		}
	}
	if in.Levels.Kind == instrument.Steps {
		v.tracks = newTracks(in)
	}
	return v
}

// parts reports whether notes that begin with an accent are moved.
func (v *leveller) parts() bool {
	return v.levels.Kind == instrument.Accents && v.levels.AccentShiftSec > 0
}

// take lays a note's stroke and remembers what its level asks for.
func (v *leveller) take(l *layer, s stroke, key int) {
	half := v.bar.Half(key)
	if v.parts() {
		if len(v.group) > 0 && s.startSec-v.group[0].startSec > togetherSec {
			v.flush(l)
		}
		v.group = append(v.group, grouped{s, half})
		return
	}
	if v.levels.Kind != instrument.NoLevels {
		v.remember(half, s)
	}
	l.strike(s)
}

// remember adds a note to the instant it begins at.
func (v *leveller) remember(half instrument.Half, s stroke) {
	list := v.halves[half]
	n := len(list)
	if n == 0 || s.startSec-list[n-1].sec > togetherSec {
		list = append(list, instant{sec: s.startSec, cause: s.cause})
		v.halves[half] = list
		n++
	}
	level := int64(s.cause.Level)
	i := &list[n-1]
	i.notes++
	i.sum += level
	i.squares += level * level
	if s.cause.Level > i.cause.Level {
		i.cause = s.cause
	}
}

// accent opens the half's theme port around an instant.
func (v *leveller) accent(l *layer, half instrument.Half, sec float64, cause roll.Cause) {
	if port := v.theme[half]; port >= 0 {
		l.strike(stroke{sec - v.levels.AccentLeadSec, sec + v.levels.AccentCloseSec, port, cause})
	}
}

// flush lays the strokes that begin together: where accented and plain notes of
// one half do, the plain ones are moved later.
func (v *leveller) flush(l *layer) {
	if len(v.group) == 0 {
		return
	}
	v.release(l, v.group[0].startSec)
	var accents [3]bool
	for _, g := range v.group {
		if v.levels.Accented(int(g.cause.Level)) {
			accents[g.half] = true
			v.accent(l, g.half, g.startSec, g.cause)
		}
	}
	for _, g := range v.group {
		if accents[g.half] && !v.levels.Accented(int(g.cause.Level)) {
			g.startSec += v.levels.AccentShiftSec
			g.endSec = max(g.endSec, g.startSec)
			v.later = append(v.later, g.stroke)
		} else {
			l.strike(g.stroke)
		}
	}
	v.group = v.group[:0]
}

// release lays the moved strokes that begin at or before sec.
func (v *leveller) release(l *layer, sec float64) {
	for ; v.head < len(v.later) && v.later[v.head].startSec <= sec; v.head++ {
		l.strike(v.later[v.head])
	}
	if v.head == len(v.later) {
		v.later, v.head = v.later[:0], 0
	}
}

// finish lays what waits, and strikes theme and level ports.
func (v *leveller) finish(l *layer) {
	v.flush(l)
	v.release(l, math.Inf(1))
	switch {
	case v.parts():
	case v.levels.Kind == instrument.Accents:
		for _, half := range []instrument.Half{instrument.Bass, instrument.Treble} {
			if list := v.halves[half]; v.theme[half] >= 0 && len(list) > 0 {
				a := newAccents(l, list)
				a.strike(l, v.theme[half], a.choose())
			}
		}
	default:
		for i := range v.tracks {
			t := &v.tracks[i]
			t.collect(v.halves)
			if len(t.sec) > 0 {
				t.strike(l, t.choose(l))
			}
		}
	}
}

// timing is how soon after each other the control ports of an instrument can
// act, in seconds at its slowest, half a row at each end allowed for.
type timing struct {
	lead  float64 // a port acts so much before a note
	close float64 // a theme port is shut so much after one
	punch float64 // the least time from opening to shutting
	gap   float64 // the least time from shutting to opening
	row   float64 // what two places on rows may be off together
}

func (l *layer) timing() timing {
	in := l.in
	v := in.Transport.SpeedMMPerSec() * slowShare
	row := in.StepMM/v + togetherSec
	punch := (in.Die.DiameterMM - 2*l.edgeMM) / v
	return timing{
		lead:  in.Levels.AccentLeadSec,
		close: max(in.Levels.AccentCloseSec, punch-in.Levels.AccentLeadSec),
		punch: punch,
		gap:   max((in.Action.GapPaperMM+2*l.edgeMM)/v, in.Action.GapSec),
		row:   row,
	}
}

// slowShare allows for a spool before time 0, which is slower than at it.
const slowShare = 0.995
