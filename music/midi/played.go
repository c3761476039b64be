package midi

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"
)

// Played is what a file plays: its notes, pedals, tempos and bars, in ticks. The
// tracks run together.
type Played struct {
	Division Division
	Title    string // the name of the first track, where that has no notes; may be empty
	Tracks   []PlayedTrack
	Tempos   []TempoChange // in order, at most one a tick; none where frames are counted
	Meters   []Meter       // in order, at most one a tick
	Drums    int           // notes of the channel for drums, which are left out
}

// PlayedTrack is a track, or in a file of format 0 a channel.
type PlayedTrack struct {
	Name    string // may be empty
	Number  int    // of the track in the file, or of the channel, from 1
	Notes   []Note // in order of start
	Pedal   []Span // the sustaining pedal is down
	Soft    []Span // the soft pedal is down
	Flats   bool   // the key signature is one with flats
	EndTick uint64
}

// Span is a stretch of ticks.
type Span struct{ From, To uint64 }

// TempoChange is a tempo from a tick on.
type TempoChange struct {
	Tick   uint64
	Micros uint32 // microseconds a quarter note, more than 0
}

// Meter is a time signature from a tick on.
type Meter struct {
	Tick  uint64
	Beats int // above the line
	Unit  int // below it: 1, 2, 4, ...
}

// ReadPlayed reads what a file plays, under the limits of l, or MaxEvents of
// 20,000,000 where it says none; messages are not kept, so that a note takes 48
// bytes. A file of format 0 gives a track for each of its channels. A second start
// of a key that sounds is a note of its own; ends belong to starts in their order; a
// note without an end lasts as long as its track. Channel 10 holds drums by
// convention (General MIDI), not keys, and is left out and counted.
//
// Errors are those of Decode; format 2, whose tracks stand alone, is an
// UnsupportedError.
func ReadPlayed(r io.Reader, l Limits) (*Played, error) {
	if l.MaxEvents == 0 {
		l.MaxEvents = 20_000_000
	}
	l = l.orDefault()
	text, err := io.ReadAll(io.LimitReader(r, int64(l.MaxBytes)+1))
	if err != nil {
		return nil, fmt.Errorf("midi: %w", err)
	}
	if len(text) > l.MaxBytes {
		return nil, UnsupportedError(fmt.Sprintf("the file is longer than %d bytes", l.MaxBytes))
	}
	d := decoder{text: text, eventsLeft: l.MaxEvents, tolerant: l.Tolerant}
	p, f := &Played{}, &File{}
	err = d.chunks(f, func(body []byte, offset int) error { return p.track(&d, f, body, offset) })
	if err != nil {
		return nil, err
	}
	p.Division = f.Division
	if f.Format == 2 {
		return nil, UnsupportedError("format 2: its tracks stand alone and share no time; save it as format 1")
	}
	p.settle()
	return p, nil
}

// listener collects what a track plays.
type listener struct {
	played   *Played
	byKey    [channelsInUse * keys]queue // ends that are awaited
	tracks   []*PlayedTrack              // by channel for format 0, else one for all
	pedals   [channelsInUse][2]downAt
	name     string
	channels bool // a track a channel
	track    int  // index in the file
}

// queue is the notes of a key that await their ends: indices, the earliest first.
// One is the common case and needs no slice.
type queue struct {
	first int32 // index plus 1; 0: empty
	more  []int32
}

// downAt is where a pedal went down, plus 1; 0: it is up.
type downAt uint64

