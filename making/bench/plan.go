package bench

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"

	"rollwright/paper/roll"
)

// Plan is the work on one roll at one bench, row after row.
type Plan struct {
	Profile *Profile
	Roll    *roll.Roll
	Start   int64  // reading of the crank, from the roll's zero, at the zero line: 0, or whole turns before
	Rows    []Row  // in order along the paper
	Stops   []Stop // lines to draw on the way, in order
	Punches int    // strokes of all rows

	Merged    int     // punches of the roll that fall together on one part of the dial with their neighbour
	LargestMM float64 // the furthest that a punch stands from its place on the roll
	WebMM     float64 // the widest web of paper inside a slot; 0: none
	EndMM     float64 // where the music ends on the paper, counted from the roll's zero; New takes the roll's own end

	// Names are what the piece calls ports, by port: the key as its notes are
	// spelled. An empty one, or none at all: the port's own name, with sharps.
	Names []string

	notches []int // by port
}

// PortName is what a port is called on pages and screens: as Names has it, else
// its own name.
func (p *Plan) PortName(port int32) string {
	if int(port) < len(p.Names) && p.Names[port] != "" {
		return p.Names[port]
	}
	return p.Roll.Instrument.Bar.Ports[port].Name()
}

// Row is the strokes that share one place along the paper.
type Row struct {
	Dial     int64    // reading of the crank, in parts from the roll's zero
	Strokes  []Stroke // in the order in which they are made
	Leftward bool     // that order goes from right to left
	Before   int      // strokes of all earlier rows
	Check    bool     // measure the paper after this row
}

// Stroke is one punch.
type Stroke struct {
	Port  int32 // index into Instrument.Bar.Ports
	Slot  int32 // index into Roll.Slots
	N, Of int32 // which punch of its slot this is, from 1
}

// Single reports whether the stroke is a whole slot.
func (s Stroke) Single() bool { return s.Of == 1 }

// Stop is a place where a line is drawn across the paper, or something else is
// done.
type Stop struct {
	Dial    int64 // reading of the crank, in parts from the roll's zero
	Name    string
	AlongMM float64 // where it was asked for, from the roll's zero
	Do      string  // what is done there, Name saying to what; empty: the line is drawn
}

// Mark asks for a line across the paper, such as a cue for two players.
type Mark struct {
	AlongMM float64 // from the roll's zero
	Name    string
}

// mostMM is a longer roll than anyone cranks, and far below where counts of
// parts would run out of digits.
const mostMM = 1e6

// New orders the punches of r. Rows alternate: the first goes from left to
// right, the next from right to left, as seen by the person. Marks may come in
// any order. The error says which port no notch of the rack can reach, or that
// the paper is too long.
func New(r *roll.Roll, p *Profile, marks ...Mark) (*Plan, error) {
	if p == nil || p.Crank.TurnMM <= 0 || p.Crank.Parts < 1 {
		return nil, fmt.Errorf("bench: a profile without a crank")
	}
	plan := &Plan{Profile: p, Roll: r, EndMM: r.MusicMM()}
	if err := plan.rack(); err != nil {
		return nil, err
	}
	punches, err := plan.collect()
	if err != nil {
		return nil, err
	}
	plan.group(punches)
	plan.start(marks)
	plan.checks()
	return plan, nil
}

// punch is a stroke with its row.
type punch struct {
	dial int64
	Stroke
}

// collect puts every punch on its part of the dial.
func (p *Plan) collect() ([]punch, error) {
	total := 0
	for i := range p.Roll.Slots {
		s := &p.Roll.Slots[i]
		if !(math.Abs(s.FirstMM) < mostMM && math.Abs(s.LastMM) < mostMM) {
			return nil, fmt.Errorf("bench: slot %d lies at %g mm, beyond %g", i+1, s.LastMM, float64(mostMM))
		}
		total += int(s.Punches)
	}
	punches := make([]punch, 0, total)
	crank := p.Profile.Crank
	for i := range p.Roll.Slots {
		s := &p.Roll.Slots[i]
		n, before := int32(0), int64(0)
		for mm := range p.Roll.Punches(s) {
			n++
			dial := crank.nearestPart(mm)
			if n > 1 {
				p.WebMM = max(p.WebMM, crank.MM(dial-before)-p.DieMM())
			}
			before = dial
			p.LargestMM = max(p.LargestMM, math.Abs(crank.MM(dial)-mm), beside(p.Roll, s, crank.PartMM()))
			punches = append(punches, punch{dial, Stroke{s.Port, int32(i), n, s.Punches}})
		}
	}
	slices.SortFunc(punches, func(a, b punch) int {
		return cmp.Or(cmp.Compare(a.dial, b.dial), cmp.Compare(a.Port, b.Port), cmp.Compare(a.Slot, b.Slot),
			cmp.Compare(a.N, b.N))
	})
	return punches, nil
}

