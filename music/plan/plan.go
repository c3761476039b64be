// Package plan reckons how a performed piece is built: it takes a
// [perform.Performance] and gives a [Plan], which voices complete which
// cycles, where pairs of voices meet and nearly meet, how far one lags behind
// the other, how long everything lasts and how dense it is; as values, as text
// for people ([WriteText]) and as JSON ([WriteJSON]).
//
// Durations of a talea are in units of their voice, times in seconds from the
// start of the piece. Notes are counted from 1 and are the sounding items of a
// voice; an onset is the instant at which one begins.
//
// What is exact: cycles and counts always; meetings of two voices that each
// keep one tempo and whose durations are fractions of one unit. There an onset
// is start + n*step with an exact start and step, and two such lines either
// share a lattice of instants (steps commensurable), or can coincide at most
// once (steps incommensurable: distinct reduced roots are linearly independent
// over the rationals, A. S. Besicovitch, J. London Math. Soc. 15 (1940) 3-6).
// Everything else, tempo paths above all, is searched on onsets rounded to
// 1 ns and then said to be "within 1 ns, not proved". Where mathematics has no
// answer (is e/pi rational?) the plan says so.
//
// Cost: n log n in the number of notes, times the number of voices that each
// is compared with.
package plan

// Plan is all that package plan finds out about one piece.
type Plan struct {
	Title       string  `json:"title"`
	Length      Seconds `json:"length_s"` // from 0 to the last written end
	Notes       int     `json:"notes"`
	Shift       Shift   `json:"shift"`
	Voices      []Voice `json:"voices"` // in file order
	Canons      []Canon `json:"canons"`
	Pairs       []Pair  `json:"pairs"`        // every two voices, in file order
	NotCompared string  `json:"not_compared"` // why pairs are missing; empty when none is
	Density     Density `json:"density"`

	Sections []Section `json:"sections,omitempty"` // in file order
	Bars     *Bars     `json:"bars,omitempty"`     // of the piece, which times name; nil: none
}

// Section is when a part of the piece begins and ends.
type Section struct {
	Name   string   `json:"name"`
	Like   string   `json:"like,omitempty"` // the section that it is once more
	Voices []string `json:"voices"`
	Start  Number   `json:"start_s"`
	End    Seconds  `json:"end_s"` // the last written end in it

	// its start as the file counts it, where a tempo path bends the time of the piece
	Nominal *Number `json:"nominal_s,omitempty"`
}

// Shift is the move of the whole piece that lets its earliest note begin at 0.
type Shift struct {
	By    Number `json:"by_s"`  // seconds later than written; 0: not moved
	Voice string `json:"voice"` // the voice that would have begun before 0
}

// Canon is where the voices of a canon meet.
type Canon struct {
	Name   string   `json:"name"`
	Voices []string `json:"voices"`
	Meet   string   `json:"meet"` // the point in words: "note 30", "2/3 of the length"
	At     Number   `json:"at_s"` // the instant at which it falls

	// Crossings are what a canon has in place of a meeting point; Meet is empty
	// then, and At 0.
	Crossings []Crossing `json:"crossings,omitempty"`

	Nominal *Number `json:"nominal_s,omitempty"` // the same as the file counts it, where a tempo path bends the time

	// Later are voices that come to the point at another time than that, as the piece says,
	// in words: "mid 1/2 s later".
	Later []string `json:"later,omitempty"`
}

// Voice is one line of music: its cycles, counts and length.
type Voice struct {
	Name           string      `json:"name"`
	Canon          string      `json:"canon"` // empty: in none
	Piano          string      `json:"piano"` // empty: the piece has one without a name
	Items          int         `json:"items"` // sounding and silent
	Notes          int         `json:"notes"`
	Units          Number      `json:"units"`            // written length
	Seconds        Number      `json:"seconds"`          // written length
	Speed          Number      `json:"speed"`            // by which the tempo is multiplied
	SecondsPerUnit *Number     `json:"seconds_per_unit"` // nil when the tempo changes
	TempoFirst     float64     `json:"tempo_first"`      // quarter notes a minute at the start, speed included
	TempoLast      float64     `json:"tempo_last"`       // and at the written end
	First          Seconds     `json:"first_s"`          // onset of the first note
	Last           Seconds     `json:"last_s"`           // onset of the last note
	End            Seconds     `json:"end_s"`            // written end of the last item
	Color          Series      `json:"color"`
	Talea          Series      `json:"talea"`
	Complete       Complete    `json:"complete"`
	Table          []Pairing   `json:"table"`
	TableNote      string      `json:"table_note"` // how to read the pitches; may be empty
	Asked          string      `json:"asked"`      // the extent as written, in words; empty: complete
	Unreached      []Unreached `json:"unreached"`  // legs of its tempo path that the voice never comes to
	Found          *Found      `json:"found,omitempty"`
	Bars           *Bars       `json:"bars,omitempty"`      // nil: it has none
	Questions      []string    `json:"questions,omitempty"` // what was perhaps not meant

	durations []string // of the talea's members, in order
	start     float64  // of the first item
	fromLine  bool     // pitches and durations were written together
}

