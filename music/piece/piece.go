// Package piece holds a piece of music as data: tunes written out into voices,
// canons, sections, pianos.
//
// Everything is exact: durations are fractions of the voice's unit
// (exact.Rat), speeds and tempos are exact.Real, times are fractions of a
// second. Names are resolved to indices and every `like`, `let` and function
// has been carried out; what the rules say about order, extent, placement and
// seconds is done by package perform.
package piece

import (
	"iter"

	"rollwright/exact"
	"rollwright/music/pitch"
	"rollwright/text/source"
)

// Piece is the whole music. A Piece read from text has been checked: indices
// are in range, every voice has material, no reference is circular.
type Piece struct {
	File     *source.File // the text it was read from; nil when built by a program
	Title    string
	Composer string
	Note     string
	Pianos   []Piano // at least one; a piece without piano blocks has one without a name
	Voices   []Voice // those that sound, in file order, a canon's voices where the canon stands
	Canons   []Canon
	Sections []Section
	Show     []Block // `show` blocks, kept as written

	// Unit and Tempo are what a unit of the piece itself stands for, and its nominal
	// tempo, in quarter notes a minute: for times that are given in units or bars,
	// and for Path. The zero Unit is 1/16.
	Unit     exact.Rat
	Tempo    exact.Real
	Bar      Bar   // in units of the piece
	Path     []Leg // bends the time of the whole piece, in units of the piece
	Loudness []LoudLeg
	Places   Places
}

// DefaultUnit is the unit of a piece that says nothing, a share of a whole note.
var DefaultUnit = exact.NewRat(1, 16)

// SecondsPerUnit is how long a unit of the piece is at its nominal tempo, which is
// in Tempo.
func (p *Piece) SecondsPerUnit() exact.Real {
	unit := p.Unit
	if unit.Sign() == 0 {
		unit = DefaultUnit
	}
	return exact.Frac(240, 1).Mul(exact.Frac(unit.Num(), unit.Den())).Quo(p.Tempo)
}

// Piano is one instrument of the piece; each gets a roll of its own.
type Piano struct {
	Name       string
	Instrument string    // built-in name, or the path of an .instrument file as written
	Hammers    string    // "felt", "metal" or "tacks"
	Tuning     string    // of its strings: a name, or the path of a table of cents as written; empty: stretched
	A4         exact.Rat // Hz; the zero Rat: 440
	RollTempo  exact.Rat // the trade's figure; the zero Rat: what the instrument says
	Places     Places
}

// Voice is one line of music with all its attributes, copied ones included.
type Voice struct {
	Name    string
	Places  Places
	Taken   Places // of the attributes that the voice takes over from another: where it says what it is like
	Piano   int    // index into Piece.Pianos
	Section int    // index into Piece.Sections; -1: outside sections
	Canon   int    // index into Piece.Canons; -1: none

	Talea       []Duration // written out, before rotation; at least one, at least one of them sounding
	Color       []Pitch    // written out, before rotation; at least one
	Mode        Mode       // the scale in which steps are counted; empty: none
	Bar         Bar        // in units of the voice, counted on its durations as performed
	Dynamics    []Dynamic  // at least one
	Hold        []Hold     // at least one
	FromLine    bool       // talea and color were written together as a line
	RotateColor int
	RotateTalea int

	Unit      exact.Rat // what the number 1 stands for, as a fraction of a whole note
	Extent    Extent
	PerColor  Change
	PerTalea  Change
	Stretch   exact.Real
	EachNote  exact.Real // the n-th item has its duration multiplied by its (n-1)-th power
	Transpose int        // semitones, its section's included
	Invert    *Axis      // mirror, applied before TransposeSteps; nil: none
	Backward  bool

	InvertSteps    *Axis // mirror within Mode, in place of Invert; nil: none
	TransposeSteps int   // steps of Mode, applied before Transpose

	Tempo exact.Real // quarter notes a minute, when Path is empty
	Path  []Leg      // tempo over units, in place of Tempo
	Speed exact.Real // divides every time of the voice
	Lasts Lasts      // when set, Speed follows from it
	Place Place

	Unknown    Unknown     // the number that is asked for; Conditions say what it has to do
	Copied     []Copied    // numbers taken over from the answers of others
	Conditions []Condition // in the order of the text; none when Place and Lasts say all there is

	Pedal Spans // sustaining pedal
	Soft  Spans // soft pedal
	Stops []Stop

	Loudness []LoudLeg // its own loudness path, from its start
	Mute     bool      // kept in the arithmetic, absent from the events
}

