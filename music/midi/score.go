package midi

import (
	"cmp"
	"fmt"
	"io"
	"iter"
	"math"
	"slices"

	"rollwright/music/event"
	"rollwright/text/source"
)

// Score says how performed events become tracks.
//
// The file is of format 1: first a conductor track with title, composer,
// tempo, and an end at EndSec; then a track for each voice, in their order;
// then a track of pedals for each piano that uses one. A piano has a channel
// of its own, drums' channel left out.
type Score struct {
	Title    string
	Composer string
	Pianos   []Piano // at most 15
	Voices   []Voice // event.Event.Voice counts in it
	Pedals   []Pedal
	EndSec   float64 // when the piece ends; less than the last message: there
}

// Piano is one instrument of a Score.
type Piano struct {
	Name string // told beside each voice's name when there are several pianos
	// SingleSec is how long a note written as a single punch sounds: as long as
	// that punch holds the port open. Zero: 0.0425, a punch of 1.7272 mm at
	// roll tempo 80.
	SingleSec float64
}

// Voice is one line of a Score.
type Voice struct {
	Name  string
	Piano int // index into Score.Pianos
}

// Pedal is one stretch during which a pedal is down. Stretches of one pedal
// that overlap become one; where one ends as the next begins, the pedal goes
// up and down.
type Pedal struct {
	Piano            int // index into Score.Pianos
	Soft             bool
	StartSec, EndSec float64
}

// maxPianos is how many channels there are but for the drums'.
const maxPianos = channelsInUse - 1

// Write performs the events into w. They come in order of their starts, as
// those of package perform do.
//
// A key of a piano has one hammer, whichever voice strikes it. So that every
// reader hears each note and finds its end, a note still sounding ends where
// the next stroke of its key begins: at the same tick within a track, a tick
// before it in another. Strokes of one key less than 0.5 ms apart are one
// stroke, as they are on paper: they end together, with the longest. A note
// lasts a tick at least.
//
// At one tick a track says first what ends, then what starts, by key; pedals go
// up before they go down. An end is a start of velocity 0, so that one status
// runs through a track.
func (s Score) Write(w io.Writer, events iter.Seq[event.Event]) error {
	if len(s.Pianos) > maxPianos {
		return UnsupportedError(fmt.Sprintf("%d pianos, but there are %d channels for them", len(s.Pianos), maxPianos))
	}
	p := s.player()
	for e := range events {
		if err := s.fits(&e); err != nil {
			return err
		}
		if err := p.take(s.stroke(&e)); err != nil {
			return err
		}
	}
	p.strike()

	tracks := [][]byte{nil}
	last := TickAt(s.EndSec)
	add := func(c *chunk) {
		tracks, last = append(tracks, c.bytes), max(last, c.tick)
	}
	for i := range p.tracks {
		add(p.tracks[i].finish())
	}
	for i := range s.Pianos {
		if c, ok := s.pedalTrack(i); ok {
			add(c)
		}
	}
	tracks[0] = s.conductor(last).bytes
	for i, t := range tracks {
		if len(t) > math.MaxUint32 {
			return UnsupportedError(fmt.Sprintf("track %d would be longer than 4 GiB", i+1))
		}
	}
	return writeChunks(w, 1, ticksPerQuarter, tracks)
}

// longestSec is where maxTicks ends.
const longestSec = maxTicks / TicksPerSecond

// fits says what of e has no place in the file.
func (s *Score) fits(e *event.Event) error {
	switch {
	case e.Voice < 0 || int(e.Voice) >= len(s.Voices):
		return fmt.Errorf("midi: an event of voice %d, but there are %d voices", e.Voice, len(s.Voices))
	case e.Piano < 0 || int(e.Piano) >= len(s.Pianos):
		return fmt.Errorf("midi: an event of piano %d, but there are %d pianos", e.Piano, len(s.Pianos))
	case e.Key < 0 || e.Key > maxData:
		return fmt.Errorf("midi: key %d, want 0 to 127", e.Key)
	case e.Level < 1 || e.Level > maxData:
		return fmt.Errorf("midi: level %d, want 1 to 127", e.Level)
	case !(e.EndSec <= longestSec) || !(e.StartSec <= e.EndSec):
		return fmt.Errorf("midi: a note from %v s to %v s, want at most %d s", e.StartSec, e.EndSec, longestSec)
	}
	return nil
}

