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
		l.placed, ok = r.end(l, p.Ref)
		l.placed = l.placed.add(r.time(v.Section, p.At, p.Units))
	case piece.With:
		l.placed, ok = r.begin(l, p.Ref)
		l.placed = l.placed.add(r.time(v.Section, p.At, p.Units))
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
			l.placed = l.placed.add(r.time(v.Section, p.At, p.Units))
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
	at, ok := r.seenFrom(r.frameOf(l.voice.Section), other, other.placed.add(theirs))
	return at.sub(mine).add(r.later(l.voice)), ok
}

// later is by how much a voice comes after what its meeting says.
func (r *resolver) later(v *piece.Voice) amount { return r.laterBy(v.Section, &v.Place) }

func (r *resolver) laterBy(section int, p *piece.Place) amount {
	return r.time(section, p.LaterSec, p.LaterUnits)
}

// meetAt puts a line so that its point falls at an instant of its section.
func (r *resolver) meetAt(l *Line) (amount, bool) {
	base, ok1 := r.base(l.voice.Section)
	mine, ok2 := r.offset(l, l.voice.Place.Mine, l, "meet.mine")
	if !ok1 || !ok2 {
		return amount{}, false
	}
	p := &l.voice.Place
	return base.add(r.time(l.voice.Section, p.At, p.Units)).sub(mine).add(r.later(l.voice)), true
}

// base is where times of a section count from, in its frame: outside sections, and in
// one with a time of its own, it is 0.
func (r *resolver) base(section int) (amount, bool) {
	if section < 0 || r.bends[section] != nil {
		return amount{}, true
	}
	ok := r.need(node{sectionAt, section})
	return r.sections[section], ok
}

// time is seconds and units of the piece as the file has them, in a section: its speed
// divides them.
func (r *resolver) time(section int, sec, units exact.Rat) amount {
	t := exactlyRat(sec)
	if units.Sign() != 0 {
		t = t.add(exactly(exact.SumOf(r.unit)).scale(units))
	}
	if speed := r.sectionSpeed(section); speed.Equal(exact.Real{}) != exact.Yes {
		t = t.mulReal(speed.Inv())
	}
	return t
}

// findBends prepares the tempo paths of the piece and of its sections.
func (r *resolver) findBends() {
	var err error
	if r.whole, err = newBend(r.piece, r.piece.Path, r.piece.Tempo); err != nil {
		r.complain(r.piece.Places, []string{"tempo_path"}, err.Error(), "")
	}
	for i := range r.piece.Sections {
		s := &r.piece.Sections[i]
		if r.bends[i], err = newBend(r.piece, s.Path, s.Tempo); err != nil {
			r.complain(s.Places, []string{"tempo_path"}, err.Error(), "")
		}
	}
}

// frameOf is the frame of what stands in a section.
func (r *resolver) frameOf(section int) int {
	if section >= 0 && r.bends[section] != nil {
		return section
	}
	return -1
}

// seenFrom is a time of a line's frame in another one: its own, or the piece's. A frame
// cannot be seen into from outside it but by way of the piece's time.
func (r *resolver) seenFrom(frame int, l *Line, t amount) (amount, bool) {
	own := r.frameOf(l.voice.Section)
	switch {
	case own == frame:
		return t, true
	case frame >= 0:
		return t, r.voiceComplaint(l, "", fmt.Sprintf("%q lies outside section %q, whose time is its own, and is named from inside it",
			l.voice.Name, r.piece.Sections[frame].Name), "name a voice of that section")
	case !r.need(node{sectionAt, own}):
		return t, false
	}
	return r.sections[own].add(r.bends[own].of(t)), true
}

// findSection finds where a section starts: when all voices of the one before
// have ended, less the overlap, or later by its gap.
func (r *resolver) findSection(i int) bool {
	s := &r.piece.Sections[i]
	gap := r.time(-1, s.GapSec, s.GapUnits)
	switch {
	case s.HasStart:
		r.sections[i] = r.time(-1, s.Start, s.StartUnits)
		return true
	case i == 0:
		r.sections[i] = gap
		return true
	}
	voices := r.inside[i-1]
	end, ok := r.maximum(voices, func(l *Line) (amount, bool) {
		end, ok := r.endOf(l)
		if !ok {
			return end, false
		}
		return r.seenFrom(-1, l, end)
	})
	if len(voices) == 0 {
		ok = r.need(node{sectionAt, i - 1})
		end = r.sections[i-1]
	}
	if ok {
		r.sections[i] = end.sub(exactlyRat(s.Overlap)).add(gap)
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
		offsets[j] = offsets[j].sub(r.later(r.lines[voice].voice))
		if j == 0 || offsets[j].cmp(largest) > 0 {
			largest = offsets[j]
		}
	}
	if !ok {
		return false
	}
	if c.HasAt {
		meeting = meeting.add(r.time(c.Section, c.At, c.Units))
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
func (p *Performance) shift(r *resolver) {
	var earliest amount
	for _, l := range p.Lines {
		l.start = ddBig(l.placed.value())
		r.setFrame(l)
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
		l.frame.shift, l.frame.shiftSec = ddBig(shift.value()), p.ShiftSec
		start := l.frame.unshifted(l.placed).add(shift)
		l.Start, l.StartExact = start.sum, start.exact() && !l.Bent()
		if !l.Bent() {
			l.start = ddBig(start.value())
		}
		l.StartSec, l.EndSec = l.timeAt(dd{}), l.timeAt(l.lengthDD)
		p.EndSec = max(p.EndSec, l.EndSec)
		r.findLoudness(l)
	}
}

// setFrame gives a line the time in which it stands.
func (r *resolver) setFrame(l *Line) {
	l.frame = frame{section: r.frameOf(l.voice.Section), piece: r.whole}
	if l.Frame = l.frame.section; l.Frame >= 0 {
		l.frame.inside = r.bends[l.Frame]
		r.need(node{sectionAt, l.Frame})
		l.frame.base = r.sections[l.Frame]
		l.frame.baseDD = ddBig(l.frame.base.value())
	}
}

// leastShiftSec is what a time that is not exact may fall short of 0 by
// rounding, with much to spare.
const leastShiftSec = 1e-15

// firstSound is when the first stroke of a line begins, grace strokes
// included, counted as in the file.
func (l *Line) firstSound() (amount, bool) {
	if l.Notes == 0 || l.voice.Mute {
		return amount{}, false
	}
	first, ahead := 1, exact.Rat{}
	if l.material.maxGraceSec > 0 {
		first, ahead = l.firstGrace()
	}
	onset, _ := l.onset(first)
	return l.frame.unshifted(l.placed.add(l.clock.of(onset))).sub(exactlyRat(ahead)), true
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
	if g.Manner() != piece.Grace {
		return exact.Rat{}
	}
	return g.DelaySec
}