// Unreached is a leg of a tempo path that begins when its voice has ended.
type Unreached struct {
	Leg  int     `json:"leg"` // from 1
	Of   int     `json:"of"`
	Unit float64 `json:"unit"` // where it would begin, right to a millionth
}

// Series is one of the two cycles of a voice and how often it is stated.
type Series struct {
	Members    int     `json:"members"`    // a talea's silences included
	Sounding   int     `json:"sounding"`   // members that sound
	Units      *Number `json:"units"`      // length of one plain statement of a talea; nil for a color
	Statements Number  `json:"statements"` // times through, with the fraction of the last one
}

// Complete is what the voice would be if it went on until color and talea end
// together, and whether that is what it does.
type Complete struct {
	Taleae  int    `json:"taleae"`
	Colores int    `json:"colores"`
	Notes   int    `json:"notes"`
	Items   int    `json:"items"`
	Units   Number `json:"units"`   // 0 and empty when statements change their durations
	Seconds Number `json:"seconds"` // likewise, or when the tempo changes
	Is      bool   `json:"is"`      // the voice ends there
	Times   Number `json:"times"`   // how many such cycles the voice plays: notes / complete notes
}

// Pairing is one member of the color with the durations it is given.
type Pairing struct {
	Place int    `json:"place"` // in the color, from 1
	Pitch string `json:"pitch"`
	Gets  []Get  `json:"gets"` // in order of talea place; only those that occur

	inTurn []int32 // talea places of its first notes, from 0
}

// Get is how often a pitch fell on one member of the talea.
type Get struct {
	Place int    `json:"place"` // in the talea, from 1, silences counted
	Units string `json:"units"` // its written duration
	Times int    `json:"times"`
}

// Pair is what is between two voices, A before B in file order.
type Pair struct {
	A             string   `json:"a"`
	B             string   `json:"b"`
	Canon         string   `json:"canon"`         // of both; empty: not in one canon
	Ratio         *Number  `json:"ratio"`         // units that B plays while A plays one; nil when a tempo changes
	Convergents   []string `json:"convergents"`   // best fractions for the ratio, from its continued fraction
	Commensurable string   `json:"commensurable"` // "yes", "no", "not known", "found", or "tempo changes"
	Proof         string   `json:"proof"`         // of Meetings: Exact, Within or Mixed
	Meetings      Meetings `json:"meetings"`
	Reason        string   `json:"reason"`  // a sentence
	Nearest       string   `json:"nearest"` // at a meeting point at which no notes meet: which are nearest; else empty
	// what would make that meeting point sound, as a piece file writes it; else empty
	Sound string `json:"sound"`
	// of voices that never meet: when they could have; nil: never, not once only, or not known
	Chance       *Chance     `json:"chance"`
	Next         Next        `json:"next"`
	Together     *Together   `json:"together"` // nil when never, or not known
	NearMisses   []Miss      `json:"near_misses"`
	ClosestTimes int         `json:"closest_times"` // how many near misses are as close as the first; 0 when not proved
	Lag          *Lag        `json:"lag"`           // of two voices of one canon
	EqualSpeeds  []EqualTime `json:"equal_speeds"`  // when a tempo changes

	// SamePlaces are when both stand at one place of a tune that both play; nil: they play
	// different ones, or never do.
	SamePlaces []SamePlace `json:"same_places,omitempty"`

	// Rest is how far apart the closest notes are that do not meet, where that is so far that
	// it is rhythm and no near miss; nil where there are near misses, or nothing else.
	Rest *Number `json:"closest_s,omitempty"`

	// Bent is that a tempo path of the piece or of a section bends the time of both in the
	// same way: what is proved is proved in nominal time, and holds as it is heard.
	Bent bool `json:"bent,omitempty"`
}

// Chance is the only instant at which two voices whose speeds have no common
// measure could meet, and which of them begins a note there: not both.
type Chance struct {
	At     Seconds `json:"at_s"`
	Within bool    `json:"within"` // both play then
	NoteA  bool    `json:"note_a"`
	NoteB  bool    `json:"note_b"`
}

