package engrave

import (
	"fmt"
	"math"
	"strconv"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/music/notation"
	"rollwright/text/say"
	"rollwright/text/words"
)

// pages draws all systems.
func (s *scoreWriter) pages() []*draw.Drawing {
	var pages []*draw.Drawing
	for i, systems := range s.sheets {
		page := s.page()
		y := scoreMargin
		if i == 0 {
			s.head(page)
			y += scoreHead
		}
		for _, sys := range systems {
			s.system(page, sys, y)
			y += sys.tall + systemGap + s.spread(i+1)
		}
		pages = append(pages, page)
	}
	for i, p := range pages {
		s.foot(p, i+1, len(pages))
		if s.o.BlackInk {
			p.Grey()
		}
	}
	return pages
}

func (s *scoreWriter) page() *draw.Drawing {
	d := &draw.Drawing{Frame: draw.Box(0, 0, s.width, s.height), Ground: draw.White, Title: s.o.Title,
		Author: s.o.Composer, Subject: s.book.Say("score.subject", nil)}
	for _, id := range []string{"axis", "statements", "staves", "lengths", "notes", "words"} {
		d.Layer(id, "")
	}
	return d
}

// head writes title and composer, and how to read the score.
func (s *scoreWriter) head(d *draw.Drawing) {
	l := d.Layer("words", "")
	right := s.width - scoreMargin
	title := &draw.Text{At: draw.Point{X: scoreMargin, Y: scoreMargin + 4},
		Text: typeface.Serif.Fit(s.o.Title, 5.8, right-scoreMargin-50), SizeMM: 5.8, Face: typeface.Serif, Ink: draw.InkDark}
	l.Add(title, &draw.Text{At: draw.Point{X: right, Y: scoreMargin + 4}, Text: typeface.Serif.Fit(s.o.Composer, 3.36, 48),
		SizeMM: 3.36, Face: typeface.Serif, Ink: draw.InkDark, Anchor: draw.End})
	how := s.book.Begin().Say("score.read", nil)
	for i, line := range typeface.Serif.Wrap(how, 2.8, right-scoreMargin) {
		if i < 4 {
			l.Add(&draw.Text{At: draw.Point{X: scoreMargin, Y: scoreMargin + 9 + 3.7*float64(i)}, Text: line, SizeMM: 2.8,
				Face: typeface.Serif, Ink: draw.InkSecond})
		}
	}
}

func (s *scoreWriter) foot(d *draw.Drawing, n, of int) {
	text := s.book.Say("score.page", words.Args{"page": n, "pages": of})
	d.Layer("words", "").Add(&draw.Text{At: draw.Point{X: s.width - scoreMargin, Y: s.height - scoreMargin + 2},
		Text: text, SizeMM: 2.33, Face: typeface.Sans, Ink: draw.InkSecond, Anchor: draw.End},
		&draw.Text{At: draw.Point{X: scoreMargin, Y: s.height - scoreMargin + 2},
			Text: typeface.Sans.Fit(s.o.Title, 2.33, 120), SizeMM: 2.33, Face: typeface.Sans, Ink: draw.InkSecond})
}

// axis places times of a system.
type axis struct {
	from, to float64
	x, mmSec float64
}

func (a axis) at(sec float64) float64   { return a.x + (sec-a.from)*a.mmSec }
func (a axis) has(sec float64) bool     { return sec >= a.from && sec < a.to }
func (a axis) kept(sec float64) float64 { return a.at(min(max(sec, a.from), a.to)) }

// system draws a system, its top at y.
func (s *scoreWriter) system(d *draw.Drawing, sys system, y float64) {
	a := axis{from: sys.from, to: sys.to, x: scoreMargin + nameWidth, mmSec: s.axisWidth() / sys.sec}
	bottom := y + sys.tall
	s.ruler(d, a, y, bottom)
	at := y + rulerHeight
	for _, r := range sys.rows {
		s.row(d, r, a, at)
		at += r.spaces() * s.space
	}
	for _, sec := range s.o.MeetSec {
		if a.has(sec) {
			accent := draw.Brass
			if s.o.BlackInk {
				accent = draw.Black
			}
			d.Layer("axis", "").Add((&draw.Path{Named: draw.Named{ID: "meeting-" + strconv.Itoa(int(sec*1000))},
				Stroke: draw.Stroke{Ink: accent, WidthMM: 0.5}}).Line(a.at(sec), y+rulerHeight*0.8, a.at(sec), bottom))
		}
	}
}

