// Package labels draws what is stuck on rolls, on their boxes.
//
// Its input is the spools of a piece with what is known of its pianos; its
// output draw.Drawing pages, A4 or Letter, standing, 1:1 in millimetres: a page
// of labels for each roll, a page of cues for each spool of several pianos, a
// page about leader, tab, paper.
package labels

import (
	"fmt"
	"math"
	"strconv"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/making/bench"
	"rollwright/paper/instrument"
	"rollwright/paper/spools"
	"rollwright/text/say"
)

// LeastRestSec is the shortest rest that Set.Rests need hold: a shorter one is
// no place for players to wait for each other.
const LeastRestSec = 0.5

// Set is all rolls of a piece. The zero values of Pair and Stretch are good.
type Set struct {
	Title    string
	Composer string
	Letter   bool
	Spools   []*spools.Spool // spool after spool, the pianos of each in order
	Cues     [][]spools.Cue  // of each spool; nil: none
	Lengths  bench.Lengths   // how lengths are written: as at the bench
	// of each spool: its worksheet counts from a zero line so far before the row of time 0; nil: from that row
	ZeroMM  []float64
	Pair    spools.Pair
	Stretch instrument.Stretch // that the spools were laid out for
	Rests   []spools.Rest      // of the whole piece, all pianos together
	Date    string             // when the rolls were punched, as it is to be printed; empty: room to write it
	Copies  int                // labels for so many copies of every roll, numbered; 0 and 1: for one, without a number
}

const (
	edgeMM  = 11
	textMM  = 3.4
	smallMM = 2.8
)

// page is one sheet in the making.
type page struct {
	*draw.Drawing
	l           *draw.Layer
	left, right float64
	w, h, y     float64
}

func (s *Set) page(id, subject string) *page {
	w, h := 210.0, 297.0 // A4, ISO 216
	if s.Letter {
		w, h = 215.9, 279.4 // 8 1/2 x 11 in, ANSI/ASME Y14.1
	}
	d := &draw.Drawing{Frame: draw.Box(0, 0, w, h), Title: s.title(), Author: s.Composer, Subject: subject}
	return &page{Drawing: d, l: d.Layer(id, subject), left: edgeMM, right: w - edgeMM, w: w, h: h, y: edgeMM}
}

func (s *Set) title() string {
	if t := typeface.Clean(s.Title); t != "" {
		return t
	}
	return "Untitled"
}

// Pages are all sheets.
func (s *Set) Pages() []*draw.Drawing {
	var out []*draw.Drawing
	for i, spool := range s.Spools {
		for n := range max(s.Copies, 1) {
			out = append(out, s.labels(spool, n+1))
		}
		last := i+1 == len(s.Spools) || s.Spools[i+1].Number != spool.Number
		if last && (s.pianos() > 1 || i < len(s.Cues) && len(s.Cues[i]) > 0) {
			out = append(out, s.together(i)...)
		}
	}
	return append(out, s.paper())
}

// pianos is how many rolls each spool has.
func (s *Set) pianos() int {
	n := 0
	for _, spool := range s.Spools {
		if spool.Number == s.Spools[0].Number {
			n++
		}
	}
	return n
}

// labels are the labels of one copy of a roll: to cut out and stick on.
func (s *Set) labels(spool *spools.Spool, number int) *draw.Drawing {
	p := s.page("labels", "Labels for roll and box")
	p.note("Cut along the dashes. On the leader, the right way up when the beginning of the roll hangs down:")
	s.label(p, spool, number, p.box(p.right-p.left, 58), 9.5)
	p.y += 7
	p.note("On the lid of the box:")
	s.label(p, spool, number, p.box(p.right-p.left, 44), 7.5)
	p.y += 7
	p.note("On the end of the box:")
	y := p.y
	s.end(p, spool, number, p.box(58, 58))
	p.y = y + 4
	s.facts(p, spool, p.left+68)
	return p.Drawing
}

// box is a label's outline at the current line; the line moves below it.
func (p *page) box(w, h float64) draw.Rect {
	r := draw.Box(p.left, p.y, p.left+w, p.y+h)
	p.l.Add((&draw.Path{Stroke: draw.Stroke{Ink: draw.InkSecond, WidthMM: 0.15, DashMM: []float64{2, 1.5}}}).Rect(r))
	p.y += h
	return r
}

func (p *page) note(text string) {
	p.l.Add(draw.Second(draw.Label(p.left, p.y+3, smallMM, text, draw.Start)))
	p.y += 5
}

