// Package instrument reads an .instrument file into the tracker bar, paper,
// punch, action, transport of one player piano.
//
// Lengths are millimetres and times seconds; both are float64 and as exact as
// the file states them, but for the port positions, which are computed from
// exact fractions of an inch and rounded once. Built-in instruments are
// embedded .instrument files and are read by the same code as the user's.
package instrument

import (
	"fmt"

	"rollwright/music/pitch"
	"rollwright/text/source"
)

// Instrument is one player piano with its paper and its punch.
type Instrument struct {
	Name      string // as a piece file names it
	Title     string
	Plays     string // what sounds: "piano", or what else
	File      *source.File
	Paper     Paper
	Bar       Bar
	Die       Die
	StepMM    float64 // smallest advance of the perforator; 0 is continuous
	Chain     Chain
	Action    Action
	Transport Transport
	Levels    Levels
}

// Side is an edge of the paper as the player sees it.
type Side int8

// The two edges.
const (
	Left Side = iota
	Right
)

// Paper is the stock and what it can bear.
type Paper struct {
	WidthMM      float64
	LeaderMM     float64 // before the row of time 0
	TrailerMM    float64 // after the last hole
	EdgeMM       float64 // no hole but a control port's comes nearer to an edge than this
	BridgeMM     float64 // shortest paper between two strokes of one port by the standard; below it a risk
	SlotMM       float64 // shortest slot by the standard; below it a risk; 0: none
	SlotDieMM    float64 // SlotMM holds for dies up to this diameter; 0: for any
	HoleMM       float64 // smallest die by the standard; below it a risk; 0: none
	OpenSlotMM   float64 // a slot without bridge longer than this is a risk
	RowShare     float64 // a larger share of a row, or of a line from edge to edge, cut away is a risk; 0 to 1
	LengthNoteMM float64 // longer than this is good to know
	LengthRiskMM float64 // longer than this may not go on the spool
	TravelsUp    bool    // paper moves up past the bar; false: down
	Bass         Side    // where the bass edge is, seen from the player
}

// LineMM is how much paper a line from edge to edge should keep; less is a risk. It
// is 0 where the instrument does not say.
func (p *Paper) LineMM() float64 {
	if p.RowShare <= 0 {
		return 0
	}
	return (1 - p.RowShare) * p.WidthMM
}

// Role says what an open port does.
type Role int8

// The roles of ports. Level0 and those after it are the binary digits of
// stepped levels, lowest first; which half of the compass they serve is the
// port's Half.
const (
	Note Role = iota
	Sustain
	Soft
	ThemeBass
	ThemeTreble
	Level
	Register   // a stop: see Port.Stop and Port.Mode
	Percussion // struck as a note is, without strings
	Rewind     // turns the transport back
	Play       // lets it run forward
	ShutOff    // ends playing
)

// Mode says how a register's port works.
type Mode int8

// The modes of registers.
const (
	Held Mode = iota // on for as long as the port is open
	On               // a stroke switches it on
	Off              // and one on this port off
)

// Half is a half of the compass.
type Half int8

// The halves of the compass.
const (
	BothHalves Half = iota
	Bass
	Treble
)

// Port is one opening of the tracker bar. Ports are numbered from the bass
// edge, from 1, control ports included: number is index plus one.
type Port struct {
	AcrossMM float64 // from the bass edge of the paper to the centre of the hole
	Role     Role
	Key      int // of a port that notes strike: 0 to 127, 60 is C4; several ports may have one key
	Half     Half
	Weight   int    // of a Level port: 1, 2, 4, ...
	Stop     string // of a Register port: the name of the stop
	Mode     Mode   // of a Register port
}

// Struck reports whether notes of the piece open the port: strings or percussion.
func (p Port) Struck() bool { return p.Role == Note || p.Role == Percussion }

