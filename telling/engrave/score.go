package engrave

import (
	"fmt"

	"rollwright/draw"
	"rollwright/music/notation"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/pitch"
	"rollwright/text/choice"
	"rollwright/text/words"
)

// ScoreOptions say how a time-space score is laid out. The zero value is the
// whole piece on A4 in hues.
type ScoreOptions struct {
	Title, Composer string
	Voices          []int       // indices; nil: all
	Book            *words.Book // nil: English
	Plain           bool        // pitch series and rhythm series for color and talea
	Letter          bool        // paper: Letter, else A4
	BlackInk        bool
	FromSec, ToSec  float64   // the stretch; both 0: all
	SystemSec       float64   // seconds of every system; 0: as many in each as its density allows
	MeetSec         []float64 // instants to be marked through all staves: the meeting points of canons
}

// Sizes of a page in millimetres.
const (
	scoreMargin = 12.0
	scoreHead   = 23.0 // on the first page, for title and how to read
	scoreFoot   = 8.0
	nameWidth   = 22.0 // for names and clefs at the left
	rulerHeight = 6.0  // for the seconds above a system
	systemGap   = 5.0
	mostPages   = 400
)

// Spaces of staves that are tried, from the most readable to the smallest.
var staffSpaces = []float64{1.5, 1.35, 1.2, 1.05, 0.9, 0.8}

// systemLengths are the seconds of a system that are tried.
var systemLengths = []float64{120, 90, 60, 45, 30, 24, 20, 15, 12, 10, 8, 6, 5, 4, 3, 2, 1.5, 1}

// TooLarge is the error of a score that no paper holds; it says what to do.
type TooLarge struct{ why *choice.Error }

// Error is what is too large, with what to do.
func (e TooLarge) Error() string { return "engrave: " + e.why.Error() }

// Unwrap is the error that names what to choose.
func (e TooLarge) Unwrap() error { return e.why }

// stroke is a note as it sounds.
type stroke struct {
	start, end float64
	pitch      notation.Pitch
	small      bool // a lesser stroke of a gesture
}

// row is a voice in the score.
type row struct {
	voice   int
	name    string
	part    notation.Part // staves, from what sounds
	notes   map[int32]spelled
	strokes []stroke
	longest float64   // of its strokes, in seconds
	heads   []float64 // when its full-size heads stand, ascending: a gesture is one
	taleae  []mark
	colores []mark
	above   float64 // in spaces, from the top line of its first staff
	below   float64
	gap     float64 // between its two staves
}

// mark is where a statement begins.
type mark struct {
	sec float64
	n   int
}

// Score is a time-space score: a staff or a pair of staves a voice, noteheads
// placed by time on an axis common to all voices, with seconds and statements.
// Lines after the heads say how long notes sound. Each system is as long as its
// density allows, and has staves for the voices that sound in it only. The error is
// TooLarge where there are more voices than a page holds, or more pages than anyone
// would turn.
//
// Every altered note carries its accidental, which holds for that note alone; keys are
// spelled as their composer spells them.
func Score(perf *perform.Performance, o ScoreOptions) ([]*draw.Drawing, error) {
	s := &scoreWriter{perf: perf, o: o, book: o.Book, width: 210, height: 297}
	if o.Letter {
		s.width, s.height = 215.9, 279.4
	}
	if s.book == nil {
		s.book = words.English()
	}
	if o.Plain {
		s.book = s.book.Plain()
	}
	if err := s.collect(); err != nil {
		return nil, err
	}
	if err := s.layOut(); err != nil {
		return nil, err
	}
	return s.pages(), nil
}

type scoreWriter struct {
	perf          *perform.Performance
	o             ScoreOptions
	book          *words.Book
	width, height float64
	rows          []*row
	from, to      float64
	space         float64
	sheets        [][]system // the systems of each page
}

