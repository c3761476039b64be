// Package price says what the decisions of a piece cost at a bench: of every voice,
// hold and gesture the punches, the rows that nobody else needs, and the time.
//
// It takes a performance and the plans of its rolls at one bench, and counts every
// stroke of every row once, so that its sums are those of the worksheets. Times are
// seconds of work in float64. A row that several share counts its time to each of
// them by its strokes.
package price

import (
	"cmp"
	"slices"

	"rollwright/making/bench"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
)

// Cost is what something takes.
type Cost struct {
	Slots   int     `json:"slots"`
	Punches int     `json:"punches"`
	Rows    int     `json:"rows"` // of a line those that nobody else needs, of a bill all
	WorkSec float64 `json:"work_s"`
}

// Line is what one decision of a voice costs: notes with one hold, one gesture,
// pedalling, or what loudness takes.
type Line struct {
	Voice   string `json:"voice"`
	Hold    string `json:"hold,omitempty"`    // as it is written
	Gesture string `json:"gesture,omitempty"` // as it is written; empty: notes and chords
	What    What   `json:"what"`
	Cost
}

// What tells the lines of a voice apart.
type What string

// What a line is about.
const (
	Notes  What = "notes"
	Pedals What = "pedals"
	Levels What = "levels" // theme and level ports
)

// Voice is what a voice costs with all its lines.
type Voice struct {
	Name  string `json:"name"`
	Lines []Line `json:"lines"`
	Cost
}

// Saving is what another hold would save, the piece being performed, laid out and
// put in rows anew with it.
type Saving struct {
	Voice string `json:"voice"` // empty: all voices
	Hold  string `json:"hold"`  // as it has to be written
	Cost  Cost   `json:"saves"` // slots are what the roll has less of, below 0 where it has more
}

// Unheard is punches that keep ports open after their notes have sunk.
type Unheard struct {
	Voice    string  `json:"voice"`
	Slots    int     `json:"slots"`
	Punches  int     `json:"punches"`
	Key      int     `json:"key"`     // of the slot with most of them
	AtSec    float64 `json:"at_s"`    // when its note begins
	SinkSec  float64 `json:"sink_s"`  // after which it has sunk
	HeldSec  float64 `json:"held_s"`  // for which it is held
	LeastSec float64 `json:"least_s"` // no note of the voice is heard for longer than this while it is held
}

// Bill is what a piece costs, parted in every way.
type Bill struct {
	Bench     string     `json:"bench"`
	Pace      bench.Pace `json:"-"`
	StrokeSec float64    `json:"stroke_s"` // of Pace
	RowSec    float64    `json:"row_s"`
	Assumed   bool       `json:"pace_assumed"`
	Whole     Cost       `json:"whole"`
	Shared    int        `json:"shared_rows"` // rows that several voices need
	Voices    []Voice    `json:"voices"`      // in the order of the piece, without those that cost nothing
	Unheard   []Unheard  `json:"unheard"`
	Savings   []Saving   `json:"savings"`
	Untried   int        `json:"untried_voices"` // whose holds were not tried
}

// mostLines bounds the decisions that are told apart in a voice; what is beyond
// them counts with the last.
const mostLines = 200

// Of parts what the plans cost among the voices of a performance.
func Of(f *perform.Performance, plans []*bench.Plan, pace bench.Pace) *Bill {
	b := &Bill{Pace: pace, StrokeSec: pace.StrokeSec, RowSec: pace.RowSec}
	c := newCounter(f)
	for _, p := range plans {
		b.Bench = p.Profile.Name
		c.plan(p, pace)
		b.Whole.Punches, b.Whole.Rows = b.Whole.Punches+p.Punches, b.Whole.Rows+len(p.Rows)
		b.Whole.Slots += len(p.Roll.Slots)
	}
	b.Whole.WorkSec = pace.WorkSec(b.Whole.Punches, b.Whole.Rows)
	b.Shared = c.shared
	for _, v := range c.voices {
		if v.Slots == 0 {
			continue
		}
		v.Lines = slices.DeleteFunc(v.Lines, func(l Line) bool { return l.Slots == 0 })
		b.Voices = append(b.Voices, v)
	}
	return b
}

// counter counts strokes.
type counter struct {
	voices []Voice
	notes  [][]int32 // by voice, by note from 1: index into its Lines
	shared int
}

