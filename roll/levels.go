package roll

import (
	"math"

	"rollwright/instrument"
)

// leveller writes loudness on the roll as the instrument's bar can: it hands
// every note's stroke on to the layer, moved later where that is the way, and
// strikes theme and level ports beside.
type leveller struct {
	levels instrument.Levels
	bar    *instrument.Bar
	theme  [3]int32 // port of each half, by instrument.Half; -1: none
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

// track is the level ports of one half, or of the whole compass, that spell a
// binary number together.
type track struct {
	half  instrument.Half
	ports []int32
	since []float64 // when each port was opened; NaN: it is shut
	cause []Cause   // what it was opened for
}

func newLeveller(in *instrument.Instrument) leveller {
	v := leveller{levels: in.Levels, bar: &in.Bar, theme: [3]int32{-1, -1, -1}}
	tracks := make([]track, 3)
	for i, p := range in.Bar.Ports {
		switch p.Role {
		case instrument.ThemeBass:
			v.theme[instrument.Bass] = int32(i)
		case instrument.ThemeTreble:
			v.theme[instrument.Treble] = int32(i)
		case instrument.Level:
			t := &tracks[p.Half]
			t.half, t.ports, t.since = p.Half, append(t.ports, int32(i)), append(t.since, math.NaN())
			t.cause = append(t.cause, Cause{})
		}
	}
	if in.Levels.Kind == instrument.Steps {
		for _, t := range tracks {
			if len(t.ports) > 0 {
				v.tracks = append(v.tracks, t)
			}
		}
	}
	return v
}

// take lays a note's stroke and what its level asks for.
func (v *leveller) take(l *layer, s stroke, key int) {
	switch {
	case v.levels.Kind == instrument.Steps, v.levels.Kind == instrument.Accents && v.levels.AccentShiftSec > 0:
		if len(v.group) > 0 && s.startSec-v.group[0].startSec > togetherSec {
			v.flush(l)
		}
		v.group = append(v.group, grouped{s, v.bar.Half(key)})
	case v.levels.Kind == instrument.Accents:
		if v.levels.Accented(int(s.cause.Level)) {
			v.accent(l, s, v.bar.Half(key))
		}
		l.strike(s)
	default:
		l.strike(s)
	}
}

// accent opens the half's theme port around the start of s.
func (v *leveller) accent(l *layer, s stroke, half instrument.Half) {
	if port := v.theme[half]; port >= 0 {
		l.strike(stroke{s.startSec - v.levels.AccentLeadSec, s.startSec + v.levels.AccentCloseSec, port, s.cause})
	}
}

// flush lays the strokes that begin together.
func (v *leveller) flush(l *layer) {
	if len(v.group) == 0 {
		return
	}
	v.release(l, v.group[0].startSec)
	if v.levels.Kind == instrument.Steps {
		v.step(l)
	} else {
		v.part(l)
	}
	v.group = v.group[:0]
}

// part lays a group with accents: where accented and plain notes of one half
// begin together, the plain ones are moved later.
func (v *leveller) part(l *layer) {
	var accents [3]bool
	for _, g := range v.group {
		if v.levels.Accented(int(g.cause.Level)) {
			accents[g.half] = true
			v.accent(l, g.stroke, g.half)
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

// step sets the level ports for a group, each half to the step nearest to its
// loudest note, and lays its strokes.
func (v *leveller) step(l *layer) {
	for i := range v.tracks {
		t, loudest := &v.tracks[i], 0
		for _, g := range v.group {
			if t.half == instrument.BothHalves || t.half == g.half {
				loudest = max(loudest, int(g.cause.Level))
			}
		}
		if loudest > 0 {
			t.set(l, v.levels.NearestStep(loudest), v.group[0].startSec-v.levels.AccentLeadSec, v.group[0].cause)
		}
	}
	for _, g := range v.group {
		l.strike(g.stroke)
	}
}

// set opens and shuts the track's ports at sec so that they spell number.
func (t *track) set(l *layer, number int, sec float64, cause Cause) {
	for i, port := range t.ports {
		want := number&l.in.Bar.Ports[port].Weight != 0
		switch open := !math.IsNaN(t.since[i]); {
		case want && !open:
			t.since[i], t.cause[i] = sec, cause
		case !want && open:
			l.strike(stroke{t.since[i], sec, port, t.cause[i]})
			t.since[i] = math.NaN()
		}
	}
}

// finish lays what waits and shuts every level port after the last note.
func (v *leveller) finish(l *layer) {
	v.flush(l)
	v.release(l, math.Inf(1))
	for i := range v.tracks {
		v.tracks[i].set(l, 0, l.roll.EndSec+v.levels.AccentCloseSec, Cause{})
	}
}