// beside is how far the ends of a slot that a bench has arranged stand from their
// places on the roll.
func beside(r *roll.Roll, s *roll.Slot, partMM float64) float64 {
	if s.Own == nil {
		return 0
	}
	own := roll.SlotOf(r.Instrument, s.Port, s.OpenMM, s.ShutMM)
	most := 0.0
	for _, off := range []float64{s.FirstMM - own.FirstMM, s.LastMM - own.LastMM} {
		if off = math.Abs(off); off <= partMM { // another stroke may have moved an end
			most = max(most, off)
		}
	}
	return most
}

// group makes rows of punches that are sorted by place, then port.
func (p *Plan) group(punches []punch) {
	strokes := make([]Stroke, 0, len(punches))
	for i := 0; i < len(punches); {
		begin, dial := len(strokes), punches[i].dial
		for ; i < len(punches) && punches[i].dial == dial; i++ {
			if n := len(strokes); n > begin && strokes[n-1].Port == punches[i].Port {
				p.Merged++
				continue
			}
			strokes = append(strokes, punches[i].Stroke)
		}
		row := Row{Dial: dial, Strokes: strokes[begin:len(strokes):len(strokes)], Leftward: len(p.Rows)%2 == 1, Before: begin}
		if row.Leftward != p.Profile.BassRight {
			slices.Reverse(row.Strokes)
		}
		p.Rows = append(p.Rows, row)
	}
	p.Punches = len(strokes)
}

// TimeZero is the name of the line where the roll's own lengths begin.
const TimeZero = "row of time 0"

// start finds the zero line, puts marks on the dial. What lies before the
// zero line is brought behind it: the line moves back by whole turns.
func (p *Plan) start(marks []Mark) {
	crank := p.Profile.Crank
	for _, m := range marks {
		p.Stops = append(p.Stops, Stop{Dial: crank.nearestPart(m.AlongMM), Name: m.Name, AlongMM: m.AlongMM})
	}
	slices.SortStableFunc(p.Stops, func(a, b Stop) int { return cmp.Compare(a.Dial, b.Dial) })
	first := int64(0)
	if len(p.Rows) > 0 {
		first = min(first, p.Rows[0].Dial)
	}
	if len(p.Stops) > 0 {
		first = min(first, p.Stops[0].Dial)
	}
	turns, _ := crank.Split(first)
	p.Start = turns * int64(crank.Parts)
	if p.Start < 0 { // the roll's own zero needs a line, for labels and cues count from it
		at, _ := slices.BinarySearchFunc(p.Stops, int64(1), func(s Stop, dial int64) int { return cmp.Compare(s.Dial, dial) })
		p.Stops = slices.Insert(p.Stops, at, Stop{Name: TimeZero})
	}
}

// checks marks the first row at or after each multiple of the length to check.
func (p *Plan) checks() {
	every := p.Profile.CheckMM
	if every <= 0 {
		return
	}
	next := every
	for i := range p.Rows {
		if mm := p.RunningMM(p.Rows[i].Dial); mm >= next-noiseParts {
			p.Rows[i].Check = true
			next = (math.Floor(mm/every+noiseParts) + 1) * every
		}
	}
}

// RunningMM is the paper from the zero line to a reading of the crank.
func (p *Plan) RunningMM(dial int64) float64 { return p.Profile.Crank.MM(dial - p.Start) }

// AlongMM is the place on the roll of a reading of the crank.
func (p *Plan) AlongMM(dial int64) float64 { return p.Profile.Crank.MM(dial) }

// Reading is what the crank's counter shows when it stood at 0 at the start
// line.
func (p *Plan) Reading(dial int64) (turns, parts int64) {
	return p.Profile.Crank.Split(dial - p.Start)
}

