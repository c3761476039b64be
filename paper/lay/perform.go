package lay

import (
	"slices"

	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// Limits are what performing has to know of the instruments, one a piano: how fast each
// repeats a key, and for how long each of such strokes sounds.
func Limits(instruments []*instrument.Instrument) perform.Options {
	return perform.Options{
		Fastest: func(piano int) float64 {
			strokes, _ := instruments[piano].Repetition()
			return strokes
		},
		FastestHold: func(piano int) float64 {
			_, sec := instruments[piano].Repetition()
			return sec
		},
	}
}

// Of lays out a performance with its pedals, one roll for every piano.
func Of(f *perform.Performance, instruments []*instrument.Instrument) ([]*roll.Roll, error) {
	return Out(f.Piece, f.Events(), instruments, Options{Spans: Spans(f), Slots: f.Count})
}

// Sustained are the spans of sustaining pedals, as events know them.
func Sustained(pedals []roll.Span) []event.Span { return spansOf(pedals, instrument.Sustain) }

// Softened are those of soft pedals.
func Softened(pedals []roll.Span) []event.Span { return spansOf(pedals, instrument.Soft) }

func spansOf(pedals []roll.Span, role instrument.Role) []event.Span {
	var spans []event.Span
	for _, s := range pedals {
		if s.Role == role {
			spans = append(spans, event.Span{Piano: int16(s.Piano), StartSec: s.StartSec, EndSec: s.EndSec})
		}
	}
	return spans
}

// Pedals are the spans of both pedals in seconds of the piece, voice by voice.
func Pedals(f *perform.Performance) []roll.Span {
	var out []roll.Span
	for _, line := range f.Lines {
		voice := &f.Piece.Voices[line.Voice]
		if voice.Mute {
			continue
		}
		out = appendSpans(out, line, voice, instrument.Sustain, voice.Pedal)
		out = appendSpans(out, line, voice, instrument.Soft, voice.Soft)
	}
	return out
}

// Spans are those of pedals and stops.
func Spans(f *perform.Performance) []roll.Span { return slices.Concat(Pedals(f), Stops(f)) }

// Stops are the spans of all stops in seconds of the piece, voice by voice.
func Stops(f *perform.Performance) []roll.Span {
	var out []roll.Span
	for _, line := range f.Lines {
		voice := &f.Piece.Voices[line.Voice]
		if voice.Mute {
			continue
		}
		for i := range voice.Stops {
			from := len(out)
			out = appendSpans(out, line, voice, instrument.Register, voice.Stops[i].Spans)
			for k := range out[from:] {
				out[from+k].Stop = voice.Stops[i].Name
			}
		}
	}
	return out
}

func appendSpans(out []roll.Span, line *perform.Line, voice *piece.Voice, role instrument.Role,
	spans piece.Spans) []roll.Span {
	span := roll.Span{Piano: voice.Piano, Voice: line.Voice, Role: role}
	if spans.Full {
		span.StartSec, span.EndSec = line.StartSec, line.EndSec
		return append(out, span)
	}
	for s := range line.Spans(spans) {
		span.StartSec = line.SecondsAt(s.From.Float64())
		span.EndSec = line.SecondsAt(s.To.Float64())
		span.Units = roll.Stretch{From: s.From.Float64(), To: s.To.Float64(), Of: line.Length}
		out = append(out, span)
	}
	return out
}
