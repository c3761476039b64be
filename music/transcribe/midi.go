package transcribe

import (
	"errors"
	"fmt"
	"io"

	"rollwright/exact"
	"rollwright/music/midi"
	"rollwright/music/pitch"
)

// usualMicros is the tempo of a file that says none: 120 (Standard MIDI Files 1.0).
const usualMicros = 500_000

// ReadMIDI reads a Standard MIDI File of format 0 or 1; see midi.ReadPlayed for what
// is taken of files that others wrote. Where ticks count frames of a time code a
// quarter note stands for a second. The name is for complaints.
func ReadMIDI(name string, r io.Reader) (*File, error) {
	p, err := midi.ReadPlayed(r, midi.Limits{Tolerant: true})
	if err != nil {
		return nil, fmt.Errorf("%s cannot be read as MIDI: %w", name, plain(err))
	}
	f := &File{Name: name, Title: p.Title}
	if err := f.time(p); err != nil {
		return nil, err
	}
	notes, last := 0, int64(0)
	for i := range p.Tracks {
		t := &p.Tracks[i]
		part := Part{Name: t.Name, Number: t.Number, FirstBar: 1, Pedal: spansOf(t.Pedal), Soft: spansOf(t.Soft)}
		if notes += len(t.Notes); notes > MaxNotes {
			return nil, fmt.Errorf("%s has more than %d notes", name, MaxNotes)
		}
		part.Notes = f.midiNotes(t)
		t.Notes = nil // the memory is wanted
		last = max(last, int64(t.EndTick))
		f.Parts = append(f.Parts, part)
	}
	if notes == 0 {
		return nil, fmt.Errorf("%s has no notes", name)
	}
	bars := f.midiBars(p, last)
	for i := range f.Parts {
		f.Parts[i].Bars = bars
	}
	if p.Drums > 0 {
		f.say("channel 10 holds drums by convention, and %d notes of it are left out", p.Drums)
	}
	return f, nil
}

// plain is an error of package midi without its prefix.
func plain(err error) error {
	var format midi.FormatError
	var unsupported midi.UnsupportedError
	switch {
	case errors.As(err, &format):
		return fmt.Errorf("byte %d: %s", format.Offset, format.Reason)
	case errors.As(err, &unsupported):
		return errors.New(string(unsupported))
	}
	return err
}

// time takes what a tick is, and the tempos.
func (f *File) time(p *midi.Played) error {
	if num, den, ok := p.Division.TimeCode(); ok {
		// So many ticks a second, and a second is a quarter note at 60.
		f.Tick = exact.NewRat(int64(den), 4*int64(num))
		f.Tempos = []Tempo{{0, exact.Frac(60, 1)}}
		return nil
	}
	ticks, ok := p.Division.Metrical()
	if !ok {
		return fmt.Errorf("%s cannot be read as MIDI: its division means nothing", f.Name)
	}
	f.Tick = exact.NewRat(1, 4*int64(ticks))
	f.Tempos = []Tempo{{0, tempoOf(usualMicros)}}
	for _, t := range p.Tempos {
		f.Tempos = append(f.Tempos, Tempo{int64(t.Tick), tempoOf(t.Micros)})
	}
	return nil
}

func tempoOf(micros uint32) exact.Real { return exact.Frac(60_000_000, int64(micros)) }

func spansOf(list []midi.Span) []Span {
	var out []Span
	for _, s := range list {
		out = append(out, Span{int64(s.From), int64(s.To)})
	}
	return out
}

// midiNotes are the notes of a track. One that ends where it begins lasts a tick.
func (f *File) midiNotes(t *midi.PlayedTrack) []Note {
	notes, short := make([]Note, len(t.Notes)), 0
	for i, n := range t.Notes {
		notes[i] = Note{From: int64(n.StartTick), To: int64(n.EndTick), Key: uint8(n.Key), Level: uint8(n.Velocity)}
		if t.Flats {
			notes[i].Letter = pitch.Letter(n.Key, true)
		}
		if n.EndTick <= n.StartTick {
			notes[i].To = notes[i].From + 1
			short++
		}
	}
	if short > 0 {
		f.say("%d notes end where they begin, and last one tick each", short)
	}
	return notes
}

// mostBars bounds the bars that are counted out.
const mostBars = 1_000_000

// midiBars are where bars begin by the time signatures, 4/4 until the first, up to the
// bar that reaches the end. Without a common measure of ticks and bars, or with too many
// bars, there are none.
func (f *File) midiBars(p *midi.Played, end int64) []int64 {
	ticks, ok := p.Division.Metrical()
	if !ok {
		return nil
	}
	beats, unit, next := 4, 4, 0
	bars := []int64{0}
	for at := int64(0); at < end; {
		for next < len(p.Meters) && int64(p.Meters[next].Tick) <= at {
			beats, unit = p.Meters[next].Beats, p.Meters[next].Unit
			next++
		}
		length := int64(beats) * 4 * int64(ticks) / int64(unit)
		if length <= 0 || len(bars) > mostBars {
			return nil
		}
		if next < len(p.Meters) && int64(p.Meters[next].Tick) < at+length {
			length = int64(p.Meters[next].Tick) - at // a new meter begins a bar
		}
		at += length
		bars = append(bars, at)
	}
	return bars
}
