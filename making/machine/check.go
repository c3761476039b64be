package machine

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/draw/dxf"
	"rollwright/text/source"
)

// need complains when an attribute is not given.
func (r *reader) need(names ...string) {
	for _, name := range names {
		if r.given[name] == nil {
			block, attr, _ := strings.Cut(name, ".")
			where := attr
			if block != "" {
				where = block + " { " + attr + " }"
			}
			r.fail(&source.Error{File: r.file, Problem: "the machine does not say " + where,
				Hint: "begin from a copy of a built-in machine, such as laser, and change what differs"})
		}
	}
}

// blame is a complaint at the first of the named attributes that is given.
func (r *reader) blame(problem, hint string, names ...string) {
	for _, name := range names {
		if a := r.given[name]; a != nil {
			r.fail(a.Error(problem, hint))
			return
		}
	}
	r.fail(&source.Error{File: r.file, Problem: problem, Hint: hint})
}

// check refuses what no machine can be.
func (r *reader) check() {
	p := r.p
	r.need(".tool", ".cut", "bed.along", "bed.across", "move.along", "move.across", "move.window")
	if p.Tool != Knife {
		r.need("head.on", "head.off")
	}
	if p.Tool != Punch {
		r.need("head.feed")
	}
	if p.Tool == Knife {
		r.need("head.offset")
	}
	if !p.Bed.Endless() {
		r.need("register.hole", "register.inset", "bed.overlap")
	}
	if len(r.errs) > 0 {
		return
	}
	if (p.Tool == Punch) != (p.Cut == Punches) {
		r.blame(`a punch cuts "punches", a laser "outlines" or "strokes"`, "", ".cut", ".tool")
	}
	if p.Tool == Punch && p.Head.KerfMM > 0 {
		r.blame("a punch has no kerf", "its die says how much it takes away", "head.kerf")
	}
	r.checkFeed()
	r.checkLines()
	if p.Tool == Knife {
		r.checkKnife()
	} else {
		r.checkBeam()
		r.checkSwitches()
	}
	if p.Bed.Endless() && p.Move.WindowMM > 1000 {
		r.blame("an endless machine needs a window of at most 1000 mm",
			"how far may the paper go to and fro? 0: it only advances", "move.window")
	}
	if !p.Bed.Endless() && p.Bed.AlongMM-2*p.Bed.MarginMM-p.Bed.OverlapMM < shortestBed {
		r.blame(fmt.Sprintf("margins and overlap leave less than %d mm of the bed", shortestBed), "", "bed.along",
			"bed.margin", "bed.overlap")
	}
	if t := p.Tabs; t.OverMM > 0 {
		r.need("tabs.every", "tabs.width")
		if t.EveryMM > 0 && t.EveryMM < 3*(t.WidthMM+p.Head.KerfMM) {
			r.blame("tabs stand too close", "three times their width, kerf included, from tab to tab at least", "tabs.every")
		}
	}
	if p.Park.AlongMM > p.Bed.AlongMM && !p.Bed.Endless() || p.Park.AcrossMM > p.Bed.AcrossMM {
		r.blame("the park place lies beyond the bed", "", "park.along", "park.across")
	}
}

// checkLines refuses marks that the software could take for cuts: it knows them by
// their hue alone, and in a DXF by the number of the hue.
func (r *reader) checkLines() {
	l := &r.p.Lines
	mark := dxf.Colour(l.Mark.Hue)
	for _, other := range []struct {
		name string
		hue  draw.Ink
	}{{"cut", l.Cut.Hue}, {"register", l.Register.Hue}} {
		if dxf.Colour(other.hue) == mark {
			r.blame(fmt.Sprintf("marks and %s are too like each other in hue: what is to be marked would be cut through",
				map[string]string{"cut": "cuts", "register": "register holes"}[other.name]),
				`the hues of mark and cut must be nearest to different ones of red, yellow, green, cyan, blue, magenta, black, which a DXF has for them`,
				"lines.mark", "lines."+other.name)
			return
		}
	}
}

// checkKnife refuses what a dragged blade cannot do, and lines that a plotter would
// not understand.
func (r *reader) checkKnife() {
	p := r.p
	if p.Cut != Outlines {
		r.blame(`a knife cuts "outlines"`, "", ".cut")
	}
	for _, name := range []string{"head.on", "head.off", "head.mark", "head.on_dwell", "head.off_dwell", "program.start", "program.end"} {
		if r.given[name] != nil {
			r.blame("a plotter has no lines of a program: its own words lower and lift the knife", "leave it out", name)
		}
	}
	if p.Bed.Endless() {
		r.blame("a knife needs a bed with an end", "say how far the plotter reaches along the roll", "bed.along")
	}
}

// checkBeam refuses a beam that would make no hole, or one larger than it is
// told to.
func (r *reader) checkBeam() {
	p := r.p
	if p.Tool != Laser {
		return
	}
	if !p.Bed.Endless() && p.Register.HoleMM <= p.Head.KerfMM {
		r.blame(fmt.Sprintf("a beam of %s mm cannot cut a register hole of %s mm", plain(p.Head.KerfMM),
			plain(p.Register.HoleMM)),
			"the hole must be larger than the kerf", "register.hole", "head.kerf")
	}
	if p.Cut != Strokes {
		return
	}
	if p.Head.OnSec == 0 && !dwells(p.Head.On) {
		r.blame("cutting by strokes needs a dwell: where a note is one hole the beam does not move, and would be off before it has burnt it",
			`say how long one hole takes: on_dwell = "50 ms"`, "head.on_dwell", ".cut")
	}
	if p.Head.uses(4) {
		r.blame("M4 lowers the power with the speed on many controls, and where a note is one hole the beam stands still",
			"strokes want M3, which keeps the power", "head.on")
	}
}

// checkFeed refuses a tool that cuts faster than the machine goes at all: a
// slip of the unit is a beam that does what nobody meant.
func (r *reader) checkFeed() {
	p := r.p
	rapid := max(p.Move.AlongMMPerSec, p.Move.AcrossMMPerSec)
	const rounding = 1e-9 // of the quotients by 60
	if p.Head.FeedMMPerSec <= rapid*(1+rounding) {
		return
	}
	a := r.given["head.feed"]
	written, hint := a.Raw()+" mm a minute", `a feed is millimetres a minute, or a speed with its unit: "15 mm/s"`
	if text, err := a.Str(); a.IsText() && err == nil {
		written = source.Printable(text)
		if meant, ok := meantFeed(text, rapid); ok {
			hint = "is it " + source.Printable(meant) + "?"
		}
	}
	r.fail(a.Error(fmt.Sprintf("feed %s is faster than the machine moves at all: its rapid speed is %s mm a minute",
		written, plain(rapid*60)), hint))
}

// meantFeed is a speed with the unit that was likely meant: millimetres for
// metres, a minute for a second.
func meantFeed(text string, mostMMPerSec float64) (string, bool) {
	for _, unit := range [][2]string{{"m/s", "mm/s"}, {"m/min", "mm/min"}, {"mm/s", "mm/min"}, {"in/s", "in/min"}} {
		number, ok := strings.CutSuffix(strings.TrimSpace(text), unit[0])
		if !ok {
			continue
		}
		meant := number + unit[1]
		if mmPerSec, ok := parseSpeed(meant); ok && mmPerSec <= mostMMPerSec {
			return meant, true
		}
	}
	return "", false
}

// plain is a number to a hundredth.
func plain(x float64) string { return strconv.FormatFloat(math.Round(x*100)/100, 'f', -1, 64) }

// shortestBed is the least reach along the roll that is worth a set-up.
const shortestBed = 30