func (p *Played) track(d *decoder, f *File, body []byte, offset int) error {
	var notes [channelsInUse]int
	count := 0
	end, err := d.messages(body, offset, func(e Event) {
		count++
		if e.IsNoteOn() {
			notes[e.Channel()]++
		}
	})
	if err != nil {
		return err
	}
	if d.eventsLeft -= count; d.eventsLeft < 0 {
		return UnsupportedError("the file has more messages than the limit allows")
	}
	l := &listener{played: p, channels: f.Format == 0, track: len(p.Tracks)}
	number := len(p.Tracks) + 1
	for channel := range channelsInUse {
		if !l.channels && channel > 0 {
			l.tracks = append(l.tracks, l.tracks[0])
			continue
		}
		t := &PlayedTrack{Number: number, EndTick: end}
		size := notes[channel]
		if l.channels {
			t.Number = channel + 1
		} else {
			size = total(notes)
		}
		t.Notes = make([]Note, 0, size)
		l.tracks = append(l.tracks, t)
	}
	var wrong error
	_, err = d.messages(body, offset, func(e Event) {
		if err := l.hear(e, end); err != nil && wrong == nil {
			wrong = err
		}
	})
	if err == nil {
		err = wrong
	}
	l.finish(end, notes)
	return err
}

func total(notes [channelsInUse]int) int {
	n := 0
	for channel, count := range notes {
		if channel != drumChannel {
			n += count
		}
	}
	return n
}

func (l *listener) hear(e Event, end uint64) error {
	switch {
	case e.IsNoteOn():
		l.start(e, end)
	case e.IsNoteOff():
		l.stop(e)
	case e.Status&kindMask == Controller && e.Status < SysEx:
		l.control(e)
	case e.Status == Meta:
		return l.meta(e)
	}
	return nil
}

func (l *listener) start(e Event, end uint64) {
	channel := e.Channel()
	if channel == drumChannel {
		l.played.Drums++
		return
	}
	t := l.tracks[channel]
	q := &l.byKey[channel*keys+int(e.A)]
	if q.first == 0 {
		q.first = int32(len(t.Notes)) + 1
	} else {
		q.more = append(q.more, int32(len(t.Notes))+1)
	}
	t.Notes = append(t.Notes, Note{Track: l.track, Channel: channel, Key: int(e.A), Velocity: int(e.B), StartTick: e.Tick,
		EndTick: end})
}

func (l *listener) stop(e Event) {
	q := &l.byKey[e.Channel()*keys+int(e.A)]
	if q.first == 0 {
		return
	}
	l.tracks[e.Channel()].Notes[q.first-1].EndTick = e.Tick
	q.first = 0
	if len(q.more) > 0 {
		q.first, q.more = q.more[0], q.more[1:]
	}
}

// control follows the pedals: a value of 64 or more is down (MIDI 1.0).
func (l *listener) control(e Event) {
	for i, control := range []byte{controlPedal, controlSoft} {
		if e.A != control {
			continue
		}
		down := &l.pedals[e.Channel()][i]
		switch {
		case e.B >= 64 && *down == 0:
			*down = downAt(e.Tick + 1)
		case e.B < 64 && *down > 0:
			l.release(e.Channel(), i, e.Tick)
		}
	}
}

func (l *listener) release(channel, pedal int, tick uint64) {
	from := uint64(l.pedals[channel][pedal]) - 1
	l.pedals[channel][pedal] = 0
	if tick <= from {
		return
	}
	t := l.tracks[channel]
	spans := [2]*[]Span{&t.Pedal, &t.Soft}[pedal]
	*spans = append(*spans, Span{from, tick})
}

func (l *listener) meta(e Event) error {
	p := l.played
	switch e.A {
	case TrackName:
		if l.name == "" {
			l.name = textOf(e.Data)
		}
	case Tempo:
		if len(e.Data) != 3 {
			return FormatError{Reason: fmt.Sprintf("a tempo of %d bytes, want 3", len(e.Data))}
		}
		micros := uint32(e.Data[0])<<16 | uint32(e.Data[1])<<8 | uint32(e.Data[2])
		if micros == 0 {
			return FormatError{Reason: "a tempo of 0 microseconds a quarter note"}
		}
		p.Tempos = append(p.Tempos, TempoChange{e.Tick, micros})
	case TimeSignature:
		if len(e.Data) >= 2 && e.Data[0] > 0 && e.Data[1] < 8 {
			p.Meters = append(p.Meters, Meter{e.Tick, int(e.Data[0]), 1 << e.Data[1]})
		}
	case KeySignature:
		if len(e.Data) >= 1 && int8(e.Data[0]) < 0 {
			for _, t := range l.tracks {
				t.Flats = true
			}
		}
	}
	return nil
}