func newCounter(f *perform.Performance) *counter {
	c := &counter{notes: make([][]int32, len(f.Piece.Voices))}
	for i := range f.Piece.Voices {
		c.voices = append(c.voices, Voice{Name: f.Piece.Voices[i].Name})
	}
	for _, line := range f.Lines {
		v := &f.Piece.Voices[line.Voice]
		of := make([]int32, line.Notes+1)
		for it := range line.All() {
			if it.Silent {
				continue
			}
			p, n := &v.Color[it.ColorPlace], it.Note-1
			if v.Backward {
				n = line.Notes - it.Note
			}
			of[it.Note] = c.line(line.Voice, Line{Hold: holdOf(v, p, n), Gesture: gestureOf(p), What: Notes})
		}
		c.notes[line.Voice] = of
	}
	return c
}

// holdOf is how long a note is held, as it is written: its own, else that of the
// cycle of the voice.
func holdOf(v *piece.Voice, p *piece.Pitch, note int) string {
	h := v.Hold[note%len(v.Hold)]
	switch {
	case p.Hold != nil:
		h = *p.Hold
	case p.Gesture.Manner() == piece.Repeat && p.Gesture.Fastest:
		return "as the instrument repeats"
	}
	return piecefile.HoldText([]piece.Hold{h})
}

func gestureOf(p *piece.Pitch) string {
	if p.Gesture.Manner() == piece.Plain {
		return ""
	}
	return cmp.Or(p.Gesture.AsWritten().Text, "a gesture")
}

// line is the index of a line of a voice, which begins with it.
func (c *counter) line(voice int, l Line) int32 {
	v := &c.voices[voice]
	l.Voice = v.Name
	i := slices.IndexFunc(v.Lines, func(m Line) bool {
		return m.Hold == l.Hold && m.Gesture == l.Gesture && m.What == l.What
	})
	switch {
	case i >= 0:
		return int32(i)
	case len(v.Lines) >= mostLines:
		return int32(len(v.Lines) - 1)
	}
	v.Lines = append(v.Lines, l)
	return int32(len(v.Lines) - 1)
}

// owner is whose a slot is: that of its first cause.
type owner struct{ voice, line int32 }

func (c *counter) owner(s *roll.Slot, role instrument.Role) owner {
	cause := s.Causes.First
	if cause.Note == 0 {
		for more := range s.Causes.All() {
			cause = more
			break
		}
	}
	o := owner{voice: cause.Voice}
	switch {
	case role == instrument.Sustain || role == instrument.Soft:
		o.line = c.line(int(o.voice), Line{What: Pedals})
	case role != instrument.Note:
		o.line = c.line(int(o.voice), Line{What: Levels})
	case int(cause.Note) < len(c.notes[o.voice]) && cause.Note > 0:
		o.line = c.notes[o.voice][cause.Note]
	default:
		o.line = c.line(int(o.voice), Line{What: Notes})
	}
	return o
}

func (c *counter) plan(p *bench.Plan, pace bench.Pace) {
	r := p.Roll
	owners := make([]owner, len(r.Slots))
	for i := range r.Slots {
		o := c.owner(&r.Slots[i], r.Instrument.Bar.Ports[r.Slots[i].Port].Role)
		owners[i] = o
		c.voices[o.voice].Slots++
		c.voices[o.voice].Lines[o.line].Slots++
	}
	for i := range p.Rows {
		strokes := p.Rows[i].Strokes
		first := owners[strokes[0].Slot]
		oneVoice, oneLine := true, true
		each := pace.StrokeSec + pace.RowSec/float64(len(strokes))
		for _, s := range strokes {
			o := owners[s.Slot]
			oneVoice, oneLine = oneVoice && o.voice == first.voice, oneLine && o == first
			for _, cost := range c.costs(o) {
				cost.Punches++
				cost.WorkSec += each
			}
		}
		if !oneVoice {
			c.shared++
			continue
		}
		c.voices[first.voice].Rows++
		if oneLine {
			c.voices[first.voice].Lines[first.line].Rows++
		}
	}
}

func (c *counter) costs(o owner) [2]*Cost {
	v := &c.voices[o.voice]
	return [2]*Cost{&v.Cost, &v.Lines[o.line].Cost}
}

// Beyond is what c costs more than another.
func (c Cost) Beyond(other Cost) Cost {
	return Cost{c.Slots - other.Slots, c.Punches - other.Punches, c.Rows - other.Rows, c.WorkSec - other.WorkSec}
}
