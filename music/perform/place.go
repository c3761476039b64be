package perform

import (
	"fmt"

	"rollwright/exact"
	"rollwright/music/piece"
)

// findStart finds where a voice starts, counted as in the file: before the
// whole piece is moved.
func (r *resolver) findStart(l *Line) bool {
	v := l.voice
	var ok bool
	switch p := v.Place; p.Kind {
	case piece.After:
		l.placed, ok = r.end(p.Ref)
	case piece.MeetWith:
		l.placed, ok = r.meetWith(l)
	case piece.MeetAt:
		l.placed, ok = r.meetAt(l)
	case piece.InCanon:
		if ok = r.need(node{placeOf, v.Canon}); ok {
			l.placed = r.canons[v.Canon].start[l.Voice]
		}
	default:
		if l.placed, ok = r.base(v.Section); ok {
			l.placed = l.placed.add(exactlyRat(p.At))
		}
	}
	l.Placed, l.PlacedExact = l.placed.sum, l.placed.exact()
	return ok
}

// meetWith puts a line so that its point falls on that of another.
func (r *resolver) meetWith(l *Line) (amount, bool) {
	p := l.voice.Place
	other := r.lines[p.Ref.Voice]
	if !r.need(node{startOf, p.Ref.Voice}) {
		return amount{}, false
	}
	theirs, ok1 := r.offset(other, p.Theirs, l, "meet.theirs")
	mine, ok2 := r.offset(l, p.Mine, l, "meet.mine")
	if !ok1 || !ok2 {
		return amount{}, false
	}
	return other.placed.add(theirs).sub(mine), true
}

// meetAt puts a line so that its point falls at an instant of its section.
func (r *resolver) meetAt(l *Line) (amount, bool) {
	base, ok1 := r.base(l.voice.Section)
	mine, ok2 := r.offset(l, l.voice.Place.Mine, l, "meet.mine")
	if !ok1 || !ok2 {
		return amount{}, false
	}
	return base.add(exactlyRat(l.voice.Place.At)).sub(mine), true
}

// base is where times of a section count from; outside sections it is 0.
func (r *resolver) base(section int) (amount, bool) {
	if section < 0 {
		return amount{}, true
	}
	ok := r.need(node{sectionAt, section})
	return r.sections[section], ok
}

// findSection finds where a section starts: when all voices of the one before
// have ended, less the overlap.
func (r *resolver) findSection(i int) bool {
	s := &r.piece.Sections[i]
	switch {
	case s.HasStart:
		r.sections[i] = exactlyRat(s.Start)
		return true
	case i == 0:
		r.sections[i] = amount{}
		return true
	}
	voices := r.inside[i-1]
	end, ok := r.maximum(voices, r.endOf)
	if len(voices) == 0 {
		end, ok = r.base(i - 1)
	}
	if ok {
		r.sections[i] = end.sub(exactlyRat(s.Overlap))
	}
	return ok
}

// findCanonPlace puts the voices of a canon so that their meeting points fall
// together: at the given instant, or so that the one that begins first begins
// at the section's start.
func (r *resolver) findCanonPlace(i int) bool {
	c, state := &r.piece.Canons[i], &r.canons[i]
	if len(c.Cross) > 0 {
		return r.findCrossings(i)
	}
	offsets := make([]amount, len(c.Voices))
	meeting, ok := r.base(c.Section)
	var largest amount
	for j, voice := range c.Voices {
		var found bool
		if offsets[j], found = r.canonOffset(i, r.lines[voice]); !found {
			ok = false
			continue
		}
		if j == 0 || offsets[j].cmp(largest) > 0 {
			largest = offsets[j]
		}
	}
	if !ok {
		return false
	}
	if c.HasAt {
		meeting = meeting.add(exactlyRat(c.At))
	} else {
		meeting = meeting.add(largest)
	}
	state.start = map[int]amount{}
	for j, offset := range offsets {
		state.start[c.Voices[j]] = meeting.sub(offset)
	}
	return true
}

func (r *resolver) canonOffset(i int, l *Line) (amount, bool) {
	c := &r.piece.Canons[i]
	units, problem, ok := r.point(l, c.Meet)
	if problem != "" {
		r.complainOf(l, c.Places, []string{"meet"}, problem, "")
	}
	return r.offsetAt(l, c.Meet, units, ok)
}

