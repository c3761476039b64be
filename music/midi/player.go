package midi

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// keys is the number of keys that a file can name.
const keys = maxData + 1

// oneStroke is the number of ticks within which two strokes of a key are one:
// 0.5 ms.
const oneStroke = TicksPerSecond / 2000

// stroke is an event in ticks.
type stroke struct {
	start, end uint64
	voice      int32
	on         byte // the status that starts the note, and, with velocity 0, ends it
	key, level byte
}

// player writes strokes into tracks as they come, keeping no more than those
// that sound.
type player struct {
	tracks  []track
	hammers []hammer // by channel and key
	now     []stroke // those of the latest tick, which starts of the same tick may still cut
}

// hammer is the latest stroke of a key: one event, or several so close that
// they are one and end together.
type hammer struct {
	first, latest uint64 // starts
	end           uint64
	voices        []int32
}

// take takes the next stroke. One that rounding to nanoseconds has put before
// its elder moves to the elder's tick, still as near as half a tick.
func (p *player) take(s stroke) error {
	if len(p.now) > 0 && s.start != p.now[0].start {
		latest := p.now[0].start
		switch {
		case s.start > latest:
			p.strike()
		case s.start+1 < latest:
			return fmt.Errorf("midi: events out of order: tick %d after tick %d", s.start, latest)
		default:
			s.start, s.end = latest, max(s.end, latest+1)
		}
	}
	p.now = append(p.now, s)
	return nil
}

// strike writes the strokes of the latest tick: first every hammer moves, then
// each track says what ends and what starts.
func (p *player) strike() {
	for i := range p.now {
		p.move(&p.now[i])
	}
	if len(p.now) > 1 {
		slices.SortStableFunc(p.now, func(a, b stroke) int {
			return cmp.Or(cmp.Compare(a.voice, b.voice), cmp.Compare(a.key, b.key))
		})
	}
	for i := range p.now {
		s := &p.now[i]
		t := &p.tracks[s.voice]
		t.endBy(s.start)
		t.voice(s.start, s.on, s.key, s.level)
	}
	p.now = p.now[:0]
}

// move moves the hammer of a key for s: what still sounds of the key ends with
// s when s is the same stroke, and else where s begins.
func (p *player) move(s *stroke) {
	h := &p.hammers[int(s.on&channelMask)*keys+int(s.key)]
	if h.end > s.start && s.start <= h.first+oneStroke {
		s.end = max(s.end, h.end)
		for _, v := range h.voices {
			p.tracks[v].endAt(s.end, s.on, s.key, s.start+1)
		}
		h.latest, h.end, h.voices = s.start, s.end, append(h.voices, s.voice)
	} else {
		for _, v := range h.voices {
			if h.end < s.start {
				break
			}
			p.tracks[v].endAt(h.endBefore(s, v), s.on, s.key, s.start)
		}
		h.first, h.latest, h.end, h.voices = s.start, s.start, s.end, append(h.voices[:0], s.voice)
	}
	p.tracks[s.voice].sound(ending{s.end, s.on, s.key})
}

// endBefore is the tick at which h ends in the track of voice so that s may
// start. Tracks are merged in the order they stand, so in another track than
// that of s the end must come a tick earlier.
func (h *hammer) endBefore(s *stroke, voice int32) uint64 {
	if voice == s.voice {
		return s.start
	}
	return max(s.start-1, h.latest+1)
}

// track is a voice's chunk with the notes that sound in it.
type track struct {
	chunk
	sounding []ending // by tick, then key
}

// ending is the end of a sounding note.
type ending struct {
	tick    uint64
	on, key byte
}

func (a ending) before(b ending) bool {
	return a.tick < b.tick || a.tick == b.tick && a.key < b.key
}

// sound adds an ending in its place.
func (t *track) sound(e ending) {
	all := append(t.sounding, e)
	i := len(all) - 1
	for ; i > 0 && e.before(all[i-1]); i-- {
		all[i] = all[i-1]
	}
	all[i] = e
	t.sounding = all
}

// endAt moves the endings of a key that fall at the tick from or later to tick.
func (t *track) endAt(tick uint64, on, key byte, from uint64) {
	for i, e := range t.sounding {
		if e.key == key && e.on == on && e.tick >= from && e.tick != tick {
			t.sounding = slices.Delete(t.sounding, i, i+1)
			t.sound(ending{tick, on, key})
			t.endAt(tick, on, key, from)
			return
		}
	}
}

// endBy writes the endings that fall at tick or before it.
func (t *track) endBy(tick uint64) {
	n := 0
	for n < len(t.sounding) && t.sounding[n].tick <= tick {
		t.voice(t.sounding[n].tick, t.sounding[n].on, t.sounding[n].key, 0)
		n++
	}
	if n > 0 {
		t.sounding = t.sounding[:copy(t.sounding, t.sounding[n:])]
	}
}

// finish writes what still sounds to its end, closes the track.
func (t *track) finish() *chunk {
	t.endBy(math.MaxUint64)
	t.meta(t.tick, EndOfTrack, nil)
	return &t.chunk
}
