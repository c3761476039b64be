// Package bench orders the punches of a roll as rows for a person who cranks
// paper under a die.
//
// Its input is a roll.Roll with a Profile, the bench as a data file; its output
// a Plan: rows with the turns of the crank between them and the ports to punch
// in each. Lengths are millimetres, in float64; the crank counts in whole parts
// of a turn. A punch stands on the part nearest to its place on the roll
// (nearestPart), counted from the roll's zero, so errors never add up.
package bench

import (
	"embed"
	"fmt"
	"math"
	"strconv"

	"rollwright/paper/instrument"
	"rollwright/text/shelf"
)

// Extension ends the name of a profile's file.
const Extension = ".bench"

// Profile is a bench with its crank, its punch, its rack, and how fast the
// person at it works.
type Profile struct {
	Name, Title string
	Lengths     Lengths // how lengths are written for the person
	BackUp      bool    // the face of the paper that lies on the bar is up; false: the front
	BassRight   bool    // the bass edge lies to the right of the person; false: to the left
	CheckMM     float64 // a length to measure is given so often; 0: never
	Crank       Crank
	DieMM       float64 // diameter of the punch; 0: the instrument's
	Rack        Rack
	Pace        Pace // until the journal knows better
}

// Crank advances the paper.
type Crank struct {
	TurnMM      float64 // paper a turn
	Parts       int     // marks on the dial: parts of a turn
	BeyondTurns int     // how far the paper is backed beyond a place before it comes forward to it
}

// PartMM is the smallest advance that the dial shows.
func (c Crank) PartMM() float64 { return c.TurnMM / float64(c.Parts) }

// Clicks reports whether the crank is a ratchet that only counts.
func (c Crank) Clicks() bool { return c.Parts == 1 }

// Whole is a number of turns, or of clicks, to the nearest, halves away from 0: the one
// rounding of every page and line that tells how much cranking a roll takes.
func (c Crank) Whole(turns float64) string { return strconv.FormatFloat(math.Round(turns), 'f', 0, 64) }

// Work is so much cranking in words: "15 turns of the crank", "1234 clicks".
func (c Crank) Work(turns float64) string {
	n := c.Whole(turns)
	one := n == "1"
	switch {
	case c.Clicks() && one:
		return "1 click"
	case c.Clicks():
		return n + " clicks"
	case one:
		return "1 turn of the crank"
	}
	return n + " turns of the crank"
}

// Describe is the crank in words: "2.00 mm a turn, 20 parts", "0.56 mm a click".
func (c Crank) Describe() string {
	if c.Clicks() {
		return short(c.TurnMM) + " a click"
	}
	return fmt.Sprintf("%s a turn, %d parts", short(c.TurnMM), c.Parts)
}

// Nearest is the part of the dial nearest to a place along the roll, counted
// from the roll's zero; halfway it is the later one.
func (c Crank) Nearest(mm float64) int64 { return c.nearestPart(mm) }

// Rack is the bar of notches that holds the punch across the paper. With
// SpacingMM 0 there is a notch for every port, with the port's number.
type Rack struct {
	SpacingMM  float64 // from notch to notch
	OffsetMM   float64 // from the edge of the paper where counting begins to the first notch
	First      int     // number of that notch
	FromTreble bool    // notches count from the treble edge
}

func standard(name string) *Profile {
	return &Profile{
		Name:    name,
		CheckMM: assumedCheckMM,
		Crank:   Crank{TurnMM: 2, Parts: 20, BeyondTurns: 1},
		Rack:    Rack{First: 1},
		Pace:    Pace{assumedStrokeSec, assumedRowSec, assumedSessionSec},
	}
}

//go:embed builtin/*.bench
var builtin embed.FS

// onShelf are the built-in profiles in the order of a list; the first is the one
// that is taken when none is named.
var onShelf = &shelf.Shelf{Kind: "bench", Extension: Extension, Builtin: builtin, MostBytes: 100_000, Listed: []Listed{
	{Name: "crank-2mm", Title: "crank of 2 mm a turn, dial of 20 parts"},
	{Name: "crank-eighth", Title: "crank of 1/8 inch a turn, dial of 32 parts, lengths in 64ths of an inch"},
	{Name: "ratchet-45", Title: "ratchet of 45 clicks to the inch, lengths in decimal inches"},
}}