// offset is the time from the start of a line to a point of it, which the
// voice of asker names in the given attribute.
func (r *resolver) offset(l *Line, p piece.Point, asker *Line, attribute string) (amount, bool) {
	units, problem, ok := r.point(l, p)
	if problem != "" {
		r.complainOf(l, asker.voice.Places, []string{attribute, "meet"}, problem, "")
	}
	return r.offsetAt(l, p, units, ok)
}

func (r *resolver) offsetAt(l *Line, p piece.Point, units amount, ok bool) (amount, bool) {
	switch {
	case !ok:
		return amount{}, false
	case p.Kind == piece.AtStart:
		return units, true // whatever its speed is
	case !r.need(node{speedOf, l.Voice}):
		return amount{}, false
	}
	return l.clock.of(units), true
}

// point is a point of a line in units from its start. A problem is one that
// nobody has complained about.
func (r *resolver) point(l *Line, p piece.Point) (units amount, problem string, ok bool) {
	if p.Kind != piece.AtStart && p.Kind != piece.AtUnit && !r.need(node{lengthOf, l.Voice}) {
		return amount{}, "", false
	}
	units, problem = l.point(p)
	return units, problem, problem == ""
}

func hasNotes(n int) string {
	switch n {
	case 0:
		return "it has none"
	case 1:
		return "it has 1"
	}
	return fmt.Sprintf("it has %d", n)
}

// shift moves the whole piece so that what sounds first does not sound before
// 0, and settles where every line starts.
func (p *Performance) shift() {
	var earliest amount
	for _, l := range p.Lines {
		l.start = ddBig(l.placed.value())
		if first, ok := l.firstSound(); ok && (p.ShiftVoice < 0 || first.cmp(earliest) < 0) {
			earliest, p.ShiftVoice = first, l.Voice
		}
	}
	shift := earliest.neg()
	if p.ShiftVoice < 0 || shift.float64() <= 0 || !shift.exact() && shift.float64() < leastShiftSec {
		shift, p.ShiftVoice = amount{}, -1
	}
	p.Shift, p.ShiftExact, p.ShiftSec = shift.sum, shift.exact(), shift.float64()
	for _, l := range p.Lines {
		start := l.placed.add(shift)
		l.Start, l.StartExact = start.sum, start.exact()
		l.start = ddBig(start.value())
		l.StartSec, l.EndSec = l.start.hi, l.timeAt(l.lengthDD)
		p.EndSec = max(p.EndSec, l.EndSec)
	}
}

// leastShiftSec is what a time that is not exact may fall short of 0 by
// rounding, with much to spare.
const leastShiftSec = 1e-15

// firstSound is when the first stroke of a line begins, grace strokes
// included, counted as in the file.
func (l *Line) firstSound() (amount, bool) {
	if l.Notes == 0 {
		return amount{}, false
	}
	first, ahead := 1, exact.Rat{}
	if l.material.maxGraceSec > 0 {
		first, ahead = l.firstGrace()
	}
	onset, _ := l.onset(first)
	return l.placed.add(l.clock.of(onset)).sub(exactlyRat(ahead)), true
}

// firstGrace is the note whose strokes begin first, and how far ahead of it
// they do.
func (l *Line) firstGrace() (note int, ahead exact.Rat) {
	earliest := 0.0
	var b block
	for n := range l.blocks() {
		l.load(n, &b)
		for i := range b.cells {
			c := &b.cells[i]
			switch {
			case c.silent:
				continue
			case note > 0 && c.from-l.material.maxGraceSec > earliest:
				return note, ahead
			}
			delay := l.graceOf(c)
			if start := c.from - delay.Float64(); note == 0 || start < earliest {
				note, ahead, earliest = l.noteNumber(int(c.note)), delay, start
			}
		}
	}
	return note, ahead
}

// graceOf is how far ahead of its note a cell's first stroke begins.
func (l *Line) graceOf(c *cell) exact.Rat {
	g := l.voice.Color[l.material.colorPlace(int(c.member))].Gesture
	if g.Kind != piece.Grace {
		return exact.Rat{}
	}
	return g.DelaySec
}