// textOf is the text of a Meta message: UTF-8, or Latin-1 where it is not that.
func textOf(data []byte) string {
	text := string(data)
	if !utf8.Valid(data) {
		runes := make([]rune, len(data))
		for i, b := range data {
			runes[i] = rune(b)
		}
		text = string(runes)
	}
	return strings.TrimSpace(strings.ReplaceAll(text, "\x00", ""))
}

// finish lifts the pedals and gives the file its tracks. A channel of a file of
// format 0 is a track where it has notes.
func (l *listener) finish(end uint64, notes [channelsInUse]int) {
	for channel := range channelsInUse {
		for pedal := range 2 {
			if l.pedals[channel][pedal] > 0 {
				l.release(channel, pedal, end)
			}
		}
	}
	p := l.played
	if !l.channels {
		l.tracks[0].Name = l.name
		p.Tracks = append(p.Tracks, *l.tracks[0])
		return
	}
	if p.Title == "" {
		p.Title = l.name
	}
	for channel, t := range l.tracks {
		if notes[channel] > 0 && channel != drumChannel {
			p.Tracks = append(p.Tracks, *t)
		}
	}
}

// settle puts what the tracks say of time in order, and the title aside. Pedals of a
// track without notes go to the first track with notes of the channel, which is
// likely played with them.
func (p *Played) settle() {
	slices.SortStableFunc(p.Tempos, func(a, b TempoChange) int { return cmp.Compare(a.Tick, b.Tick) })
	p.Tempos = lastOfEach(p.Tempos, func(t TempoChange) uint64 { return t.Tick })
	slices.SortStableFunc(p.Meters, func(a, b Meter) int { return cmp.Compare(a.Tick, b.Tick) })
	p.Meters = lastOfEach(p.Meters, func(m Meter) uint64 { return m.Tick })
	if len(p.Tracks) > 0 && len(p.Tracks[0].Notes) == 0 && p.Title == "" {
		p.Title = p.Tracks[0].Name
	}
	first := slices.IndexFunc(p.Tracks, func(t PlayedTrack) bool { return len(t.Notes) > 0 })
	for i := range p.Tracks {
		t := &p.Tracks[i]
		if len(t.Notes) == 0 && first >= 0 {
			to := &p.Tracks[first]
			to.Pedal, to.Soft = append(to.Pedal, t.Pedal...), append(to.Soft, t.Soft...)
			t.Pedal, t.Soft = nil, nil
		}
	}
	for i := range p.Tracks {
		t := &p.Tracks[i]
		t.Pedal, t.Soft = united(t.Pedal), united(t.Soft)
		if !slices.IsSortedFunc(t.Notes, func(a, b Note) int { return cmp.Compare(a.StartTick, b.StartTick) }) {
			slices.SortStableFunc(t.Notes, func(a, b Note) int { return cmp.Compare(a.StartTick, b.StartTick) })
		}
	}
}

// lastOfEach keeps the last of several entries at one tick.
func lastOfEach[T any](list []T, tick func(T) uint64) []T {
	var out []T
	for _, e := range list {
		if n := len(out); n > 0 && tick(out[n-1]) == tick(e) {
			out[n-1] = e
			continue
		}
		out = append(out, e)
	}
	return out
}

// united are spans in order, those that overlap or touch as one.
func united(spans []Span) []Span {
	slices.SortFunc(spans, func(a, b Span) int { return cmp.Compare(a.From, b.From) })
	var out []Span
	for _, s := range spans {
		if n := len(out); n > 0 && s.From <= out[n-1].To {
			out[n-1].To = max(out[n-1].To, s.To)
			continue
		}
		out = append(out, s)
	}
	return out
}
