// Package musicxml writes parts of written music as a MusicXML 4.0 file
// (score-partwise, W3C Community Group Final Report of 1 June 2021) and reads
// the notes of such a file back.
//
// Each part keeps its own tempo and its own bars, the composer's or one a statement of the
// talea; notes are beamed within the beats of the composer's. Measures of parts with other
// bars are marked as non-controlling, which the standard has for music of several metres at
// once. Durations are whole numbers of divisions, exact. Tempos have twelve significant
// digits, so times come back
// to about a billionth; marks of the pedal stand at the nearest division. A part that
// begins later has a measure of rest before its first bar, number 0 (X1 before an
// upbeat, which is 0), whose tempo makes it last exactly so long.
//
// Check holds a file against a table of the elements that the package uses:
// their order, how often they may stand, their values.
package musicxml

import (
	"bufio"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/notation"
	"rollwright/music/piece"
)

// ErrTooLow is that a key lies below what MusicXML can name.
var ErrTooLow = errors.New("MusicXML has octaves 0 to 9")

// Score is a piece as written music.
type Score struct {
	Title    string
	Composer string
	Parts    []Part
}

// Part is a voice with what is said about it at its beginning.
type Part struct {
	*notation.Part
	Remark string // in words, such as how it stands to the other parts
	Pedal  []Held // the sustaining pedal, as far as this part asks for it
}

// Write writes the score. Errors are those of w, a score without parts, and keys
// below C0, which MusicXML does not have.
func Write(w io.Writer, s *Score) error {
	if len(s.Parts) == 0 {
		return fmt.Errorf("musicxml: a score without parts")
	}
	for _, p := range s.Parts {
		if err := lowest(p.Part); err != nil {
			return err
		}
	}
	e := &encoder{w: bufio.NewWriter(w)}
	e.text(xml.Header)
	e.text(`<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">` + "\n")
	e.open("score-partwise", "version", "4.0")
	if s.Title != "" {
		e.open("work")
		e.leaf("work-title", s.Title)
		e.close("work")
	}
	e.open("identification")
	if s.Composer != "" {
		e.leaf("creator", s.Composer, "type", "composer")
	}
	e.open("encoding")
	e.leaf("software", "rollwright")
	e.empty("supports", "element", "accidental", "type", "yes")
	e.close("encoding")
	e.close("identification")
	e.open("part-list")
	for i, p := range s.Parts {
		e.open("score-part", "id", partID(i))
		e.leaf("part-name", p.Name)
		e.open("score-instrument", "id", partID(i)+"-piano")
		e.leaf("instrument-name", "Piano")
		e.leaf("instrument-sound", "keyboard.piano")
		e.close("score-instrument")
		e.open("midi-instrument", "id", partID(i)+"-piano")
		e.leaf("midi-channel", strconv.Itoa(channel(i)))
		e.leaf("midi-program", "1") // acoustic grand piano of General MIDI
		e.close("midi-instrument")
		e.close("score-part")
	}
	e.close("part-list")
	differ := !sameBars(s.Parts)
	for i := range s.Parts {
		e.part(&s.Parts[i], partID(i), differ)
	}
	e.close("score-partwise")
	if e.err != nil {
		return e.err
	}
	return e.w.Flush()
}

// lowest refuses keys that MusicXML cannot name: its octaves run from 0 to 9.
func lowest(p *notation.Part) error {
	for _, b := range p.Bars {
		for _, n := range b.Notes {
			for _, pitch := range slices.Concat(append(n.Grace, n.Pitches)...) {
				if pitch.Octave < 0 {
					return fmt.Errorf("musicxml: voice %q has a note below C0: %w", p.Name, ErrTooLow)
				}
			}
		}
	}
	return nil
}

// channel is the MIDI channel of a part, 1 to 16 without the drums' tenth.
func channel(part int) int {
	c := part%15 + 1
	if c >= 10 {
		c++
	}
	return c
}

func partID(i int) string { return "P" + strconv.Itoa(i+1) }

