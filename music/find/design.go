package find

import "rollwright/exact"

// Note is one note of the table.
type Note struct {
	Key      int     // 0 to 127; 60 is C4
	StartSec float64 // not negative
	EndSec   float64 // not before StartSec
	Voice    string  // empty: nobody knows
	Number   int     // of the note in its voice, from 1, which the tones of a chord share; 0: not known
	Level    int     // 1 to 127; 0: not known
}

// Design is what was found. Its zero parts are nil, never invented.
type Design struct {
	Notes       []Note  // as they were given, by start, voice, key
	Of          []int   // for each note the index of its voice; -1: nobody knows
	Explained   []bool  // for each note whether the series of its voice or a canon predicts its time and pitch
	Voices      []Voice // in order of their first note
	Canons      []Canon // each pair of voices once
	Count       int     // notes, a chord counted once
	Unexplained int     // notes that nothing predicts, counted likewise
	Labelled    bool    // the table named the voices
	NoiseSec    float64 // how far onsets stray from what was found: standard deviation

	chords *shapes
}

// Voice is one line and what its notes are made of.
type Voice struct {
	Name     string
	Notes    int // a chord counted once
	StartSec float64
	EndSec   float64
	UnitSec  float64 // of the number 1 in the talea, at the first note; 0 without a talea
	Tempo    Tempo
	Talea    *Talea
	Color    *Color

	steps  []step // its notes by onset
	clock  *clock // where the talea puts its notes; nil without a talea
	rhythm *rhythm
	melody *melody
}

// Shape is how a tempo moves.
type Shape string

// The shapes; the last three are those of a tempo path.
const (
	Constant  Shape = "constant"
	Geometric Shape = "geometric"
	PerUnit   Shape = "per-unit"
	PerSecond Shape = "per-second"
)

// Tempo is in quarter notes a minute where a unit is a sixteenth: 15 / UnitSec.
type Tempo struct {
	Shape    Shape   // empty: no talea, so nothing to tell a tempo from
	From, To float64 // at the first note, and at the end of the last one
}

// Talea is a series of durations that comes back.
type Talea struct {
	Durations  []exact.Rat // onset to onset, in units, one statement from the voice's first note
	Statements float64     // how often it is stated, begun ones included as a fraction
	Stretch    exact.Rat   // from each statement to the next; 1: none
	Explained  float64     // share of the voice's notes that it puts in time
	Chance     float64     // how often chance would do as well; see Chance
}

// Color is a series of pitches that comes back.
type Color struct {
	Pitches    [][]int // keys of each member from the lowest, one statement from the voice's first note
	Statements float64
	Transpose  int // semitones from each statement to the next
	Explained  float64
	Chance     float64
}

// Canon is one line in two voices. The leader sounds first.
type Canon struct {
	Leader, Follower int     // indices of voices
	Speed            float64 // units of the follower while the leader plays one
	Low, High        float64 // bounds of Speed, 99.7 %
	Near             []exact.Real
	Transpose        int // key of the follower's first note of the line less the leader's
	Inverted         bool
	Backward         bool
	Changes          bool    // the speed is that of the meeting point only
	Notes            int     // of the shorter voice that take part
	Explained        float64 // pairs that agree over the notes of the shorter voice
	Chance           float64
	MeetSec          float64 // where Meets
	Meets            bool    // false at equal speeds and backward

	pairs [][2]int // steps of leader and follower that are one note of the line
}
