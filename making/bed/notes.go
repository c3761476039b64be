package bed

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"rollwright/draw"
	"rollwright/making/bench"
	"rollwright/making/machine"
)

// Axes is a place of the bed on the axes of the machine: as it is, or, where
// the machine's Y runs along the roll, turned by a quarter, never mirrored.
func (p *Plan) Axes(x, y float64) (machineX, machineY float64) {
	if p.Profile.AlongY {
		return p.Profile.Bed.AcrossMM - y, x
	}
	return x, y
}

// lengths is how the machine's user reads lengths.
func (p *Plan) lengths() bench.Lengths {
	if p.Profile.Inches {
		return bench.InchesDecimal
	}
	return bench.Millimetres
}

// Notes are what a person must know to lay the paper and cut bed b, a line
// each: which piece of which roll it is, which face is up, where the paper
// lies, which settings to check, how often to cut. Heights are the machine's
// own Y, which points up.
func (p *Plan) Notes(b *Bed, title string) []string { return p.notes(b, title, "") }

// Captions are Notes for a drawing: heights count from the bottom, and what each hue
// means stands with them.
func (p *Plan) Captions(b *Bed, title string) []string { return p.notes(b, title, fromBottom) }

// huesNote says which lines the software must cut and which it must not.
func (p *Plan) huesNote(b *Bed) string {
	l := p.Profile.Lines
	text := fmt.Sprintf("Lines to cut are %s, holes for the pins %s", hex(l.Cut.Hue), hex(l.Register.Hue))
	if len(b.Marks) > 0 && p.draws() {
		text += fmt.Sprintf("; lines in %s are marks: give that hue so little power that it does not go through", hex(l.Mark.Hue))
	}
	return text + "."
}

func hex(i draw.Ink) string { return fmt.Sprintf("#%02x%02x%02x", i.R, i.G, i.B) }

// fromBottom is added to heights for drawings whose y points down.
const fromBottom = " from the bottom"

// notes adds rising to every height.
func (p *Plan) notes(b *Bed, title, rising string) []string {
	in, l := p.Roll.Instrument, p.lengths()
	if title == "" {
		title = "Untitled"
	}
	lines := []string{
		fmt.Sprintf("%s: bed %d of %d", title, b.Number, len(p.Beds)),
		fmt.Sprintf("Machine %s: %s. Holes of %s, paper %s wide.", p.Profile.Name, p.Profile.Title, l.With(in.Die.DiameterMM),
			l.With(in.Paper.WidthMM)),
		p.faceNote(rising),
		p.zeroNote(),
	}
	lines = append(lines, p.layNote(b, rising)...)
	lines = append(lines, p.settingsNote())
	if p.Copies > 1 || p.Profile.Pass.Plies > 1 {
		lines = append(lines, p.copiesNote())
	}
	lines = append(lines, p.marksNote(b, rising != "" && p.draws() || p.inProgram())...)
	if rising != "" {
		lines = append(lines, p.huesNote(b))
	}
	return append(lines, p.passNote(b))
}

// zeroNote says what the places of the file count from.
func (p *Plan) zeroNote() string {
	along, across := "X 0", "Y 0"
	if p.Profile.AlongY {
		along, across = "Y 0", "X 0"
	}
	if p.Profile.Bed.Endless() {
		return fmt.Sprintf("%s is where the paper lies when the program starts, %s is where the way of the head begins: set both before the start.", along, across)
	}
	return "X 0, Y 0 is the lower left corner of the bed: set zero there before the start."
}

// pinMM is the diameter of the pins on which the next bed is laid.
func (p *Plan) pinMM() float64 {
	switch {
	case p.Profile.Tool == machine.Punch:
		return p.Roll.Instrument.Die.DiameterMM
	case p.radius(&Cut{Register: true}) == 0:
		return p.beamMM()
	}
	return p.Profile.Register.HoleMM
}

// settingsNote says what to check before the tool is switched on: nobody but
// the machine's owner knows whether the numbers fit.
func (p *Plan) settingsNote() string {
	m, l := p.Profile, p.lengths()
	on := strings.Join(m.Head.On, " ")
	settings := []string{"on " + on, "off " + strings.Join(m.Head.Off, " ")}
	if m.Tool == machine.Laser {
		settings = []string{"power " + on, "feed " + l.With(m.Head.FeedMMPerSec*60) + "/min", "kerf " + l.With(m.Head.KerfMM)}
	} else if m.Tool == machine.Knife {
		settings = []string{"feed " + l.With(m.Head.FeedMMPerSec*60) + "/min", "offset " + l.With(m.Head.OffsetMM),
			"overcut " + l.With(m.Head.OvercutMM), "force and depth of the blade"}
	} else {
		settings = append(settings, "die "+l.With(p.Roll.Instrument.Die.DiameterMM))
	}
	from := "as " + m.Name + " says; are they yours?"
	if slices.Contains(machine.Names(), m.Name) {
		from = "assumed, measure yours."
	}
	return "Settings to check: " + strings.Join(settings, ", ") + ": " + from
}

