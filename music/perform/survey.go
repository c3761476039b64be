package perform

import (
	"fmt"
	"math"

	"rollwright/music/piece"
)

// close counts the events and looks at every key, and complains about what
// cannot be.
func (p *Performance) close(r *resolver) {
	limit := r.options.maxEvents()
	for _, l := range p.Lines {
		if math.Abs(l.StartSec) > maxSeconds || math.Abs(l.EndSec) > maxSeconds {
			r.tooLong(l)
			continue
		}
		r.checkSpans(l)
		if l.survey(r, limit-p.Count); l.Events > limit-p.Count {
			r.tooMany(l, "")
			return
		}
		if l.voice.Mute {
			l.Events = 0
		}
		p.Count += l.Events
	}
}

// survey counts the strokes of a line, no further than it passes limit, and
// complains about the first key out of range.
func (l *Line) survey(r *resolver, limit int) {
	if l.material.timed {
		l.surveyCells(r, limit)
		return
	}
	w := l.material.walkFrom(0)
	v := surveyor{line: l, resolver: r, color: -1}
	for range l.Items {
		if w.enter() {
			v.look(w.member, w.color, w.statement)
			l.Events += len(w.cycles.color[w.member].keys)
			if l.Events > limit {
				return
			}
		}
		w.leave()
	}
}

// surveyCells is survey where the number of strokes depends on durations.
func (l *Line) surveyCells(r *resolver, limit int) {
	v := surveyor{line: l, resolver: r, color: -1}
	var b block
	for first := 0; first < l.Items; first += blockItems {
		l.loadWritten(first, &b)
		for i := range b.cells {
			c := &b.cells[i]
			if c.silent {
				continue
			}
			v.look(int(c.member), int(c.color), int(c.statement))
			l.Events += l.material.color[c.member].events(c)
			if l.Events > limit {
				return
			}
		}
	}
}

// surveyor looks at keys until one is out of range.
type surveyor struct {
	line     *Line
	resolver *resolver
	found    bool

	move             piece.Move // of the statements it looks at
	color, statement int
}

func (v *surveyor) look(member, color, statement int) {
	if v.found {
		return
	}
	m := v.line.material
	p := m.color[member]
	if v.color != color || v.statement != statement {
		v.color, v.statement = color, statement
		v.move = m.voice.Move(color, statement)
	}
	if within(&v.move, p) {
		return
	}
	v.found = true
	attribute, key := m.mover(p, color, statement)
	v.resolver.voiceComplaint(v.line, attribute, fmt.Sprintf("%q would sound key %d; keys go from 0 to 127 (60 is C4)",
		v.line.voice.Name, key),
		fmt.Sprintf("this is in statement %d of the color and %d of the talea", color+1, statement+1))
}
