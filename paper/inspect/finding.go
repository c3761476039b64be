package inspect

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"rollwright/music/piece"
	"rollwright/paper/roll"
	"rollwright/text/say"
	"rollwright/text/source"
)

// Finding is one thing that paper, bar or action cannot do as written, with
// its place. What does not apply is -1 (Key, Voice, Other) or 0.
type Finding struct {
	Kind     Kind
	Severity Severity

	Piano     int    // index into piece.Piece.Pianos
	PianoName string // may be empty

	StartSec float64 // when it sounds, from the piece's 0
	AlongMM  float64 // leading edge, or the row meant
	AcrossMM float64 // of the port
	Port     int     // its number from the bass edge, from 1; 0: no single port
	Key      int     // -1: none

	Voice, Note      int // index into piece.Piece.Voices; sounding item, from 1
	VoiceName        string
	Other, OtherNote int // the other voice, or the other note of the same voice
	OtherName        string
	At               source.Pos // in the piece's file: what a change would begin with
	Width            int        // so many characters from At are meant; 0: the attribute or block that stands there
	// where At is a gesture that strikes a key again: the gesture that struck it before; not known: a plain note
	Before source.Pos

	Value, Limit float64 // measured, and where it should keep to
	Unit         string  // of both; may be empty

	piece    *piece.Piece
	roll     *roll.Roll
	reach    *reach
	trials   *trials
	gestures *gestures
	stretch  roll.Stretch // PedalBeyond: the span as written
	pedal    string       // PedalBeyond: sustain or soft, or the name of a stop
	stop     bool         // it is about a stop
	ends     lineEnds     // WeakLine
	refused  bool         // a trial strip has said that it cannot be played
	beside   int          // SideBySide: the number of the other port
	// kinds that tell of two strokes: seconds from one to the other; LevelsLost: the largest distance in levels
	apart    float64
	fine     float64 // StepError, LevelsLost: the root mean square
	together bool    // AccentLost: it begins with the notes for whose sake it sounds so,
	oneKey   bool    // and one of them is on its own key
}

// Where is the place in words: time, paper, port, voice and note, line.
func (f *Finding) Where() string {
	var parts []string
	if f.PianoName != "" {
		parts = append(parts, source.Printable(f.PianoName))
	}
	if f.placed() {
		parts = append(parts, say.Instant(f.StartSec), paper(f.AlongMM))
	}
	if f.Key >= 0 {
		parts = append(parts, f.key())
	} else if f.Port > 0 {
		parts = append(parts, fmt.Sprintf("port %d", f.Port))
	}
	if f.Voice >= 0 {
		parts = append(parts, f.voiceNote())
	}
	if line := f.line(); line != "" {
		parts = append(parts, line)
	}
	return strings.Join(parts, ", ")
}

// line is the place in the piece's file, or empty: the line, and the column where
// only a part of it is meant.
func (f *Finding) line() string {
	if !f.At.Known() || f.piece == nil || f.piece.File == nil {
		return ""
	}
	if f.Width > 0 {
		return fmt.Sprintf("%s:%v", source.Printable(f.piece.File.Name), f.At)
	}
	return fmt.Sprintf("%s:%d", source.Printable(f.piece.File.Name), f.At.Line)
}

func (f *Finding) voiceNote() string {
	name := source.Printable(f.VoiceName)
	if f.Note > 0 {
		return fmt.Sprintf("%s note %d", name, f.Note)
	}
	return name
}

// placed reports whether the finding is at one place of the roll.
func (f *Finding) placed() bool {
	switch f.Kind {
	case Length, SmallDie, LeverRange, StepError, LevelsLost:
		return false
	}
	return true
}

// record is a finding as JSON: names in place of indices, null for what does
// not apply.
type record struct {
	Kind     string   `json:"kind"`
	Severity string   `json:"severity"`
	Piano    string   `json:"piano"`
	StartSec *float64 `json:"start_s"`
	AlongMM  *float64 `json:"along_mm"`
	AcrossMM *float64 `json:"across_mm"`
	Port     *int     `json:"port"`
	Key      *int     `json:"key"`
	Pitch    string   `json:"pitch,omitempty"`
	Voice    string   `json:"voice,omitempty"`
	Note     *int     `json:"note"`
	Other    string   `json:"other_voice,omitempty"`
	Line     *int     `json:"line"`
	Column   *int     `json:"column"`
	Value    float64  `json:"value"`
	Limit    float64  `json:"limit"`
	Unit     string   `json:"unit,omitempty"`
	Message  string   `json:"message"`
	Remedy   string   `json:"remedy,omitempty"`
}

// MarshalJSON writes the finding with message and remedy; times have nine
// decimals at most, lengths four.
func (f Finding) MarshalJSON() ([]byte, error) {
	r := record{
		Kind: f.Kind.String(), Severity: f.Severity.String(), Piano: f.PianoName,
		Value: decimals(f.Value, 6), Limit: decimals(f.Limit, 6), Unit: f.Unit,
		Message: f.Message(), Remedy: f.Remedy(),
	}
	if f.placed() {
		start, along := decimals(f.StartSec, 9), decimals(f.AlongMM, 4)
		r.StartSec, r.AlongMM = &start, &along
	}
	if f.Port > 0 {
		across := decimals(f.AcrossMM, 4)
		r.Port, r.AcrossMM = &f.Port, &across
	}
	if f.Key >= 0 {
		r.Key, r.Pitch = &f.Key, f.key()
	}
	if f.Voice >= 0 {
		r.Voice = f.VoiceName
	}
	if f.Other >= 0 {
		r.Other = f.OtherName
	}
	if f.Note > 0 {
		r.Note = &f.Note
	}
	if f.At.Known() {
		r.Line, r.Column = &f.At.Line, &f.At.Column
	}
	return json.Marshal(r)
}

// decimals rounds x to n decimal places, halves away from zero, and never to
// -0.
func decimals(x float64, n int) float64 {
	scale := math.Pow10(n)
	return math.Round(x*scale)/scale + 0
}

// paper is a length along the paper for reading.
func paper(mm float64) string {
	if math.Abs(mm) >= 1000 {
		return fmt.Sprintf("%.3f m", mm/1000)
	}
	return fmt.Sprintf("%.1f mm", mm)
}

// figure is a number for reading: three digits that count, no needless ones.
func figure(x float64) string {
	if math.Abs(x) >= 1000 {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'g', 3, 64)
}
