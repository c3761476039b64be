// Package nc writes the beds of a cutting plan as programs for numerically
// controlled machines.
//
// The words are those of ISO 6983-1 as RS274/NGC has them (NIST, The NIST
// RS274NGC Interpreter, version 3, 2000): G0 travel, G1 and G3 cuts, G4 dwells
// in seconds, absolute places (G90), feeds a minute (G94), millimetres (G21) or
// inches (G20). The tool is switched by the profile's own lines. X and Y are
// the bed's places, or, for a machine whose Y runs along the roll, turned by a
// quarter, never mirrored. Places have four decimals of a millimetre or five of
// an inch, each rounded once (places), so nothing adds up along the roll.
package nc

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"

	"rollwright/making/bed"
	"rollwright/making/machine"
)

// Options say what stands at the head of a program.
type Options struct {
	Title string // of the roll
}

// Encode writes the program of one bed of p. It returns the first error of w.
func Encode(w io.Writer, p *bed.Plan, b *bed.Bed, o Options) error {
	if p.Profile.Tool == machine.Knife {
		return fmt.Errorf("nc: %s drags a knife, which this language has no words for", p.Profile.Name)
	}
	e := &encoder{w: bufio.NewWriterSize(w, 64<<10), plan: p, profile: p.Profile, x: math.MinInt64, y: math.MinInt64}
	e.head(p, b, o)
	p.Run(b, e)
	e.foot()
	if err := e.w.Flush(); err != nil {
		return fmt.Errorf("nc: %w", err)
	}
	return nil
}

// encoder writes blocks, a line each. bufio.Writer keeps the first error and
// drops what comes after it.
type encoder struct {
	w       *bufio.Writer
	plan    *bed.Plan
	profile *machine.Profile
	buf     []byte
	x, y    int64 // where the machine is, in places
	fed     bool  // the feed has been said
}

func (e *encoder) line(words string) {
	e.w.WriteString(words)
	e.w.WriteByte('\n')
}

func (e *encoder) head(p *bed.Plan, b *bed.Bed, o Options) {
	e.line("%")
	for _, line := range p.Notes(b, o.Title) {
		e.comment(line)
	}
	for _, line := range e.profile.Cautions() {
		e.comment(line)
	}
	e.line("G17 G40 G49 G80 G90 G94")
	e.line(map[bool]string{false: "G21", true: "G20"}[e.profile.Inches])
	e.lines(e.profile.Head.Off)
	e.lines(e.profile.Program.Start)
}

// foot parks the tool. A machine that feeds its paper stays where it is along.
func (e *encoder) foot() {
	e.lines(e.profile.Head.Off)
	e.lines(e.profile.Program.End)
	if !e.profile.Bed.Endless() {
		e.Travel(e.profile.Park.AlongMM, e.profile.Park.AcrossMM)
	}
	e.line("M2")
	e.line("%")
}

func (e *encoder) lines(lines []string) {
	for _, l := range lines {
		e.line(l)
	}
}

// dwell waits. Times have four decimals.
func (e *encoder) dwell(sec float64) {
	if sec > 0 {
		e.line("G4 P" + strconv.FormatFloat(sec, 'f', 4, 64))
	}
}

// On switches the tool on.
func (e *encoder) On() {
	e.lines(e.profile.Head.On)
	e.dwell(e.profile.Head.OnSec)
}

// Mark switches the beam on with the power that marks.
func (e *encoder) Mark() {
	e.lines(e.profile.Head.Mark)
	e.dwell(e.profile.Head.OnSec)
}

// Off switches the tool off.
func (e *encoder) Off() {
	e.lines(e.profile.Head.Off)
	e.dwell(e.profile.Head.OffSec)
}

// Travel goes to a place.
func (e *encoder) Travel(x, y float64) { e.block("G0", x, y, nil) }

// Line cuts straight to a place.
func (e *encoder) Line(x, y float64) { e.block("G1", x, y, nil) }

// Arc cuts to a place round a centre.
func (e *encoder) Arc(x, y, cx, cy float64) { e.block("G3", x, y, &[2]float64{cx, cy}) }

const inchMM = 25.4

// places is a length in the last place that is written: ten-thousandths of a
// millimetre, or hundred-thousandths of an inch; the nearest, halves up.
func (e *encoder) places(mm float64) int64 {
	if e.profile.Inches {
		return int64(math.Floor(mm/inchMM*1e5 + 0.5))
	}
	return int64(math.Floor(mm*1e4 + 0.5))
}

// at is a place of the bed on the machine's axes.
func (e *encoder) at(alongMM, acrossMM float64) (x, y int64) {
	xMM, yMM := e.plan.Axes(alongMM, acrossMM)
	return e.places(xMM), e.places(yMM)
}

// block writes one move, and the feed with the first that cuts. Words of an
// axis that does not move are left out; a move to where the machine is already
// is none, unless it goes round.
func (e *encoder) block(code string, alongMM, acrossMM float64, centre *[2]float64) {
	x, y := e.at(alongMM, acrossMM)
	if x == e.x && y == e.y && centre == nil {
		return
	}
	b := append(e.buf[:0], code...)
	if x != e.x || centre != nil {
		b = e.word(b, 'X', x)
	}
	if y != e.y || centre != nil {
		b = e.word(b, 'Y', y)
	}
	if centre != nil {
		cx, cy := e.at(centre[0], centre[1])
		b = e.word(b, 'I', cx-e.x)
		b = e.word(b, 'J', cy-e.y)
	}
	if code != "G0" && !e.fed {
		b = e.feed(b)
	}
	e.x, e.y = x, y
	e.buf = append(b, '\n')
	e.w.Write(e.buf)
}

// feed adds the feed a minute, to a tenth of a millimetre or a hundredth of an
// inch.
func (e *encoder) feed(b []byte) []byte {
	e.fed = true
	feed, decimals := e.profile.Head.FeedMMPerSec*60, 1
	if e.profile.Inches {
		feed, decimals = feed/inchMM, 2
	}
	return strconv.AppendFloat(append(b, " F"...), feed, 'f', decimals, 64)
}

// word adds a letter and a number of places: as many decimals as it needs, at
// least one, so that no control takes it for a count of its own smallest steps.
func (e *encoder) word(b []byte, letter byte, n int64) []byte {
	b = append(b, ' ', letter)
	if n < 0 {
		b, n = append(b, '-'), -n
	}
	one, decimals := int64(10_000), 4
	if e.profile.Inches {
		one, decimals = 100_000, 5
	}
	b = strconv.AppendInt(b, n/one, 10)
	b = append(b, '.')
	rest := n % one
	for range decimals {
		rest *= 10
		b = append(b, byte('0'+rest/one))
		if rest %= one; rest == 0 {
			break
		}
	}
	return b
}