// label is title, composer, spool, tempo, length on a wide label. The title goes
// on beside the tempo as far as the lines at the foot leave it room.
func (s *Set) label(p *page, spool *spools.Spool, number int, r draw.Rect, size float64) {
	const inset, plate, plateHigh = 6, 40, 20.5
	x, right := r.Min.X+inset, r.Max.X-inset
	beside := right - plate - 6 - x
	foot := r.Max.Y - inset
	p.l.Add(draw.Label(x, foot, textMM, typeface.Sans.Fit(s.measure(spool)+" · "+typeface.Clean(spool.Instrument.Title),
		textMM, right-x), draw.Start))
	foot -= 4.4
	p.l.Add(draw.Label(x, foot, textMM, s.punched(spool), draw.Start))

	which := s.which(spool, number, room{width: right - x, height: 5, size: 5, least: 4.5, lines: 1})
	if !which.whole {
		which = s.which(spool, number, room{width: beside, height: 12, size: 5, least: 3.6, lines: 2})
	}
	foot -= 6.4
	p.block(which, x, foot-which.rise(), typeface.SansBold, draw.Start)

	top := r.Min.Y + inset
	height := foot - which.rise() - ascent*which.size - 1.5 - top
	if s.Composer != "" {
		height -= 6.5
	}
	title := room{width: beside, height: height, size: size, least: 4, lines: 3}.set(typeface.Serif, s.title())
	y := top + ascent*title.size
	p.block(title, x, y, typeface.Serif, draw.Start)
	if s.Composer != "" {
		y += title.rise() + title.size*0.35 + 4.6
		p.block(room{width: beside, size: 5, least: 3.6, lines: 1}.set(typeface.SerifItalic, typeface.Clean(s.Composer)), x,
			y, typeface.SerifItalic, draw.Start)
	}
	tempo := draw.Box(right-plate, top-1, right, top-1+plateHigh)
	p.l.Add((&draw.Path{Stroke: draw.Stroke{Ink: draw.Brass, WidthMM: 0.8}}).Rect(tempo))
	mid := (tempo.Min.X + tempo.Max.X) / 2
	word, value := "TEMPO", s.tempo(spool)
	if spool.Instrument.Transport.Crank {
		word, value = "A METRE IN", s.metre(spool)
	}
	p.l.Add(draw.Bold(mid, tempo.Min.Y+6, 3.6, word, draw.Middle),
		draw.Bold(mid, tempo.Max.Y-3.6, 14, value, draw.Middle))
}

// block adds the lines of b, the foot of the first at y; what is set in italics
// is of second rank.
func (p *page) block(b block, x, y float64, face typeface.Face, anchor draw.Anchor) {
	for _, line := range b.lines {
		t := draw.Serif(x, y, b.size, line, anchor)
		if face == typeface.SerifItalic {
			t = draw.Second(t)
		}
		t.Face = face
		p.l.Add(t)
		y += b.lead()
	}
}

// end is the square label.
func (s *Set) end(p *page, spool *spools.Spool, number int, r draw.Rect) {
	mid, width := (r.Min.X+r.Max.X)/2, r.W()-8
	pace := "tempo " + s.tempo(spool)
	if spool.Instrument.Transport.Crank {
		pace = "a metre in " + s.metre(spool)
	}
	p.l.Add(draw.Label(mid, r.Max.Y-5.5, textMM, pace, draw.Middle))
	which := s.which(spool, number, room{width: width, height: 11, size: 4.2, least: 3.2, lines: 3})
	foot := r.Max.Y - 12 - which.rise()
	p.block(which, mid, foot, typeface.SansBold, draw.Middle)

	const top = 7.5
	height := foot - ascent*which.size - 1 - r.Min.Y - top
	if s.Composer != "" {
		height -= 5.5
	}
	title := room{width: width, height: height, size: 6.5, least: 3.2, lines: 5}.set(typeface.Serif, s.title())
	y := r.Min.Y + top + ascent*title.size
	p.block(title, mid, y, typeface.Serif, draw.Middle)
	if s.Composer != "" {
		y += title.rise() + title.size*0.3 + 5.4
		p.block(room{width: width, size: 4, least: 3.4, lines: 1}.set(typeface.SerifItalic, typeface.Clean(s.Composer)), mid,
			y, typeface.SerifItalic, draw.Middle)
	}
}

// punched is when and how damp, with room for what nobody knows yet: paper that has
// taken up damp since then is wider by so much.
func (s *Set) punched(spool *spools.Spool) string {
	on := "____________"
	if s.Date != "" {
		on = typeface.Clean(s.Date)
	}
	return "punched " + on + " at ____ % humidity; keep it there: " + s.damp(spool.Instrument)
}