// sameBars reports whether the bars of all parts begin together.
func sameBars(parts []Part) bool {
	first := parts[0].Part
	for _, p := range parts[1:] {
		if len(p.Bars) != len(first.Bars) || p.StartSec != first.StartSec {
			return false
		}
		for i := range p.Bars {
			a, b := &p.Bars[i], &first.Bars[i]
			if a.Length != b.Length || a.Number != b.Number || !same(a.Notes, b.Notes) {
				return false
			}
		}
	}
	return true
}

// same reports whether two bars are as long in seconds.
func same(a, b []notation.Note) bool {
	if len(a) == 0 || len(b) == 0 {
		return len(a) == len(b)
	}
	return notation.SameTempo(a[len(a)-1].EndSec-a[0].StartSec, b[len(b)-1].EndSec-b[0].StartSec)
}

// encoder writes elements, two blanks a level.
type encoder struct {
	w     *bufio.Writer
	depth int
	err   error
}

func (e *encoder) text(s string) {
	if e.err == nil {
		_, e.err = e.w.WriteString(s)
	}
}

func (e *encoder) start(name string, attrs []string, end string) {
	e.text(strings.Repeat("  ", e.depth) + "<" + name)
	for i := 0; i+1 < len(attrs); i += 2 {
		e.text(" " + attrs[i] + `="` + escape(attrs[i+1]) + `"`)
	}
	e.text(end)
}

func (e *encoder) open(name string, attrs ...string) {
	e.start(name, attrs, ">\n")
	e.depth++
}

func (e *encoder) close(name string) {
	e.depth--
	e.text(strings.Repeat("  ", e.depth) + "</" + name + ">\n")
}

func (e *encoder) empty(name string, attrs ...string) { e.start(name, attrs, "/>\n") }

func (e *encoder) leaf(name, value string, attrs ...string) {
	e.start(name, attrs, ">"+escape(value)+"</"+name+">\n")
}

func (e *encoder) whole(name string, n int64) { e.leaf(name, strconv.FormatInt(n, 10)) }

// escape is s as text of XML 1.0; what XML cannot hold becomes U+FFFD.
func escape(s string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(s)) // a strings.Builder takes everything
	return b.String()
}

// part writes one part.
func (e *encoder) part(p *Part, id string, differ bool) {
	w := &partWriter{encoder: e, part: p, differ: differ, divisions: divisions(p.Part), feet: feet(p.Pedal)}
	e.open("part", "id", id)
	w.lead()
	for i := range p.Bars {
		w.bar(&p.Bars[i], i+1 == len(p.Bars))
	}
	if len(p.Bars) == 0 {
		w.silent("1", 1)
	}
	e.close("part")
}

// partWriter knows what holds at the place that is being written.
type partWriter struct {
	*encoder
	part      *Part
	differ    bool  // other parts have other bars
	divisions int64 // of a quarter note
	begun     bool  // attributes of the whole part are written
	beats     string
	tempo     float64 // in force
	marked    float64 // last printed
	dynamics  string
	held      notation.Accidentals
	feet      []foot // movements of the pedal that are still to be written
}