// secondSteps are distances of seconds that are numbered.
var secondSteps = []float64{0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30}

// ruler draws the seconds above a system: a tick for each step, its number, and
// a faint line through the staves.
func (s *scoreWriter) ruler(d *draw.Drawing, a axis, y, bottom float64) {
	l := d.Layer("axis", "")
	line := y + rulerHeight*0.8
	l.Add((&draw.Path{Stroke: draw.Hair(draw.InkSecond)}).Line(a.x, line, a.at(a.to), line))
	step := secondSteps[len(secondSteps)-1]
	for _, t := range secondSteps {
		if t*a.mmSec >= 9 {
			step = t
			break
		}
	}
	ticks := &draw.Path{Stroke: draw.Hair(draw.InkSecond)}
	faint := &draw.Path{Stroke: draw.Stroke{Ink: draw.Hex(0xd8d2c6), WidthMM: 0.12}}
	for n := math.Ceil(a.from/step - 1e-9); n*step < a.to-1e-9 || n*step <= s.to && n*step <= a.to+1e-9; n++ {
		x := a.at(n * step)
		ticks.Line(x, line, x, line-1)
		faint.Line(x, line, x, bottom)
		text := s.book.Decimal(clock(n*step, step < 1))
		l.Add(&draw.Text{At: draw.Point{X: x, Y: line - 1.4}, Text: text, SizeMM: 2.33, Face: typeface.Sans,
			Ink: draw.InkSecond, Anchor: draw.Middle})
	}
	l.Add(faint, ticks)
}

// clock writes a time as 1:23, or 1:23.4 with tenths, the nearest.
func clock(sec float64, tenths bool) string {
	if tenths {
		return say.Clock(sec, 1)
	}
	return say.Clock(math.Floor(sec+1e-9), 0)
}

// row draws a voice of a system, the top of its room at y.
func (s *scoreWriter) row(d *draw.Drawing, r *row, a axis, y float64) {
	look := NewLook(s.space)
	if !s.o.BlackInk {
		look.Hue = draw.VoiceHue(r.voice)
	}
	staves := newPen(d.Layer("staves", ""), look)
	lowest := make([]float64, len(r.part.Staves))
	at := y + r.above*s.space
	for i, clef := range r.part.Staves {
		lowest[i] = at + 4*s.space
		staves.staff(a.x-4.2*s.space, a.at(a.to), lowest[i], 5)
		staves.clef(a.x-4*s.space, lowest[i], clef)
		at = lowest[i] + r.gap*s.space
	}
	bottom := lowest[len(lowest)-1]
	if len(lowest) == 2 {
		staves.line(a.x-4.2*s.space, lowest[0]-4*s.space, a.x-4.2*s.space, bottom, barLine, look.Ink)
	}
	s.name(d, r, (y+r.above*s.space+bottom)/2)
	s.marks(d, r, a, y+r.above*s.space, bottom, look)
	s.notes(d, r, a, lowest, look)
}

// name writes the voice's name with a piece of its line.
func (s *scoreWriter) name(d *draw.Drawing, r *row, y float64) {
	l := d.Layer("words", "")
	size := min(2.8, 2*s.space)
	room := nameWidth - 4.2*s.space - 2
	stroke := draw.VoiceStroke(r.voice, 0.6)
	if s.o.BlackInk {
		stroke.Ink = draw.Black
	}
	l.Add(&draw.Text{At: draw.Point{X: scoreMargin, Y: y}, Text: typeface.Sans.Fit(r.name, size, room), SizeMM: size,
		Face: typeface.Sans, Ink: draw.InkDark},
		(&draw.Path{Stroke: stroke}).Line(scoreMargin, y+1.6, scoreMargin+min(8, room), y+1.6))
}

