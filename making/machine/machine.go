// Package machine reads a .machine file into the profile of one machine that
// cuts rolls: a laser or a punching head, with its bed, its speeds, how its
// tool is switched.
//
// Lengths are millimetres, times seconds, speeds millimetres a second; all are
// float64 and as exact as the file states them. A length in a file is a number
// of millimetres, or text with its unit ("23 1/2 in"). Built-in profiles are
// embedded .machine files and are read by the same code as the user's.
package machine

import (
	"embed"
	"math"
	"slices"

	"rollwright/draw"
	"rollwright/text/shelf"
)

// Extension ends the name of a profile's file.
const Extension = ".machine"

// Tool is what cuts.
type Tool int8

// The tools.
const (
	Laser Tool = iota
	Punch
	Knife // dragged, by a plotter
)

// Cut is how a slot is made.
type Cut int8

// The ways of making a slot.
const (
	Outlines Cut = iota // along the edge of every opening
	Strokes             // along its middle, from end to end, with a beam as wide as the slot
	Punches             // die after die
)

// Profile is one machine.
type Profile struct {
	Name, Title string
	Tool        Tool
	Cut         Cut
	Inches      bool // the file it wants is in inches (G20); false: millimetres (G21)
	AlongY      bool // the machine's Y runs along the roll and its X across it; false: X along, Y across
	Bed         Bed
	Register    Register
	Move        Move
	Head        Head
	Program     Program
	Tabs        Tabs
	Lines       Lines
	Pass        Pass
	Park        Park
}

// Bed is what the tool can reach.
type Bed struct {
	AlongMM   float64 // along the roll; 0: endless, the machine feeds the paper
	AcrossMM  float64 // across it
	MarginMM  float64 // nothing is cut nearer to the ends of the bed than this
	OverlapMM float64 // reach kept beyond the part of the roll that a bed begins, for slots that run on
	EdgeMM    float64 // where the lower edge of the paper lies, from 0 across: the fence
}

// Endless reports whether the whole roll runs through in one piece.
func (b Bed) Endless() bool { return b.AlongMM == 0 }

// Register is the pair of holes by which a bed finds its place after the one
// before.
type Register struct {
	HoleMM  float64 // diameter; a punch makes it with its own die
	InsetMM float64 // from each edge of the roll to the middle of the hole; negative: beside the roll, in wider stock
}

// Move is how the tool travels while it does not cut.
type Move struct {
	AlongMMPerSec, AcrossMMPerSec float64 // rapid speed of each axis
	AccelMMPerSec2                float64 // of both; 0: at once
	// the paper may go to and fro within so much; 0: it only advances; infinite: the whole bed
	WindowMM float64
}

// Forward reports whether rows must be cut one after the other.
func (m Move) Forward() bool { return m.WindowMM == 0 }

// Head is the tool and how it is switched.
type Head struct {
	On, Off       []string // lines of the program
	Mark          []string // of a laser: as On, with so little power that paper is not cut; nil: it marks nothing
	OnSec, OffSec float64  // dwell after each
	FeedMMPerSec  float64  // of a laser, while cutting
	KerfMM        float64  // what the beam takes away, edge to edge
	DieMM         float64  // of a punch; 0: the instrument's die
	OffsetMM      float64  // of a knife: by which its tip trails the middle of the holder
	OvercutMM     float64  // of a knife: by which a closed outline is cut beyond its beginning
	SwitchSec     float64  // what switching on and off takes together, dwells apart: for the estimate
}

// Program is what stands once at the start and the end of every program: air,
// a pump, a lamp; never the tool.
type Program struct{ Start, End []string }

// Tabs hold the offcut of a long opening, so that it cannot tip into the beam
// or lift the paper.
type Tabs struct {
	OverMM  float64 // openings longer than this have them; 0: none has
	EveryMM float64 // from tab to tab, on both long sides
	WidthMM float64 // of paper left
}

// Lines say what the lines of a drawing look like: software of lasers takes power
// and speed from the colour of a line, and much of it cuts thin lines only (common
// practice, no source).
type Lines struct {
	Cut      Line // the openings
	Mark     Line // what is drawn on the paper and must not be cut
	Register Line // the holes by which the next bed finds its place
}

// Line is the look of one kind of line.
type Line struct {
	Hue     draw.Ink
	WidthMM float64
}

// usualLines are those of a profile that does not say: assumed. The hues are the
// first, fifth, and sixth that a DXF knows by number.
var usualLines = Lines{
	Cut:      Line{draw.Hex(0xff0000), 0.1},
	Mark:     Line{draw.Hex(0x0000ff), 0.1},
	Register: Line{draw.Hex(0xff00ff), 0.1},
}

// Pass is what lies on the bed at once, and how long it takes to lay.
type Pass struct {
	Plies     int     // layers of paper cut together
	ChangeSec float64 // to lay the next bed
}

// Park is where the tool waits.
type Park struct{ AlongMM, AcrossMM float64 }

// wholeBed is the window of a machine that goes anywhere on its bed.
var wholeBed = math.Inf(1)

//go:embed builtin/*.machine
var builtin embed.FS

// onShelf are the built-in profiles in the order of a list.
var onShelf = &shelf.Shelf{Kind: "machine", Extension: Extension, Builtin: builtin, MostBytes: 100_000,
	Listed: []Listed{
		{Name: "laser", Title: "laser, flat bed 600 x 400 mm"},
		{Name: "punch-table", Title: "punching head on a table 900 x 400 mm"},
		{Name: "punch-feed", Title: "punching head, paper fed by a roller"},
		{Name: "knife", Title: "plotter with a dragged knife, flat bed 600 x 400 mm"},
	}}

// Listed is a built-in profile as a list shows it.
type Listed = shelf.Listed

// List are the built-in profiles.
func List() []Listed { return onShelf.List() }

// Names are the names of the built-in profiles.
func Names() []string { return onShelf.Names() }

// Source is the text of the built-in profile of that name, to show or to copy.
func Source(name string) ([]byte, error) { return onShelf.Source(name) }

// Cautions are what a person must know before the machine is switched on, a
// sentence each, in letters and signs that any control leaves alone. They stand at the head of every file for it.
func (p *Profile) Cautions() []string {
	if p.Tool == Laser {
		return slices.Concat(laserCautions, allCautions)
	}
	if p.Tool == Knife {
		return slices.Concat(knifeCautions, allCautions)
	}
	return slices.Concat(punchCautions, allCautions)
}

// Cautions are those of a file that any machine may be given to cut, a sentence
// each, in ASCII.
func Cautions() []string {
	return slices.Concat(laserCautions, punchCautions, knifeCautions, allCautions)
}

var laserCautions = []string{
	"LASER: never leave it unattended while it runs: paper catches fire.",
	"Keep a fire extinguisher within reach, the bed free of scraps, the lid shut.",
	"Run the fume extraction: smoke of paper, and worse of waxed or coated paper, harms.",
	"Wear eye protection for the wavelength of this laser wherever the beam is not enclosed.",
}

var punchCautions = []string{
	"PUNCH: keep hands, hair, sleeves away from head and feed: they pinch and pierce.",
	"Wear eye protection: dies and chads fly. Cut the power before clearing a jam.",
}

var knifeCautions = []string{
	"KNIFE: keep hands, hair, sleeves away: it starts without a sign.",
	"Blades cut: change them with the power off, cap them, set only so much blade as the paper needs.",
}

var allCautions = []string{
	"Motors and suction run on mains: leave wiring to licensed practice and local codes.",
	"The manual of the machine comes first. Try on scrap before good paper.",
}