// metre is how long a hand that turns the crank takes for a metre of paper, whatever
// size it had at the bench.
func (s *Set) metre(spool *spools.Spool) string {
	mmPerSec := spool.Instrument.Transport.SpeedMMPerSec()
	if s.Stretch.Along != 0 {
		mmPerSec /= s.Stretch.Along
	}
	return strconv.FormatFloat(math.Round(1000/mmPerSec), 'f', -1, 64) + " s"
}

// which says which roll of the piece this is, and which copy of it. A name that is
// too long is cut, never the number of the spool.
func (s *Set) which(spool *spools.Spool, number int, r room) block {
	text := "one spool"
	if spool.Of > 1 {
		text = fmt.Sprintf("spool %d of %d", spool.Number, spool.Of)
	}
	if s.Copies > 1 {
		text += fmt.Sprintf(" · copy %d of %d", number, s.Copies)
	}
	if spool.Name == "" {
		return r.set(typeface.SansBold, text)
	}
	return r.shortened(typeface.SansBold, "piano ", typeface.Clean(spool.Name), " · "+text)
}

// tempo is the roll tempo to set at the instrument, whatever size the paper had
// at the bench.
func (s *Set) tempo(spool *spools.Spool) string {
	t := spool.Instrument.Transport.LeverTempo()
	if s.Stretch.Along != 0 {
		t /= s.Stretch.Along
	}
	return strconv.FormatFloat(math.Round(t*10)/10, 'f', -1, 64)
}

// music is how long the music on a spool is: that of all pianos together, for
// their rolls are wound up to the same instant.
func (s *Set) music(spool *spools.Spool) (sec, mm float64) {
	rolls := s.rolls(spool.Number)
	for _, r := range rolls {
		sec = max(sec, r.EndSec)
	}
	return sec, spools.EndMM(spool.Roll, rolls)
}

// measure is the same in words: the bench's units first.
func (s *Set) measure(spool *spools.Spool) string {
	sec, mm := s.music(spool)
	first, second := bench.Millimetres, bench.Inches64
	if s.Lengths != bench.Millimetres {
		first, second = second, first
	}
	return fmt.Sprintf("lasts %s · %s (%s) of music", say.Clock(sec, 1), first.Long(mm), second.Long(mm))
}

// facts are what the maker wants to know of a roll.
func (s *Set) facts(p *page, spool *spools.Spool, x float64) {
	paper := spool.Instrument.Paper
	_, music := s.music(spool)
	all := paper.LeaderMM + music + paper.TrailerMM
	across, turns := bench.Wound(spool.Instrument.Transport, all)
	leader := "leader with tab"
	if !tabbed(spool.Instrument) {
		leader = "leader"
	}
	p.l.Add(draw.Bold(x, p.y, 4, "This roll", draw.Start))
	p.y += 6
	for _, line := range [][2]string{
		{"of the piece", say.Clock(spool.FromSec, 1) + " to " + say.Clock(spool.ToSec, 1)},
		{leader, s.Lengths.Long(paper.LeaderMM)},
		{"music", s.Lengths.Long(music)},
		{"trailer", s.Lengths.Long(paper.TrailerMM)},
		{"paper in all", s.Lengths.Long(all)},
		{"wound up", say.Count(int(math.Round(turns)), "turn") + ", " + s.Lengths.Across(across) + " across"},
		{"slots", strconv.Itoa(len(spool.Slots))},
	} {
		p.l.Add(draw.Label(x, p.y, textMM, line[0], draw.Start), draw.Bold(p.right, p.y, textMM, line[1], draw.End))
		p.y += 5
	}
	if spool.Crossing > 0 {
		text := fmt.Sprintf("%d notes sound across the end of this spool: they stop there, and the next spool does not strike them again.", spool.Crossing)
		if spool.Crossing == 1 {
			text = "One note sounds across the end of this spool: it stops there, and the next spool does not strike it again."
		}
		p.y += 1.5
		p.wrap(x, text)
	}
}

// wrap sets a paragraph from x to the right edge.
func (p *page) wrap(x float64, text string) {
	for _, line := range typeface.Serif.Wrap(text, 3.6, p.right-x) {
		p.l.Add(draw.Serif(x, p.y, 3.6, line, draw.Start))
		p.y += 4.8
	}
}

func (p *page) paragraph(head, text string) {
	p.l.Add(draw.Bold(p.left, p.y, 4, head, draw.Start))
	p.y += 5.6
	p.wrap(p.left, text)
	p.y += 3.4
}