// marks draws where statements begin: of the talea above the staff, of the color
// below it, each with its number.
func (s *scoreWriter) marks(d *draw.Drawing, r *row, a axis, top, bottom float64, look Look) {
	l := d.Layer("statements", "")
	size := min(2.33, 1.7*s.space)
	accent := draw.Brass
	if s.o.BlackInk {
		accent = draw.Black
	}
	draws := func(marks []mark, kind string, y, textY float64, toward float64, ink draw.Ink) {
		free := math.Inf(-1)
		for _, m := range marks {
			if !a.has(m.sec) {
				continue
			}
			x := a.at(m.sec)
			tick := (&draw.Path{Stroke: draw.Stroke{Ink: ink, WidthMM: 0.3}}).Line(x, y, x, y+toward)
			tick.ID = fmt.Sprintf("%s-%d-%d", kind, r.voice+1, m.n)
			l.Add(tick)
			t := &draw.Text{At: draw.Point{X: x + 0.5, Y: textY}, Text: strconv.Itoa(m.n), SizeMM: size, Face: typeface.Sans,
				Ink: ink}
			if x >= free {
				l.Add(t)
				free = x + t.WidthMM() + 1
			}
		}
	}
	reach := 1.6 * s.space
	high, low := top-(r.above-2.2)*s.space, bottom+(r.below-2.2)*s.space
	draws(r.taleae, "talea", high, high-reach+size*0.72, -reach, draw.InkSecond)
	draws(r.colores, "color", low, low+reach, reach, accent)
}

// notes draws the heads of a system with the lines of their lengths. Heads of
// one instant and neighbouring places stand side by side.
func (s *scoreWriter) notes(d *draw.Drawing, r *row, a axis, lowest []float64, look Look) {
	heads := newPen(d.Layer("notes", ""), look)
	lengths := &draw.Path{Named: draw.Named{ID: fmt.Sprintf("lengths-%d-%d", r.voice+1, int(a.from*1000))},
		Stroke: draw.Stroke{Ink: look.Hue, WidthMM: 0.22 * s.space, Cap: draw.Butt}}
	for i := 0; i < len(r.strokes); {
		j := i + 1
		for j < len(r.strokes) && r.strokes[j].start-r.strokes[i].start < 1e-6 && r.strokes[j].small == r.strokes[i].small {
			j++
		}
		group := r.strokes[i:j]
		i = j
		if group[0].start >= a.to {
			break
		}
		if group[len(group)-1].end <= a.from {
			continue
		}
		s.together(heads, lengths, r, group, a, lowest)
	}
	if len(lengths.Steps) > 0 {
		d.Layer("lengths", "").Add(lengths)
	}
}

// together draws strokes of one instant, or what of their lengths reaches into
// this system.
func (s *scoreWriter) together(heads *pen, lengths *draw.Path, r *row, group []stroke, a axis, lowest []float64) {
	pitches := make([][]notation.Pitch, len(r.part.Staves))
	scale := 1.0
	if group[0].small {
		scale = 0.6
	}
	w := headWidth * s.space * scale
	for _, k := range group {
		p := k.pitch
		i := r.part.Staff(p)
		y := heads.at(lowest[i], r.part.Staves[i].Place(p))
		from := a.x
		if a.has(k.start) {
			pitches[i] = append(pitches[i], p)
			from = a.at(k.start) + w
		}
		if to := a.kept(k.end); to > from+0.1 {
			lengths.Line(from, y, to, y)
		}
	}
	if !a.has(group[0].start) {
		return
	}
	x := a.at(group[0].start)
	for i, ps := range pitches {
		if len(ps) == 0 {
			continue
		}
		c := newChord(r.part.Staves[i], ps, func(p notation.Pitch) bool { return p.Alter != 0 })
		c.point(true)
		c.left(heads)
		for k := range c.notes {
			n := &c.notes[k]
			shift := max(0, n.shift) * w
			y := heads.at(lowest[i], n.place)
			heads.ledgers(x+shift, lowest[i], n.place, w)
			heads.sign(x+shift, y, headBlack, heads.look.Ink, scale)
			if n.sign != 0 {
				heads.sign(x+n.accX*scale, y, n.sign, heads.look.Ink, scale)
			}
		}
	}
}