// Axis is what a pitch is mirrored about.
type Axis struct {
	Key     int
	Spelled pitch.Spelling
}

// Bar is how units are grouped. The zero value is: not at all.
type Bar struct {
	Units  []exact.Rat // of each bar in turn, as a cycle; positive
	Upbeat exact.Rat   // units before the first bar; 0: none
}

// Given reports whether there are bars.
func (b *Bar) Given() bool { return len(b.Units) > 0 }

// Start is where bar n begins, from 1, in units; bar 1 begins after the upbeat. It is
// false when the number does not fit.
func (b *Bar) Start(n int) (exact.Rat, bool) {
	cycle := exact.Rat{}
	ok := true
	for _, u := range b.Units {
		sum, fits := cycle.Add(u)
		cycle, ok = sum, ok && fits
	}
	turns := (n - 1) / len(b.Units)
	at, fits := cycle.Mul(exact.Int(int64(turns)))
	ok = ok && fits
	at, fits = at.Add(b.Upbeat)
	ok = ok && fits
	for _, u := range b.Units[:(n-1)%len(b.Units)] {
		at, fits = at.Add(u)
		ok = ok && fits
	}
	return at, ok
}

// Starts are the bars with where they begin, in units: an upbeat as bar 0, then from bar 1 on
// without end, as far as numbers fit.
func (b *Bar) Starts() iter.Seq2[int, exact.Rat] {
	return func(yield func(int, exact.Rat) bool) {
		if !b.Given() || b.Upbeat.Sign() > 0 && !yield(0, exact.Rat{}) {
			return
		}
		at, ok := b.Upbeat, true
		for n := 1; ok && yield(n, at); n++ {
			at, ok = at.Add(b.Units[(n-1)%len(b.Units)])
		}
	}
}

// LoudLeg is one stretch of a loudness path: a straight line over its units, or over
// its seconds.
type LoudLeg struct {
	From, To       int // levels, 1 to 127; 80 changes nothing
	HasFrom, HasTo bool
	OverUnits      exact.Rat // one of OverUnits and OverSec is positive
	OverSec        exact.Rat
}

// Places says where in the text each attribute of a block stands: the block
// itself under "", the rest under the attribute's name ("color", "meet",
// "per_color.transpose"). An attribute copied by `like`, or inherited, stands
// where it was written. For an attribute that was not written the block's
// place is given.
type Places map[string]source.Pos

// Of is the place of the named attribute, else of the block.
func (p Places) Of(name string) source.Pos {
	if at, ok := p[name]; ok {
		return at
	}
	return p[""]
}

// Duration is one item of a talea: so many units, sounding or silent.
type Duration struct {
	Units  exact.Rat // positive
	Silent bool
}

// Pitch is one member of a color: a note, a chord, or a gesture. Keys of a
// note or chord are sorted, each once.
type Pitch struct {
	Keys    []int    // 0 to 127 as written; for a gesture its strokes in order of time, or the chord it strikes
	Letters string   // the letters from A to G by which Keys are written, one for each; empty: not known
	Gesture *Gesture // nil for a note or chord; copies of a Pitch share it
	Level   int      // 1 to 127: the item's own level, C4:2!ff; 0: the dynamics decide
	Hold    *Hold    // the item's own hold, C4:2~0.3; nil: the voice's holds decide

	// Spelled are the names from which those of Keys are reckoned, where functions
	// have moved what was written; nil: Letters are the composer's own.
	Spelled []pitch.Spelling

	// Offset is the byte of the piece's text at which the item of a color or line begins that
	// was written for it, counted from 1; 0: not known, because a program made it.
	Offset int32
}

// GestureKind says how the keys of a Pitch are struck.
type GestureKind int8