// divisions is the least number of divisions of a quarter note in which every
// value of the part is whole.
func divisions(p *notation.Part) int64 {
	least := int64(4) // sixteenths, for the rest ahead
	seen := map[notation.Value]bool{}
	for _, b := range p.Bars {
		for _, n := range b.Notes {
			for _, v := range n.Values {
				if seen[v] {
					continue
				}
				seen[v] = true
				quarters, _ := v.Length().Mul(exact.Int(4))
				least *= quarters.Den() / gcd(least, quarters.Den())
			}
		}
	}
	return least
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// inDivisions is a value in divisions, exact by the choice of divisions.
func (w *partWriter) inDivisions(v notation.Value) int64 {
	length := v.Length()
	return length.Num() * 4 * w.divisions / length.Den()
}

// The numbers of measures that are not counted: an upbeat, or rest before the first one; and
// rest before an upbeat.
const (
	upbeat       = "0"
	beforeUpbeat = "X1"
)

func (w *partWriter) measure(number string) {
	attrs := []string{"number", number}
	if number == upbeat || number == beforeUpbeat {
		attrs = append(attrs, "implicit", "yes")
	}
	if w.differ {
		attrs = append(attrs, "non-controlling", "yes")
	}
	w.open("measure", attrs...)
}

// lead is the measure of rest before a part that begins later than the piece.
func (w *partWriter) lead() {
	if !(w.part.StartSec > 0) || len(w.part.Bars) == 0 {
		return
	}
	tempo := w.part.Bars[0].Notes[0].Tempo()
	if !(tempo > 0) {
		tempo = 60
	}
	// In whole sixteenths, as near as can be at the part's own tempo; the rest
	// is the tempo's to make up.
	sixteenths := int64(math.Min(math.Max(1, math.Round(w.part.StartSec*tempo/15)), 1e6))
	length := exact.NewRat(sixteenths, 16)
	number := upbeat
	if w.part.Bars[0].Number == 0 {
		number = beforeUpbeat
	}
	w.measure(number)
	w.attributes(metre(length))
	w.remark()
	w.setTempo(float64(sixteenths) * 15 / w.part.StartSec)
	if values, ok := notation.Split(length); ok {
		w.note(&notation.Note{Values: values}, make([]notation.Bracket, len(values)), make([]notation.Beam, len(values)))
	} else {
		w.restBar(sixteenths * w.divisions / 4)
	}
	w.close("measure")
}

// silent is a measure of rest of so many quarter notes.
func (w *partWriter) silent(number string, quarters int64) {
	w.measure(number)
	w.attributes(strconv.FormatInt(quarters, 10), "4")
	w.remark()
	w.restBar(quarters * w.divisions)
	w.close("measure")
}

func (w *partWriter) restBar(duration int64) {
	w.open("note")
	w.empty("rest", "measure", "yes")
	w.whole("duration", duration)
	w.leaf("voice", "1")
	w.close("note")
}

// remark says what is to be said at the beginning of the part.
func (w *partWriter) remark() {
	if w.part.Remark != "" {
		w.words(w.part.Remark)
	}
}

func (w *partWriter) words(text string) {
	w.open("direction", "placement", "above")
	w.open("direction-type")
	w.leaf("words", text)
	w.close("direction-type")
	w.close("direction")
}

// attributes writes what holds from here on, where it is new.
func (w *partWriter) attributes(beats, beatType string) {
	time := beats + "/" + beatType
	if w.begun && time == w.beats {
		return
	}
	w.open("attributes")
	if !w.begun {
		w.whole("divisions", w.divisions)
		w.open("key")
		w.leaf("fifths", "0")
		w.close("key")
	}
	if time != w.beats {
		w.open("time")
		if beats == "" {
			w.empty("senza-misura")
		} else {
			w.leaf("beats", beats)
			w.leaf("beat-type", beatType)
		}
		w.close("time")
	}
	if !w.begun {
		w.clefs()
	}
	w.close("attributes")
	w.begun, w.beats = true, time
}

func (w *partWriter) clefs() {
	if len(w.part.Staves) > 1 {
		w.whole("staves", int64(len(w.part.Staves)))
	}
	for i, c := range w.part.Staves {
		var attrs []string
		if len(w.part.Staves) > 1 {
			attrs = []string{"number", strconv.Itoa(i + 1)}
		}
		w.open("clef", attrs...)
		w.leaf("sign", string(c.Sign))
		w.leaf("line", map[byte]string{'G': "2", 'F': "4"}[c.Sign])
		if c.Octaves != 0 {
			w.whole("clef-octave-change", int64(c.Octaves))
		}
		w.close("clef")
	}
}

// metre is a length as a time signature, in the finest of sixteenth and the
// values that it needs; empty for what has none.
func metre(length exact.Rat) (beats, beatType string) {
	den := length.Den()
	if length.Sign() <= 0 || den > 256 || den&(den-1) != 0 {
		return "", ""
	}
	num := length.Num()
	for den < 4 {
		num, den = num*2, den*2
	}
	return strconv.FormatInt(num, 10), strconv.FormatInt(den, 10)
}

func (w *partWriter) bar(b *notation.Bar, last bool) {
	first := !w.begun
	w.measure(strconv.Itoa(b.Number))
	beats, beatType := metre(b.Length)
	if b.Given {
		beats, beatType = "", ""
		if m := b.Metre; m.Value > 0 {
			beats, beatType = strconv.FormatInt(m.Count, 10), strconv.FormatInt(m.Value, 10)
		}
	}
	w.attributes(beats, beatType)
	if first {
		w.remark()
	}
	w.held.NewBar()
	brackets, beams := b.Brackets(), b.Beams()
	for i := range b.Notes {
		n := &b.Notes[i]
		w.tempoMark(n, i == 0)
		w.dynamic(n)
		w.pedalDuring(n)
		w.note(n, brackets[i], beams[i])
	}
	if last {
		w.pedalAtEnd()
		w.open("barline", "location", "right")
		w.leaf("bar-style", "light-heavy")
		w.close("barline")
	}
	w.close("measure")
}

// printed is by how much a tempo must change before it is printed again.
const printed = 0.005

// tempoMark writes the tempo of a note where it is new: for the eye at the
// beginning of bars, for the ear wherever it changes.
func (w *partWriter) tempoMark(n *notation.Note, barBegins bool) {
	tempo := n.Tempo()
	if !(tempo > 0) || notation.SameTempo(tempo, w.tempo) && w.marked != 0 {
		return
	}
	if !barBegins || w.marked != 0 && math.Abs(tempo/w.marked-1) < printed {
		w.setTempo(tempo)
		return
	}
	w.open("direction", "placement", "above")
	w.open("direction-type")
	w.open("metronome")
	w.leaf("beat-unit", "quarter")
	w.leaf("per-minute", strconv.FormatFloat(math.Round(tempo*100)/100, 'f', -1, 64))
	w.close("metronome")
	w.close("direction-type")
	w.setTempo(tempo)
	w.close("direction")
	w.marked = tempo
}

func (w *partWriter) setTempo(tempo float64) {
	w.empty("sound", "tempo", decimal(tempo))
	w.tempo = tempo
}

// decimal writes a number with twelve significant digits and no exponent.
func decimal(v float64) string {
	places := max(0, 12-int(math.Ceil(math.Log10(v))))
	return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(v, 'f', min(places, 20), 64), "0"), ".")
}