// The values of Pair.Proof.
const (
	Exact  = "exact"
	Within = "within 1 ns, not proved"
	Mixed  = "some exact, the others within 1 ns, not proved"
)

// Meetings are the instants at which a note of each voice begins.
type Meetings struct {
	Count int       `json:"count"`
	First *Meeting  `json:"first"`
	Last  *Meeting  `json:"last"`
	List  []Meeting `json:"list"` // the first of them, at most Options.List
}

// Meeting is one instant at which a note of A and a note of B begin.
type Meeting struct {
	At    Number `json:"at_s"`
	NoteA int64  `json:"note_a"`
	NoteB int64  `json:"note_b"`

	Nominal *Number `json:"nominal_s,omitempty"` // the instant as the file counts it, where a tempo path bends the time
}

// Next is the first meeting at or after the end of the piece, if both taleae
// went on repeating.
type Next struct {
	Answer string   `json:"answer"` // "at", "never", "not known", "not computed"
	At     *Meeting `json:"at"`
	Reason string   `json:"reason"`
}

// The values of Next.Answer.
const (
	NextAt          = "at"
	NextNever       = "never"
	NextNotKnown    = "not known"
	NextNotComputed = "not computed"
)

// Together is how long two voices that begin together would go on until both
// have completed their cycles of color and talea at the same instant.
type Together struct {
	Seconds Number `json:"seconds"`
	UnitsA  Number `json:"units_a"`
	CyclesA string `json:"cycles_a"` // complete cycles of A
	CyclesB string `json:"cycles_b"`
}

// Miss is a note of A and a note of B that begin close to each other.
type Miss struct {
	At       Seconds `json:"at_s"` // the earlier of the two
	NoteA    int64   `json:"note_a"`
	NoteB    int64   `json:"note_b"`
	Distance Number  `json:"distance_s"` // positive
	Earlier  string  `json:"earlier"`    // the voice whose note comes first
}

// Lag is how far apart two voices of a canon are at the same place of the
// music.
type Lag struct {
	Of    string   `json:"of"`    // what Place counts: "talea", "color" or "note"
	Every int      `json:"every"` // 1: each statement; n: every n-th, because there are too many
	Rows  []LagRow `json:"rows"`
}

// LagRow is the lag at one place: the start of a statement, the canon's
// meeting point, or the end.
type LagRow struct {
	Place  string  `json:"place"`     // "1", "2", ...; "meet"; "end"
	A      Seconds `json:"a_s"`       // when A is there
	B      Seconds `json:"b_s"`       // when B is there
	Lag    Number  `json:"lag_s"`     // not negative
	Units  Number  `json:"lag_units"` // the same in units of the voice that is behind, at its speed there
	Behind string  `json:"behind"`    // the voice that is later; empty: neither
}

// EqualTime is an instant, or a stretch of time, at which two voices play as
// many units a second; right to a millionth of a second.
type EqualTime struct {
	From  Seconds `json:"from_s"`
	To    Seconds `json:"to_s"` // equal to From for an instant
	UnitA float64 `json:"unit_a"`
	UnitB float64 `json:"unit_b"` // where each voice is at From, in units from its start
	Jump  bool    `json:"jump"`   // the speeds pass each other there without being equal
}

// Density is how many notes begin in each stretch of the piece, all voices
// together.
type Density struct {
	Bin      Seconds `json:"bin_s"` // length of a stretch; they begin at 0
	Counts   []int   `json:"counts"`
	PeakBin  int     `json:"peak_bin"`       // the fullest, from 0
	PeakRate float64 `json:"peak_rate"`      // notes a second in it
	Mean     float64 `json:"mean_rate"`      // notes a second over the whole piece
	Busiest  int     `json:"busiest_second"` // most notes that begin within any one second
	From     Seconds `json:"busiest_from_s"` // when that second begins
}

// Options bound the work and the lists.
type Options struct {
	List      int // meetings listed for a pair; 0: 100
	Near      int // near misses for a pair; 0: 5
	LagRows   int // rows of a lag; 0: 500
	Steps     int // comparisons of notes in all pairs together, cycles counted fourteenfold; 0: 400 million
	MaxVoices int // voices that are compared with each other; 0: 100
}

func (o Options) withDefaults() Options {
	set := func(value *int, otherwise int) {
		if *value <= 0 {
			*value = otherwise
		}
	}
	set(&o.List, 100)
	set(&o.Near, 5)
	set(&o.LagRows, 500)
	set(&o.Steps, 400_000_000)
	set(&o.MaxVoices, 100)
	return o
}
