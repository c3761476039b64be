package perform

import (
	"cmp"
	"math"

	"rollwright/music/event"
	"rollwright/music/piece"
)

// stroke is an event with what it is sorted by.
type stroke struct {
	start, end int64 // nanoseconds
	event.Event
}

// compare orders the strokes of one voice: by start, key, end; then note and
// part, so that the order is never left to chance.
func (s *stroke) compare(t *stroke) int {
	switch {
	case s.start != t.start:
		return cmp.Compare(s.start, t.start)
	case s.Key != t.Key:
		return cmp.Compare(s.Key, t.Key)
	case s.end != t.end:
		return cmp.Compare(s.end, t.end)
	case s.Note != t.Note:
		return cmp.Compare(s.Note, t.Note)
	}
	return cmp.Compare(s.Part, t.Part)
}

// stream yields the strokes of a line in order. Strokes wait in a window until
// no later note can come before them: a note's own strokes until the next note
// begins, all of them as long as a grace stroke of a later note may come ahead.
type stream struct {
	line    *Line
	blocks  int // loaded so far
	block   block
	next    int // in the block's cells; a note, when more
	more    bool
	window  []stroke // a heap; its first comes first
	horizon int64    // no stroke still to come starts before this
	head    stroke   // what the stream is at

	event event.Event // of the note that is being struck: what its strokes share
	hold  *hold
	level int // before loudness paths

	move             piece.Move // of the note that is being struck
	color, statement int32      // for which it is
}

func newStream(l *Line) *stream {
	s := &stream{line: l, next: -1, horizon: math.MinInt64, color: -1}
	s.seek()
	return s
}

// seek goes on to the next note, over silences and into the next block.
func (s *stream) seek() {
	for s.next++; ; s.next++ {
		if s.next == len(s.block.cells) {
			if s.blocks == s.line.blocks() {
				s.more, s.horizon = false, math.MaxInt64
				return
			}
			s.line.load(s.blocks, &s.block)
			s.blocks, s.next = s.blocks+1, 0
		}
		if !s.block.cells[s.next].silent {
			break
		}
	}
	s.more = true
	s.horizon = event.Nanoseconds(s.block.cells[s.next].from - s.line.material.maxGraceSec)
}

// advance puts the next stroke at head; false when there is none.
func (s *stream) advance() bool {
	for len(s.window) == 0 || s.window[0].start >= s.horizon {
		if !s.more {
			return false
		}
		s.strike()
	}
	s.pop()
	return true
}

// strike puts the strokes of the note that the stream is at into the window
// and goes on to the next note.
func (s *stream) strike() {
	m, c := s.line.material, &s.block.cells[s.next]
	p := m.color[c.member]
	s.event.Note = int32(s.line.noteNumber(int(c.note)))
	s.level = m.levelOf(p.level, int(c.note), int(c.color), int(c.statement))
	s.hold = &m.holds[int(c.note)%len(m.holds)]
	if p.hold != nil {
		s.hold = p.hold
	}
	s.event.Single = s.hold.kind == piece.HoldSingle
	if s.color != c.color || s.statement != c.statement {
		s.color, s.statement = c.color, c.statement
		s.move = m.voice.Move(int(c.color), int(c.statement))
	}
	p.strike(c, s)
	s.seek()
}

// emit adds a stroke with a written start and end, of a key as written.
func (s *stream) emit(from, to float64, key, part int) {
	e := s.event
	from = max(from, 0) // which it is, but for the error of a tempo path
	e.StartSec, e.EndSec = from, s.hold.end(from, to)
	e.Key, e.Part = int16(s.move.Key(key)), int32(part)
	e.Level = s.line.levelAt(s.level, from)
	s.push(stroke{event.Nanoseconds(from), event.Nanoseconds(e.EndSec), e})
}

func (s *stream) push(x stroke) {
	s.window = append(s.window, x)
	w := s.window
	for i := len(w) - 1; i > 0; {
		parent := (i - 1) / 2
		if w[parent].compare(&w[i]) <= 0 {
			return
		}
		w[parent], w[i] = w[i], w[parent]
		i = parent
	}
}

// pop moves the first stroke of the window to head.
func (s *stream) pop() {
	w := s.window
	s.head = w[0]
	last := len(w) - 1
	w[0] = w[last]
	w = w[:last]
	s.window = w
	for i := 0; ; {
		child := 2*i + 1
		if child >= len(w) {
			return
		}
		if child+1 < len(w) && w[child+1].compare(&w[child]) < 0 {
			child++
		}
		if w[i].compare(&w[child]) <= 0 {
			return
		}
		w[i], w[child] = w[child], w[i]
		i = child
	}
}