// marks are the dynamics with the levels at which each begins: halfway between
// the usual levels 16 33 49 64 80 96 112 126 (common practice).
var marks = []struct {
	from int
	name string
}{{119, "fff"}, {104, "ff"}, {88, "f"}, {72, "mf"}, {57, "mp"}, {41, "p"}, {25, "pp"}, {0, "ppp"}}

func (w *partWriter) dynamic(n *notation.Note) {
	if n.Rest() {
		return
	}
	for _, m := range marks {
		if n.Level < m.from {
			continue
		}
		if m.name != w.dynamics {
			w.dynamics = m.name
			w.open("direction", "placement", "below")
			w.open("direction-type")
			w.open("dynamics")
			w.empty(m.name)
			w.close("dynamics")
			w.close("direction-type")
			w.close("direction")
		}
		return
	}
}

// types are the names of note values from the breve on.
var types = []string{"breve", "whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th", "256th"}

// note writes the values of a note or rest, each value a chord.
func (w *partWriter) note(n *notation.Note, brackets []notation.Bracket, beams []notation.Beam) {
	if n.Gesture == piece.Gliss && !n.Back {
		w.words("gliss.")
	}
	for _, stroke := range n.Grace {
		for k := range stroke {
			w.grace(stroke[k], k > 0)
		}
	}
	for i, v := range n.Values {
		ties := tied{n: n, stop: i > 0 || n.Back, start: i+1 < len(n.Values) || n.On}
		if n.Rest() {
			w.one(v, ties, under{brackets[i], beams[i]}, nil, false)
			continue
		}
		for k := range n.Pitches {
			w.one(v, ties, under{brackets[i], beams[i]}, &n.Pitches[k], k > 0)
		}
	}
}

// grace writes a note ahead of another, which takes no time of its own.
func (w *partWriter) grace(pitch notation.Pitch, chord bool) {
	w.open("note")
	w.empty("grace", "slash", "yes")
	if chord {
		w.empty("chord")
	}
	w.pitch(pitch)
	w.leaf("voice", "1")
	w.leaf("type", types[4])
	if w.held.Needs(pitch) {
		w.leaf("accidental", accidentals[pitch.Alter+2])
	}
	if len(w.part.Staves) > 1 {
		w.whole("staff", int64(w.part.Staff(pitch)+1))
	}
	w.close("note")
}