// The gestures.
const (
	Plain GestureKind = iota // all keys together for the whole duration
	// Keys one after the other, filling the duration; Ratio is the length of each stroke to the one before
	Gliss
	Trill   // Keys in turn for as long as the duration, every EverySec or EveryUnits
	Repeat  // Keys together again and again, every EverySec, or as fast as the instrument can
	Cluster // Keys together; told from a chord so that strokes are numbered
	Spread  // Keys one after the other, each DelaySec later, all to the end
	Grace   // Keys[0] sounds DelaySec ahead of the others, until they begin
)

// Gesture is the manner of a Pitch. Only the fields its Kind names count.
type Gesture struct {
	Kind       GestureKind
	Ratio      exact.Real // Gliss: each stroke's length to the one before; 1 is even
	EverySec   exact.Rat  // Trill, Repeat: seconds from stroke to stroke; zero: not given
	EveryUnits exact.Rat  // Trill: units from stroke to stroke (written units, not stretched); zero: not given
	Fastest    bool       // Repeat: what the instrument can
	DelaySec   exact.Rat  // Spread, Grace
	// Trill, Grace: how many of Keys are struck together, in turn; nil: one at a time, of Grace one ahead of the rest
	Turns   []int
	Written Written // not known when a program made the gesture
}

// Manner is the gesture's Kind, Plain for nil.
func (g *Gesture) Manner() GestureKind {
	if g == nil {
		return Plain
	}
	return g.Kind
}

// AsWritten is the gesture as it stands in the text, the zero value for nil.
func (g *Gesture) AsWritten() Written {
	if g == nil {
		return Written{}
	}
	return g.Written
}

// Written is something as it stands in the text of a piece.
type Written struct {
	At    source.Pos // its first character
	Width int        // so many characters of its line, from At
	Text  string     // trill(C5 D5 14/s)
}

// Dynamic is one member of the dynamics, or a ramp that takes the place of
// Over members, from Level towards To, equal steps, the last of them To.
type Dynamic struct {
	Level int // 1 to 127
	To    int // of a ramp
	Over  int // number of notes of a ramp; 0: not a ramp
}

// HoldKind says how a Hold is measured.
type HoldKind int8

// The kinds of hold.
const (
	HoldShare  HoldKind = iota // a share of the written time
	HoldTime                   // seconds, at most to the written end
	HoldSingle                 // one punch
)

// Hold is one member of the holds: how much of the written duration sounds.
type Hold struct {
	Kind  HoldKind
	Share exact.Real // HoldShare; may exceed 1
	Sec   exact.Rat  // HoldTime; positive
}

// ExtentKind says how long a voice goes on.
type ExtentKind int8

// The kinds of extent.
const (
	Complete ExtentKind = iota // until color and talea end together
	Notes                      // Count notes
	Taleae                     // Count statements of the talea
	Colores                    // Count statements of the color
	Units                      // every item that starts before Amount units
	Seconds                    // every item that starts before Amount seconds of the voice
	Until                      // no note starts at or after the end of voice Voice
)

// Extent is how long a voice goes on.
type Extent struct {
	Kind   ExtentKind
	Count  int       // Notes, Taleae, Colores; positive
	Amount exact.Rat // Units, Seconds; positive
	Ref    Ref       // Until
	Exact  bool      // Units: the last item is cut to the letter
}

// Ref points to a voice or a canon of the piece.
type Ref struct {
	Voice int // index into Piece.Voices; -1 when Canon is meant
	Canon int // index into Piece.Canons; -1 when Voice is meant
}

// Change is what per_color or per_talea does to successive statements: in this order.
type Change struct {
	Rotate     []int   // by how many members, for each statement in turn, as a cycle
	RotateEach int     // accumulates; used when Rotate is empty
	Backward   []bool  // for each statement in turn; empty: none
	Invert     []*Axis // likewise; nil: not this one

	TransposeSteps     []int // steps of the voice's mode, for each statement in turn
	TransposeStepsEach int   // accumulates

	Transpose     []int        // semitones for each statement in turn, as a cycle
	TransposeEach int          // accumulates: the n-th statement has it n-1 times; used when Transpose is empty
	Stretch       []exact.Real // likewise
	StretchEach   exact.Real   // accumulates as a power; its zero value is 1
	Dynamics      []int        // level of the statement's notes in turn, 1 to 127, replacing the voice's dynamics
	DynamicsEach  int          // accumulates: added to the level, result held to 1..127
}

// Shape is how the tempo of a leg changes; see package tempo.
type Shape int8

