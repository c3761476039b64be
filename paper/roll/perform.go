package roll

import (
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/paper/instrument"
)

// Of lays out a performance with its pedals, one roll for every piano.
func Of(f *perform.Performance, instruments []*instrument.Instrument) ([]*Roll, error) {
	return Lay(f.Piece, f.Events(), instruments, Options{Spans: Pedals(f), Slots: f.Count})
}

// Pedals are the spans of both pedals in seconds of the piece, voice by voice.
func Pedals(f *perform.Performance) []Span {
	var out []Span
	for _, line := range f.Lines {
		voice := &f.Piece.Voices[line.Voice]
		out = appendSpans(out, line, voice, instrument.Sustain, voice.Pedal)
		out = appendSpans(out, line, voice, instrument.Soft, voice.Soft)
	}
	return out
}

func appendSpans(out []Span, line *perform.Line, voice *piece.Voice, role instrument.Role, spans piece.Spans) []Span {
	span := Span{Piano: voice.Piano, Voice: line.Voice, Role: role}
	if spans.Full {
		span.StartSec, span.EndSec = line.StartSec, line.EndSec
		return append(out, span)
	}
	for _, s := range spans.List {
		span.StartSec = line.StartSec + line.Path.Seconds(s.From.Float64())
		span.EndSec = line.StartSec + line.Path.Seconds(s.To.Float64())
		span.Units = Stretch{s.From.Float64(), s.To.Float64(), line.Length}
		out = append(out, span)
	}
	return out
}