// under is what stands over or under values of several notes.
type under struct {
	notation.Bracket
	beam notation.Beam
}

// beams writes what each beam of a value does.
func (w *partWriter) beams(b notation.Beam) {
	if b.Before == 0 && b.After == 0 {
		return
	}
	for k := 1; k <= b.Own; k++ {
		does := "forward hook"
		switch {
		case b.Before >= k && b.After >= k:
			does = "continue"
		case b.Before >= k:
			does = "end"
		case b.After >= k:
			does = "begin"
		case b.Before > 0:
			does = "backward hook"
		}
		w.leaf("beam", does, "number", strconv.Itoa(k))
	}
}

// accidentals are the names of signs, from two flats on.
var accidentals = []string{"flat-flat", "flat", "natural", "sharp", "double-sharp"}

func (w *partWriter) pitch(p notation.Pitch) {
	w.open("pitch")
	w.leaf("step", string(p.Step))
	if p.Alter != 0 {
		w.whole("alter", int64(p.Alter))
	}
	w.whole("octave", int64(p.Octave))
	w.close("pitch")
}

// tied is how a value hangs together with its neighbours.
type tied struct {
	n           *notation.Note
	stop, start bool
}

// one writes a note element.
func (w *partWriter) one(v notation.Value, t tied, b under, pitch *notation.Pitch, chord bool) {
	w.open("note")
	if chord {
		w.empty("chord")
	}
	staff := 0
	if pitch == nil {
		w.empty("rest")
	} else {
		staff = w.part.Staff(*pitch)
		w.pitch(*pitch)
	}
	w.whole("duration", w.inDivisions(v))
	if pitch != nil && t.stop {
		w.empty("tie", "type", "stop")
	}
	if pitch != nil && t.start {
		w.empty("tie", "type", "start")
	}
	w.leaf("voice", "1")
	w.leaf("type", types[v.Log+1])
	for range v.Dots {
		w.empty("dot")
	}
	if pitch != nil && !t.stop && w.held.Needs(*pitch) {
		w.leaf("accidental", accidentals[pitch.Alter+2])
	}
	if v.Tuplet() {
		w.open("time-modification")
		w.whole("actual-notes", int64(v.Actual))
		w.whole("normal-notes", int64(v.Normal))
		w.close("time-modification")
	}
	if len(w.part.Staves) > 1 {
		w.whole("staff", int64(staff+1))
	}
	if !chord {
		w.beams(b.beam)
	}
	w.notations(t, b.Bracket, pitch != nil, chord)
	w.close("note")
}

// notations writes ties, brackets and ornaments, if there are any.
func (w *partWriter) notations(t tied, b notation.Bracket, sounds, chord bool) {
	stop, start := sounds && t.stop, sounds && t.start
	b.Starts, b.Stops = b.Starts && !chord, b.Stops && !chord
	ornament := ""
	if sounds && !chord && !t.stop {
		switch t.n.Gesture {
		case piece.Trill:
			ornament = "trill-mark"
		case piece.Repeat:
			ornament = "tremolo"
		}
	}
	spread := sounds && !t.stop && t.n.Gesture == piece.Spread
	// A tuplet of one note has no bracket to draw: time-modification says all,
	// and readers take a start and a stop on one note for a stop alone.
	bracketStarts, bracketStops := b.Starts && !b.Stops, b.Stops && !b.Starts
	if !stop && !start && !bracketStarts && !bracketStops && ornament == "" && !spread {
		return
	}
	w.open("notations")
	if stop {
		w.empty("tied", "type", "stop")
	}
	if start {
		w.empty("tied", "type", "start")
	}
	if bracketStarts {
		w.empty("tuplet", "type", "start", "bracket", "yes")
	}
	if bracketStops {
		w.empty("tuplet", "type", "stop")
	}
	switch ornament {
	case "trill-mark":
		w.open("ornaments")
		w.empty("trill-mark")
		w.close("ornaments")
	case "tremolo":
		w.open("ornaments")
		w.leaf("tremolo", "3", "type", "single")
		w.close("ornaments")
	}
	if spread {
		w.empty("arpeggiate", "direction", "up") // the lowest note first
	}
	w.close("notations")
}