// Text writes turns and parts for the person: "2 + 07", the parts of a dial
// with as many digits as its last mark; or the clicks of a ratchet.
func (c Crank) Text(turns, parts int64) string {
	if c.Parts == 1 {
		return strconv.FormatInt(turns, 10)
	}
	return strconv.FormatInt(turns, 10) + " + " + c.partsText(parts)
}

func (c Crank) partsText(parts int64) string {
	digits := strconv.FormatInt(parts, 10)
	for n := len(strconv.Itoa(c.Parts - 1)); len(digits) < n; {
		digits = "0" + digits
	}
	return digits
}

// Stands is where the crank stands at a reading that Plan.Reading gives, in words:
// "crank 2 + 07", "click 19". Before the zero line, where a counter goes on from
// its highest number, it is "crank one turn before 0, dial at 16", "4 clicks before
// 0".
func (c Crank) Stands(turns, parts int64) string {
	switch {
	case !c.Clicks():
		return "crank " + c.Counter(turns, parts)
	case turns >= 0:
		return "click " + c.Counter(turns, parts)
	}
	return c.Counter(turns, parts)
}

// Counter is what the crank's counter shows at a reading: as Text, and before the
// zero line in words.
func (c Crank) Counter(turns, parts int64) string {
	if turns >= 0 {
		return c.Text(turns, parts)
	}
	if c.Clicks() {
		if turns == -1 {
			return "1 click before 0"
		}
		return strconv.FormatInt(-turns, 10) + " clicks before 0"
	}
	before := "one turn before 0"
	if turns < -1 {
		before = strconv.FormatInt(-turns, 10) + " turns before 0"
	}
	return before + ", dial at " + c.partsText(parts)
}

// Advance is the cranking from the row before to row i, from the zero line to
// the first.
func (p *Plan) Advance(i int) int64 {
	if i == 0 {
		return p.Rows[0].Dial - p.Start
	}
	return p.Rows[i].Dial - p.Rows[i-1].Dial
}

// ZeroMM is how far the zero line lies before the row of time 0, from which
// labels and cues count.
func (p *Plan) ZeroMM() float64 { return -p.AlongMM(p.Start) + 0 }

// LeaderMM is the paper before the zero line.
func (p *Plan) LeaderMM() float64 { return p.Roll.Instrument.Paper.LeaderMM + p.AlongMM(p.Start) }

// DieMM is the diameter of what a stroke cuts.
func (p *Plan) DieMM() float64 { return p.Roll.Instrument.Die.DiameterMM }

// StrokeMM is where a stroke of row i lies on the roll.
func (p *Plan) StrokeMM(i int, s Stroke) (acrossMM, alongMM float64) {
	return p.Roll.Instrument.Bar.Ports[s.Port].AcrossMM, p.AlongMM(p.Rows[i].Dial)
}

// WebTooWide reports whether the dial is so coarse that a web may shut its
// port: wider than the instrument bears, by more than a hundredth.
func (p *Plan) WebTooWide() bool { return p.WebMM > p.Roll.Instrument.WebMaxMM()+0.01 }

// Notch is the number by which the rack knows a port.
func (p *Plan) Notch(port int32) int { return p.notches[port] }

// notchMM is how far a notch may lie beside its port: the play of a hand
// punch, assumed.
const notchMM = 0.2

// rack finds the notch of every port that is punched.
func (p *Plan) rack() error {
	in, rack := p.Roll.Instrument, p.Profile.Rack
	used := make([]bool, len(in.Bar.Ports))
	for i := range p.Roll.Slots {
		used[p.Roll.Slots[i].Port] = true
	}
	p.notches = make([]int, len(in.Bar.Ports))
	for i, port := range in.Bar.Ports {
		p.notches[i] = i + 1
		if rack.SpacingMM == 0 {
			continue
		}
		at := port.AcrossMM
		if rack.FromTreble {
			at = in.Paper.WidthMM - at
		}
		n := math.Round((at - rack.OffsetMM) / rack.SpacingMM)
		beside := rack.OffsetMM + n*rack.SpacingMM - at
		if used[i] && (n < 0 || math.Abs(beside) > notchMM) {
			return fmt.Errorf("bench: no notch of the rack reaches port %d (%s), %s from the edge: the nearest one is %s beside it; measure the offset and spacing of the rack in %s",
				i+1, port.Name(), short(at), short(math.Abs(beside)), p.Profile.Name)
		}
		p.notches[i] = rack.First + int(n)
	}
	return nil
}