// passNote says how much work one pass of a bed is.
func (p *Plan) passNote(b *Bed) string {
	l, work := p.lengths(), fmt.Sprintf("makes %d holes", b.Path.Strokes)
	if b.Path.Strokes == 1 {
		work = "makes 1 hole"
	}
	if p.Profile.Tool != machine.Punch {
		work = "cuts " + l.Long(b.Path.CutMM)
	}
	return fmt.Sprintf("One pass %s and travels %s; it takes about %s.", work, l.Long(b.Path.TravelMM), Clock(b.Path.Sec))
}

func (p *Plan) faceNote(rising string) string {
	side, bass := "front (the side to the player)", "bottom"
	if p.Back {
		side = "back (the side to the bar)"
	}
	if p.BassAbove() {
		bass = "top"
	}
	if p.Profile.AlongY {
		bass = map[string]string{"top": "left", "bottom": "right"}[bass]
		start := "towards Y 0"
		if rising != "" {
			start = "at the bottom"
		}
		return fmt.Sprintf("Paper with its %s up, start %s, bass edge at the %s.", side, start, bass)
	}
	return fmt.Sprintf("Paper with its %s up, start at the left, bass edge at the %s.", side, bass)
}

// at is a place in words: "X 11.5 mm, Y 44 mm".
func (p *Plan) at(x, y float64, rising string) string {
	x, y = p.Axes(x, y)
	return fmt.Sprintf("X %s, Y %s%s", p.lengths().With(x), p.lengths().With(y), rising)
}

// layNote says where the paper lies.
func (p *Plan) layNote(b *Bed, rising string) []string {
	l, m := p.lengths(), p.Profile
	edgeX, edgeY := p.Axes(0, m.Bed.EdgeMM)
	edge := fmt.Sprintf("Its lower edge lies along Y %s%s.", l.With(edgeY), rising)
	if m.AlongY {
		edge = fmt.Sprintf("Its right edge lies along X %s.", l.With(edgeX))
	}
	if b.Number == 1 {
		return []string{edge, p.firstNote(b, rising)}
	}
	return []string{edge, fmt.Sprintf("Move the paper on by %s: the two holes cut with bed %d then lie on pins of %s at %s and %s.",
		l.With(p.AdvanceMM), b.Number-1, l.With(p.pinMM()), p.at(p.PinMM, p.HolesY[0], rising),
		p.at(p.PinMM, p.HolesY[1], rising))}
}

// firstNote says where the roll begins on its first bed.
func (p *Plan) firstNote(b *Bed, rising string) string {
	l, lead := p.lengths(), math.Inf(1)
	for i := range p.Roll.Slots {
		lead = min(lead, p.Roll.Slots[i].LeadMM)
	}
	at := "X " + l.With(lead-b.OriginMM)
	if p.Profile.AlongY {
		at = "Y " + l.With(lead-b.OriginMM) + rising
	}
	return fmt.Sprintf("Leave %s of blank paper before the first hole; the edge of the first hole is at %s.",
		l.With(p.Roll.Instrument.Paper.LeaderMM+lead), at)
}

func (p *Plan) copiesNote() string {
	plies := min(p.Profile.Pass.Plies, p.Copies)
	last := p.Copies - (p.Passes-1)*plies
	switch {
	case p.Copies == 1:
		return "Copies: 1."
	case p.Passes == 1:
		return fmt.Sprintf("Copies: %d, in %d plies at once.", p.Copies, plies)
	case plies == 1:
		return fmt.Sprintf("Copies: %d: cut every bed %d times.", p.Copies, p.Passes)
	}
	return fmt.Sprintf("Copies: %d, in up to %d plies at once: cut every bed %d times, the last time with %d.", p.Copies,
		plies, p.Passes, last)
}

// Clock is a time for reading: seconds, minutes and seconds, or hours and
// minutes, rounded to the nearest.
func Clock(sec float64) string {
	s := int64(math.Round(sec))
	switch {
	case s < 60:
		return fmt.Sprintf("%d s", s)
	case s < 3600:
		return fmt.Sprintf("%d min %d s", s/60, s%60)
	}
	m := int64(math.Round(sec / 60))
	return fmt.Sprintf("%d h %d min", m/60, m%60)
}