// Name is what the port is called: its pitch, or its work.
func (p Port) Name() string {
	half := [...]string{BothHalves: "", Bass: " bass", Treble: " treble"}[p.Half]
	switch p.Role {
	case Note:
		return pitch.Name(p.Key)
	case Sustain:
		return "sustain"
	case Soft:
		return "soft" + half
	case ThemeBass:
		return "theme bass"
	case ThemeTreble:
		return "theme treble"
	case Register:
		return p.Stop + [...]string{Held: "", On: " on", Off: " off"}[p.Mode]
	case Percussion:
		return "percussion " + pitch.Name(p.Key)
	case Rewind:
		return "rewind"
	case Play:
		return "play"
	case ShutOff:
		return "shut off"
	}
	return fmt.Sprintf("level %d%s", p.Weight, half)
}

// Bar is the tracker bar.
type Bar struct {
	Ports     []Port // ordered by AcrossMM
	HeightMM  float64
	WidthMM   float64 // of an opening; 0: not known
	OpenShare float64 // f: the port counts as open while at least this share of its height is uncovered
	SplitKey  int     // the lowest key of the treble half
	Reading   Reading
}

// Reading is how the bar knows that a hole has come.
type Reading int8

// The ways of reading.
const (
	Suction Reading = iota
	Pressure
	Pins
)

// Port is the index in Ports of the note port that sounds key, of several the first.
func (b *Bar) Port(key int) (int, bool) {
	for i, p := range b.Ports {
		if p.Role == Note && p.Key == key {
			return i, true
		}
	}
	return 0, false
}

// Half is the half of the compass that key lies in.
func (b *Bar) Half(key int) Half {
	if key < b.SplitKey {
		return Bass
	}
	return Treble
}

// Die is the punch.
type Die struct {
	DiameterMM float64
}

// Chain says how the punches of a slot follow each other.
type Chain struct {
	Bridged         bool
	SlotSpacingMM   float64 // between centres in an open slot
	BridgeSpacingMM float64 // between centres where thin webs of paper stay
	WebMinMM        float64 // the thinnest web that holds
	OpenFirstMM     float64 // open length at the start of every slot, from its leading edge
}

// Action is what valve and pneumatic can do.
type Action struct {
	ShortestSec   float64 // the shortest time a port must be open to sound
	GapPaperMM    float64 // paper between two strokes on one port
	GapSec        float64 // time between them
	DelaySec      float64 // from the port's opening to the sound
	NotesAtOnce   int     // more at one instant is a risk
	NotesASecond  float64 // more in any second is a risk; 0: not known
	StepTolerance float64 // seconds: a larger step error of an event is a finding
}

// Transport is how the paper moves over the bar.
type Transport struct {
	Spool       bool
	Crank       bool    // a person turns it, so its speed is what they make it
	RollTempo   float64 // the trade's figure: ten times feet per minute, at time 0
	Lever       float64 // what the tempo lever says when the paper runs so; 0: the same
	Slowest     float64 // the lever goes no lower than this; 0: not known
	Fastest     float64 // and no higher; 0: not known
	RadiusMM    float64 // of a spool: core and leader, at time 0
	ThicknessMM float64 // of a spool: growth of the radius a turn

	// SlowingPerMM is the share of its turning that the motor loses with every
	// millimetre of paper it has wound, from time 0 on: 0 to 2e-5.
	SlowingPerMM float64
}

// Levels is how loudness is written on the roll.
type Levels struct {
	Kind           LevelKind
	AccentLevel    int     // Accents: the level an accented note sounds at
	PlainLevel     int     // the level of everything else
	AccentLeadSec  float64 // the theme port opens so much before the leading edge
	AccentCloseSec float64 // and closes so much after it
	AccentShiftSec float64 // the accompaniment is moved later by this; 0: not at all
	Steps          []int   // Steps: level for each binary number, from 0
}

// LevelKind is the way of writing loudness.
type LevelKind int8

// The ways of writing loudness.
const (
	NoLevels LevelKind = iota
	Accents
	Steps
)
