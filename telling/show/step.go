package show

import (
	"cmp"
	"slices"

	"rollwright/music/event"
	"rollwright/telling/figure"
)

// Hear is how a step sounds.
type Hear int8

// The ways of hearing. Rhythm, Knock and Melody are of one voice.
const (
	Score   Hear = iota // as written
	Punched             // what the punched roll would play
	Rhythm              // the durations alone, on one key
	Knock               // the durations alone, without strings
	Melody              // the pitches alone, in equal notes
	Nothing
	Pulses // of the two voices of an interval, getting faster
	Claps  // of the two halves of the hall
)

// asked are the ways of hearing that a show block may ask for: those of the piece.
const asked = Pulses

var hearNames = [...]string{"score", "roll", "rhythm", "knock", "melody", "nothing", "pulses", "claps"}

// dull reports whether only blows are heard, without strings.
func (h Hear) dull() bool { return h == Knock || h == Pulses || h == Claps }

func (h Hear) String() string { return hearNames[h] }

// Kind is what a step is about.
type Kind int8

// The kinds of step.
const (
	Title Kind = iota
	RhythmAlone
	MelodyAlone
	Idea     // of something else that the piece does
	Together // of one voice: color and talea until both end together
	Against  // a line against itself at another speed
	Voice    // one more voice
	All
	Meeting
	Text     // a page of words
	Own      // a step of the piece's own
	Interval // of two tempos
	Hall     // the audience claps

	whatIfKind // of the page alone: what the piece would be
)

var kindNames = [...]string{"title", "rhythm", "melody", "idea", "together", "against", "voice", "all", "meeting",
	"text",
	"own", "interval", "hall", "whatif"}

func (k Kind) String() string { return kindNames[k] }

// Step is one stop of a lecture.
type Step struct {
	Number int    // from 1
	Name   string // what the show block calls it: "rhythm", "voice low", "meeting 2", the name of a page
	Kind   Kind

	Title string
	Text  []string // paragraphs for the audience; terms are explained where the lecture uses them first
	Say   []string // paragraphs for the speaker

	Hear           Hear
	Voices         []int   // that sound, as indices into piece.Piece.Voices, in file order
	FromSec, ToSec float64 // the stretch of the piece; no note begins at or after ToSec
	Rate           float64 // of playing
	Auto           bool    // sounds as soon as it is shown
	Besides        bool    // is in the list, to be jumped to; the talk does not go through it by itself

	// of a meeting: which notes fall together; none where voices of a canon are at the same place between notes
	Meets  []Met
	Place  []int   // of a meeting: voices of canons that are at the same place of their music
	MeetAt float64 // and when

	Figure   *figure.Figure // nil: none
	Notation *figure.Figure // what a musician reads before the step sounds; nil: none

	lead, other int    // voices that it explains; -1: none
	wanted      string // kind of figure that the show block asks for
	of          int    // number of a meeting among those of its sort, from 1
	canons      []int  // of a meeting with Place: those at their meeting point
	cycle       cycle  // of Together
	idea        *foundIdea
	rarest      encounter
	fresh       int     // of a meeting: how many series begin again
	pulses      *pulses // of Interval
	claps       *claps  // of Hall
	soundsAs    string  // of Interval: what its tones are heard as
	special     bool    // of a meeting: its voices hardly ever meet, or it is a canon's
}

// encounter is two voices, and how often they strike together in the piece.
type encounter struct{ a, b, count int }

// Met is a note that meets others.
type Met struct{ Voice, Note int }

// apart reports whether the times of the step are its own, and no stretch of the piece.
func (s *Step) apart() bool { return s.pulses != nil || s.claps != nil }

// Events are the notes of a step that has time of its own, in order of start; nil for a
// stretch of the piece.
func (s *Step) Events() []event.Event {
	var events []event.Event
	switch {
	case s.pulses != nil:
		events = s.pulses.events()
	case s.claps != nil:
		events = s.claps.events()
	}
	slices.SortStableFunc(events, byStart)
	return events
}

func byStart(x, y event.Event) int { return cmp.Compare(x.StartSec, y.StartSec) }

// Seconds is how long the step sounds, at its rate; 0 for a silent one.
func (s *Step) Seconds() float64 {
	if s.Hear == Nothing {
		return 0
	}
	return (s.ToSec - s.FromSec) / s.Rate
}

// heard reports whether the voice sounds in the step.
func (s *Step) heard(voice int) bool {
	for _, v := range s.Voices {
		if v == voice {
			return true
		}
	}
	return false
}
