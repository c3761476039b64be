// Package sheet turns a roll into drawings: tiles for a printer, one long
// page, a picture of the paper.
//
// Drawings are 1:1 in millimetres. Every one shows the front of the paper, the
// face that the player sees, unless the back is asked for, and says so. Tiles
// stand as the roll hangs: the start at the bottom and the bass at the left,
// unless the instrument's paper travels up or its bass is at the right. Long
// drawings and pictures lie: the start at the left, the bass at the top; there
// x is along and y is across the paper, in the roll's own millimetres. Places
// are the roll's, exact to float64; the only change is the scale that Options
// ask for.
package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strings"

	"rollwright/draw"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/tear"
)

// Holes says what is drawn for a slot.
type Holes int8

// The ways of drawing holes.
const (
	AsCut     Holes = iota // the openings as they come out: punches that overlap are one opening, bridges stay
	AsSlots                // one opening from the first punch to the last, without bridges
	AsPunches              // every stroke of the die on its own
)

// Options say what is drawn and how. The zero value is good.
type Options struct {
	Title    string
	Composer string
	Holes    Holes
	Back     bool // the face that lies on the bar, as for tracing from behind; every sheet says so
	Names    bool // the ports' names

	// What a printer is told because its 100 mm are not 100 mm: places along
	// and across are multiplied by it, holes keep their size. 0 is 1; 0.9 to
	// 1.1.
	ScaleAlong, ScaleAcross float64

	Paper     Paper   // of tiles
	MarginMM  float64 // of tiles: what the printer cannot reach at each edge; 0: 5
	OverlapMM float64 // of tiles, along the roll; 0: 10

	Leader bool // of long drawings: all of leader and trailer

	Weak []tear.Line // lines along which the paper is weak, drawn in a layer of their own
	Cues []Cue       // lines across the margins; a drawing that would begin after the first begins before it
}

// Cue is a place along the roll that players watch for.
type Cue struct {
	AlongMM float64
	Name    string
}

// Paper is a sheet of paper for the printer, lying.
type Paper int8

// The sheets.
const (
	A4 Paper = iota
	Letter
)

// size is width and height in millimetres (ISO 216; ANSI/ASME Y14.1, 11 x 8.5
// inches).
func (p Paper) size() (w, h float64) {
	if p == Letter {
		return 279.4, 215.9
	}
	return 297, 210
}

func (p Paper) String() string {
	if p == Letter {
		return "Letter"
	}
	return "A4"
}

// Layers of every drawing of a roll.
const (
	HolesLayer = "holes"
	EdgesLayer = "edges"
	MarksLayer = "marks"
)

// job is a roll with its options checked and what both kinds of sheet need.
type job struct {
	r       *roll.Roll
	o       Options
	in      *instrument.Instrument
	face    face
	die     float64
	first   float64    // leading edge of the first hole, 0 when there is none
	last    float64    // trailing edge of the last hole
	openers [][]opener // by port, in order
}

// opener is one opening between the centres of its ends.
type opener struct{ from, to float64 }

func newJob(r *roll.Roll, o *Options) (*job, error) {
	if r == nil || r.Instrument == nil || len(r.Instrument.Bar.Ports) == 0 {
		return nil, errors.New("sheet: a roll without an instrument")
	}
	if o == nil {
		o = &Options{}
	}
	j := &job{r: r, o: *o, in: r.Instrument, die: r.Instrument.Die.DiameterMM}
	for _, s := range []struct {
		name  string
		value *float64
	}{{"along", &j.o.ScaleAlong}, {"across", &j.o.ScaleAcross}} {
		*s.value = cmp.Or(*s.value, 1)
		if !(*s.value >= 0.9 && *s.value <= 1.1) {
			return nil, fmt.Errorf("sheet: scale %s is %g, want 0.9 to 1.1", s.name, *s.value)
		}
	}
	j.o.MarginMM = cmp.Or(j.o.MarginMM, 5)
	j.o.OverlapMM = cmp.Or(j.o.OverlapMM, 10)
	if !(j.o.MarginMM >= 0 && j.o.MarginMM <= 20) {
		return nil, fmt.Errorf("sheet: margin is %g mm, want 0 to 20", j.o.MarginMM)
	}
	if !(j.o.OverlapMM >= 6 && j.o.OverlapMM <= 50) {
		return nil, fmt.Errorf("sheet: overlap is %g mm, want 6 to 50", j.o.OverlapMM)
	}
	j.face = newFace(j.in, j.o.Back)
	return j, j.collect()
}

// collect works out every opening.
func (j *job) collect() error {
	j.openers = make([][]opener, len(j.in.Bar.Ports))
	for i := range j.r.Slots {
		s := &j.r.Slots[i]
		if s.Port < 0 || int(s.Port) >= len(j.openers) {
			return fmt.Errorf("sheet: slot %d is on port %d of %d", i+1, s.Port+1, len(j.openers))
		}
		if !(math.Abs(s.FirstMM) < draw.Limit/2 && math.Abs(s.LastMM) < draw.Limit/2) {
			return fmt.Errorf("sheet: slot %d lies at %g mm, beyond %g", i+1, s.LastMM, draw.Limit/2)
		}
		if i == 0 || s.LeadMM < j.first {
			j.first = s.LeadMM
		}
		j.last = max(j.last, s.TrailMM)
		j.openers[s.Port] = j.appendOpenings(j.openers[s.Port], s)
	}
	return nil
}

// touch is how near two punches must stand to make one opening, as a share of
// the die: at the die itself they only touch in a point.
const touch = 0.999

func (j *job) appendOpenings(list []opener, s *roll.Slot) []opener {
	if j.o.Holes == AsSlots {
		return append(list, opener{s.FirstMM, s.LastMM})
	}
	begin := len(list)
	for at := range j.r.Punches(s) {
		if n := len(list); n > begin && j.o.Holes == AsCut && at-list[n-1].to < j.die*touch {
			list[n-1].to = at
			continue
		}
		list = append(list, opener{at, at})
	}
	return list
}

// idName makes a port's name fit for an ID: A#4 is A-sharp-4.
var idName = strings.NewReplacer(" ", "-", "#-", "-sharp-", "#", "-sharp-")

// portMark is the empty batch of a port's holes with the name under which a
// person finds it.
func (j *job) portMark(port int, ink draw.Ink) *draw.Slots {
	p := j.in.Bar.Ports[port]
	return &draw.Slots{
		Named: draw.Named{ID: fmt.Sprintf("port-%d-%s", port+1, idName.Replace(p.Name())),
			Title: fmt.Sprintf("%s (port %d)", p.Name(), port+1)},
		Ink:     ink,
		WidthMM: j.die,
	}
}

// face is how the paper lies before the eye.
type face struct {
	in   *instrument.Instrument
	back bool
}

func newFace(in *instrument.Instrument, back bool) face { return face{in, back} }

// bassLeft reports whether the bass is at the left on sheets that stand.
func (f face) bassLeft() bool { return (f.in.Paper.Bass == instrument.Left) != f.back }

// startBelow reports whether the start is at the bottom on sheets that stand.
// Turning the paper over about its length leaves it there.
func (f face) startBelow() bool { return !f.in.Paper.TravelsUp }

// bassAbove reports whether the bass is at the top on sheets that lie with the
// start at the left: those are the standing ones, turned.
func (f face) bassAbove() bool { return f.bassLeft() == f.startBelow() }

// side says which face is seen.
func (f face) side() string {
	if f.back {
		return "BACK of the paper: this side lies on the bar, away from the player"
	}
	return "front of the paper: this side is to the player"
}