// collect gathers what sounds, voice by voice.
func (s *scoreWriter) collect() error {
	voices := s.o.Voices
	if len(voices) == 0 {
		for i := range s.perf.Lines {
			voices = append(voices, i)
		}
	}
	s.from, s.to = s.o.FromSec, s.o.ToSec
	if s.to == 0 {
		s.to = s.perf.EndSec
	}
	if !(s.to > s.from) {
		return fmt.Errorf("engrave: the stretch from %g s to %g s is none", s.from, s.to)
	}
	rows := map[int32]*row{}
	for _, v := range voices {
		r := &row{voice: v, name: s.perf.Piece.Voices[v].Name, notes: spelledNotes(s.perf, v)}
		s.rows = append(s.rows, r)
		rows[int32(v)] = r
	}
	for e := range s.perf.Events() {
		if r := rows[e.Voice]; r != nil && e.StartSec >= s.from && e.StartSec < s.to {
			n := r.notes[e.Note]
			k := stroke{e.StartSec, e.EndSec, n.pitch(int(e.Key)), small(n.gesture, e.Part)}
			r.strokes, r.longest = append(r.strokes, k), max(r.longest, k.end-k.start)
			if n := len(r.heads); !k.small && (n == 0 || k.start-r.heads[n-1] > 0.001) {
				r.heads = append(r.heads, k.start)
			}
		}
	}
	for _, r := range s.rows {
		r.settle(s.perf.Lines[r.voice])
	}
	return nil
}

// spelled is a note of a voice: what its keys are called, and in what manner they are struck.
type spelled struct {
	names   []pitch.Named
	gesture piece.GestureKind
}

// pitch is a key of the note as its composer writes it.
func (n *spelled) pitch(key int) notation.Pitch {
	for _, name := range n.names {
		if name.Key == key {
			return notation.PitchOf(name)
		}
	}
	return notation.PitchOf(pitch.Named{Key: key, Spelling: pitch.SpellingOf(pitch.Letter(key, false), key)})
}

// spelledNotes are the notes of a voice by their numbers.
func spelledNotes(perf *perform.Performance, voice int) map[int32]spelled {
	color, speller := perf.Piece.Voices[voice].Color, notation.NewSpeller(perf, voice)
	out := map[int32]spelled{}
	for it := range perf.Lines[voice].All() {
		if !it.Silent {
			out[int32(it.Note)] = spelled{speller.Named(it), color[it.ColorPlace].Gesture.Manner()}
		}
	}
	return out
}

// small reports whether a stroke of a gesture is written small: a grace note, and
// what follows the first stroke of a trill, a glissando, a repeated note.
func small(g piece.GestureKind, part int32) bool {
	switch g {
	case piece.Grace:
		return part == 1
	case piece.Trill, piece.Gliss, piece.Repeat:
		return part > 1
	}
	return false
}

// settle chooses the staves of the row and finds its statements.
func (r *row) settle(l *perform.Line) {
	heard := map[notation.Pitch]int{}
	for _, k := range r.strokes {
		heard[k.pitch]++
	}
	r.part.Staves = notation.StavesFor(heard)
	talea, color := -1, -1
	for it := range l.All() {
		if it.Talea != talea {
			talea = it.Talea
			r.taleae = append(r.taleae, mark{it.StartSec, len(r.taleae) + 1})
		}
		if it.Color != color {
			color = it.Color
			r.colores = append(r.colores, mark{it.StartSec, len(r.colores) + 1})
		}
	}
	top, bottom := make([]int, len(r.part.Staves)), make([]int, len(r.part.Staves))
	for i := range top {
		top[i] = 8
	}
	for p := range heard {
		i := r.part.Staff(p)
		place := r.part.Staves[i].Place(p)
		top[i], bottom[i] = max(top[i], place+1), min(bottom[i], place-1)
	}
	clef := 1.5
	if r.part.Staves[0].Octaves > 0 {
		clef = 3.2
	}
	r.above = max(clef, float64(top[0]-8)/2) + 2.4 // the number of the talea
	r.below = max(1.6, float64(-bottom[len(bottom)-1])/2) + 2.4
	if len(r.part.Staves) == 2 {
		r.gap = max(3, float64(-bottom[0])/2+float64(top[1]-8)/2+0.5)
	}
}

// spaces is the height of a row in staff spaces.
func (r *row) spaces() float64 {
	n := float64(len(r.part.Staves))
	return r.above + 4*n + r.gap*(n-1) + r.below
}