// The shapes, in the order of tempo.Shape.
const (
	Geometric Shape = iota
	PerUnit
	PerSecond
)

// Leg is one stretch of a tempo path.
type Leg struct {
	From, To       exact.Real // quarter notes a minute
	HasFrom, HasTo bool       // without From: goes on from the tempo before; without To: constant
	OverUnits      exact.Rat  // one of OverUnits and OverSec is positive
	OverSec        exact.Rat
	Shape          Shape
}

// Lasts asks for a length: the voice's speed follows. For a canon it is
// the length of its longest voice.
type Lasts struct {
	Set bool
	Sec exact.Rat // when positive
	As  Ref       // else as long as this voice or canon
}

// PlaceKind says how a voice is put in time.
type PlaceKind int8

// The kinds of place.
const (
	StartAt  PlaceKind = iota // At seconds after the start of the section or piece
	After                     // when Ref has ended
	MeetWith                  // own point Mine falls on point Theirs of Ref.Voice
	MeetAt                    // own point Mine falls At seconds after the start of the section or piece
	InCanon                   // where Piece.Canons[Canon] puts it
	With                      // when Ref starts
)

// Place is where a voice stands in time.
type Place struct {
	Kind   PlaceKind
	At     exact.Rat // seconds; After and With: so much later
	Units  exact.Rat // units of the piece, besides
	Ref    Ref
	Mine   Point
	Theirs Point

	// Later is by how much the own point falls after what it meets, or a voice of a
	// canon enters after where the meeting point puts it.
	LaterSec, LaterUnits exact.Rat
}

// PointKind says how a point of a voice is named.
type PointKind int8

// The kinds of point.
const (
	AtStart   PointKind = iota // start of the first item
	AtEnd                      // end of the last written duration
	AtNote                     // onset of the N-th sounding note
	AtNoteEnd                  // written end of the N-th sounding note
	AtUnit                     // X units from the start; may lie beyond the end
	AtShare                    // the share X of the written length in units
)

// Point is an instant of a voice's own time.
type Point struct {
	Kind PointKind
	N    int       // AtNote, AtNoteEnd: from 1
	X    exact.Rat // AtUnit, AtShare
}

// Canon is several voices with one subject that meet at one point.
type Canon struct {
	Name    string
	Subject string // the tune or voice that its voices are like
	Voices  []int  // indices into Piece.Voices, in file order
	Section int    // index into Piece.Sections; -1: outside sections
	Meet    Point  // counted on each voice
	HasAt   bool
	At      exact.Rat // seconds after the start of the section or piece; without it, as early as can be
	Units   exact.Rat // units of the piece, besides
	Lasts   Lasts     // of the longest voice; speeds keep their proportion
	Cross   []Cross   // in place of Meet: its voices stand where these put them
	Places  Places
}

// Section is a part of the piece whose times count from its start.
type Section struct {
	Name     string
	HasStart bool
	Start    exact.Rat // seconds from the piece's start; without HasStart, when the section before ends
	Overlap  exact.Rat // seconds earlier than that
	Places   Places

	StartUnits       exact.Rat // units of the piece, besides Start
	GapSec, GapUnits exact.Rat // later than the end of the section before

	Like     string     // the section whose voices these are once more; empty: none
	Speed    exact.Real // divides every time inside
	Tempo    exact.Real // the nominal tempo inside, for Path
	Path     []Leg      // bends the time inside, in units of the piece
	Loudness []LoudLeg
	Bar      Bar
}

// Bends reports whether the section's time is another than the piece's: what is
// inside can then name only what is inside.
func (s *Section) Bends() bool { return len(s.Path) > 0 || s.Speed.Equal(exact.Real{}) != exact.Yes }

// Spans are stretches of a voice, in units from its start.
type Spans struct {
	Full  bool // from its start to its end
	List  []Span
	Every exact.Rat // units after which the list comes again, to the voice's end; 0: once
}

// Stop is a register of the instrument, by its name, with when it is on.
type Stop struct {
	Name  string
	Spans Spans
}

// Span is one stretch: From is included, To is not.
type Span struct {
	From, To exact.Rat
}

// Block is a piece of the text kept as written.
type Block struct {
	At   source.Pos
	Text string // from the block's first character to its closing brace
}