// singleSec is how long a single punch of a piano sounds unless it says.
const singleSec = 1.7272 / 40.64

// stroke is e in ticks.
func (s *Score) stroke(e *event.Event) stroke {
	start, end := TickAt(e.StartSec), e.EndSec
	if e.Single {
		end = e.StartSec + cmp.Or(s.Pianos[e.Piano].SingleSec, singleSec)
	}
	return stroke{start, max(TickAt(end), start+1), e.Voice, NoteOn | channel(int(e.Piano)), uint8(e.Key), uint8(e.Level)}
}

// player has the tracks of the voices, each opened with its name and its
// channel's program, the piano.
func (s *Score) player() *player {
	p := &player{
		tracks:  make([]track, len(s.Voices)),
		hammers: make([]hammer, channelsInUse*keys),
	}
	for i, v := range s.Voices {
		piano := v.Piano
		if piano < 0 || piano >= len(s.Pianos) {
			piano = 0
		}
		s.head(&p.tracks[i].chunk, v.Name, piano)
		p.tracks[i].voice(0, Program|channel(piano), 0, 0)
	}
	return p
}

// channel is the channel of piano p, from 0.
func channel(p int) byte {
	if p >= drumChannel {
		p++
	}
	return byte(p)
}

// head opens a track: its name, and the piano's name where there are several.
func (s *Score) head(c *chunk, name string, p int) {
	if piano := s.Pianos[p].Name; len(s.Pianos) > 1 && piano != "" {
		name += " (" + piano + ")"
	}
	c.text(TrackName, name)
}

// pedalTrack has the pedals of piano p; false when it uses none.
func (s *Score) pedalTrack(p int) (*chunk, bool) {
	type move struct {
		tick  uint64
		a, to byte
	}
	var moves []move
	for _, soft := range []bool{false, true} {
		control := byte(controlPedal)
		if soft {
			control = controlSoft
		}
		for _, span := range s.pedalSpans(p, soft) {
			moves = append(moves, move{span[0], control, maxData}, move{span[1], control, 0})
		}
	}
	if len(moves) == 0 {
		return nil, false
	}
	slices.SortStableFunc(moves, func(a, b move) int {
		return cmp.Or(cmp.Compare(a.tick, b.tick), cmp.Compare(a.to, b.to))
	})
	c := &chunk{}
	s.head(c, "pedals", p)
	for _, m := range moves {
		c.voice(m.tick, Controller|channel(p), m.a, m.to)
	}
	c.meta(c.tick, EndOfTrack, nil)
	return c, true
}

// pedalSpans are the stretches, in ticks, during which a pedal of piano p is
// down, in order and apart.
func (s *Score) pedalSpans(p int, soft bool) [][2]uint64 {
	var spans [][2]uint64
	for _, d := range s.Pedals {
		if from, to := TickAt(d.StartSec), TickAt(d.EndSec); d.Piano == p && d.Soft == soft && from < to {
			spans = append(spans, [2]uint64{from, to})
		}
	}
	slices.SortFunc(spans, func(a, b [2]uint64) int {
		return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]))
	})
	apart := spans[:0]
	for _, span := range spans {
		if n := len(apart); n > 0 && span[0] < apart[n-1][1] {
			apart[n-1][1] = max(apart[n-1][1], span[1])
			continue
		}
		apart = append(apart, span)
	}
	return apart
}

func (s *Score) conductor(end uint64) *chunk {
	c := &chunk{}
	c.text(TrackName, s.Title)
	if s.Composer != "" {
		c.text(Text, s.Composer)
	}
	c.meta(0, TimeSignature, []byte{2, 2, 24, 8}) // 2/4, a bar a second; 24 clocks and 8 thirty-seconds a quarter
	c.meta(0, Tempo, []byte{tempoMicroseconds >> 16, tempoMicroseconds >> 8 & 0xFF, tempoMicroseconds & 0xFF})
	c.meta(end, EndOfTrack, nil)
	return c
}

// text appends a Meta text at the start of a track.
func (c *chunk) text(kind byte, s string) {
	c.meta(0, kind, []byte(source.Printable(s)))
}
