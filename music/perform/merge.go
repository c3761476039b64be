package perform

import (
	"iter"

	"rollwright/music/event"
)

// Events are all events of the piece in order: by start rounded to
// nanoseconds, then voice, then key, then end rounded. Between two voices
// with equal starts the one that stands first in the file comes first.
//
// They are made as they are asked for, in memory that grows with the number of
// voices and not with that of the events.
func (p *Performance) Events() iter.Seq[event.Event] {
	return func(yield func(event.Event) bool) {
		m := newMerge(p.Lines)
		for len(m.streams) > 0 {
			if !yield(m.streams[0].head.Event) {
				return
			}
			m.advance()
		}
	}
}

// merge is a heap of streams, the one whose head comes first on top.
type merge struct {
	streams []*stream
	keys    []mergeKey // of the heads, beside them
}

type mergeKey struct {
	start int64
	voice int32
}

func (k mergeKey) before(o mergeKey) bool {
	return k.start < o.start || k.start == o.start && k.voice < o.voice
}

func newMerge(lines []*Line) *merge {
	m := &merge{}
	for _, l := range lines {
		if l.voice.Mute {
			continue
		}
		s := newStream(l)
		s.event = event.Event{Voice: int32(l.Voice), Piano: int16(l.voice.Piano)}
		if s.advance() {
			m.streams = append(m.streams, s)
			m.keys = append(m.keys, mergeKey{s.head.start, int32(l.Voice)})
		}
	}
	for i := len(m.keys)/2 - 1; i >= 0; i-- {
		m.sink(i)
	}
	return m
}

// advance moves the stream on top on, or takes it out when it has ended.
func (m *merge) advance() {
	top := m.streams[0]
	if top.advance() {
		m.keys[0].start = top.head.start
	} else {
		last := len(m.keys) - 1
		m.swap(0, last)
		m.streams, m.keys = m.streams[:last], m.keys[:last]
	}
	m.sink(0)
}

func (m *merge) swap(i, j int) {
	m.streams[i], m.streams[j] = m.streams[j], m.streams[i]
	m.keys[i], m.keys[j] = m.keys[j], m.keys[i]
}

func (m *merge) sink(i int) {
	for {
		child := 2*i + 1
		if child >= len(m.keys) {
			return
		}
		if child+1 < len(m.keys) && m.keys[child+1].before(m.keys[child]) {
			child++
		}
		if !m.keys[child].before(m.keys[i]) {
			return
		}
		m.swap(i, child)
		i = child
	}
}