// Listed is a built-in profile as a list shows it.
type Listed = shelf.Listed

// List are the built-in profiles.
func List() []Listed { return onShelf.List() }

// Default is the profile that is taken when none is named.
func Default() string { return onShelf.Listed[0].Name }

// Source is the text of the built-in profile of that name, to show or to copy.
func Source(name string) ([]byte, error) { return onShelf.Source(name) }

// Fit is the instrument as punched at this bench: a copy with the bench's die,
// or the instrument itself when the bench has no die of its own. The error says
// which spacing of the instrument's chains the die cannot make.
func (p *Profile) Fit(in *instrument.Instrument) (*instrument.Instrument, error) {
	d := p.DieMM
	if d == 0 || d == in.Die.DiameterMM {
		return in, nil
	}
	if d <= in.Chain.SlotSpacingMM {
		return nil, fmt.Errorf("bench: a die of %s cannot cut a slot whose punches stand %s apart, as instrument %s has it; lower its slot_spacing or leave out the die of %s",
			short(d), short(in.Chain.SlotSpacingMM), in.Name, p.Name)
	}
	if web := in.Chain.BridgeSpacingMM - d; in.Chain.Bridged && (web < in.Chain.WebMinMM || web > in.WebMaxMM()) {
		return nil, fmt.Errorf("bench: a die of %s leaves webs of %s between punches %s apart, and instrument %s wants %s to %s; change its bridge_spacing or leave out the die of %s",
			short(d), short(max(web, 0)), short(in.Chain.BridgeSpacingMM), in.Name, short(in.Chain.WebMinMM),
			short(in.WebMaxMM()), p.Name)
	}
	changed := *in
	changed.Die.DiameterMM = d
	return &changed, nil
}

func short(mm float64) string { return Millimetres.Text(mm) + " mm" }

// StartNear reports whether the beginning of the roll lies towards the person:
// the paper then comes towards them as the work goes on. It follows from which
// face is up, where the bass is, and how paper hangs on the instrument.
func (p *Profile) StartNear(in *instrument.Instrument) bool {
	bassLeft := (in.Paper.Bass == instrument.Left) != p.BackUp // seen from the face that is up, as the roll hangs
	turned := bassLeft == p.BassRight
	return turned == in.Paper.TravelsUp
}

// noiseParts is a share of a part that only arithmetic can have made.
const noiseParts = 1e-6

// nearestPart is the part of the dial nearest to a place along the roll,
// counted from the roll's zero; halfway it is the later one.
func (c Crank) nearestPart(mm float64) int64 {
	return int64(math.Floor(mm/c.TurnMM*float64(c.Parts) + 0.5 + noiseParts))
}

// MM is the paper that so many parts of the dial advance.
func (c Crank) MM(parts int64) float64 { return float64(parts) * c.TurnMM / float64(c.Parts) }

// Split is a count of parts as whole turns and parts of a turn. Counts of
// either sign are rounded down to turns, so that parts are never negative.
func (c Crank) Split(parts int64) (turns, rest int64) {
	n := int64(c.Parts)
	turns, rest = parts/n, parts%n
	if rest < 0 {
		turns, rest = turns-1, rest+n
	}
	return turns, rest
}

// Move is a stretch of cranking: forward, or back.
type Move struct {
	Back  bool
	Parts int64 // at least 0
}

// Reach says how the paper comes from one reading of the crank to another. A
// screw has backlash, so a place behind is reached by backing some turns
// beyond it, then coming forward.
func (c Crank) Reach(from, to int64) []Move {
	if to >= from {
		return []Move{{false, to - from}}
	}
	beyond := int64(c.BeyondTurns) * int64(c.Parts)
	return []Move{{true, from - to + beyond}, {false, beyond}}
}
