package figure

import (
	"fmt"
	"math"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/text/words"
)

// A kit is sheets to cut out: the two series as wheels that roll on each other and as
// strips that lie above each other, and two voices of different tempo as strips of one
// scale. Lengths are millimetres.

// The sheet of a kit.
const (
	kitMargin  = 12.0
	kitWords   = 3.6  // the em of what is read
	kitNames   = 4.2  // at most, of names on wheels and strips
	kitTab     = 8.0  // that is glued under the next strip
	kitStrip   = 15.0 // how high a strip is
	kitGap     = 5.0
	leastCell  = 9.0 // of a strip, and between two marks of a wheel: fingers have to hold them
	mostCell   = 16.0
	mostMark   = 40.0
	kitCopies  = 5 // strips of each series that are printed at most
	kitRows    = 3 // of each of two tempos
	kitPerMark = 7 // least millimetres between two strokes of the slower one, about
)

// KitOptions are a kit's paper, voices and words.
type KitOptions struct {
	Options
	Letter bool // paper: Letter, else A4
}

// Kit draws the sheets of a kit, for Options.Voice, and for Options.Pair or the first two
// voices of different tempos. Wheels with too many marks to be cut out are left out, and so
// are the strips of two tempos where the piece has not two.
func Kit(in *Input, o *KitOptions) ([]*draw.Drawing, error) {
	book := o.Book
	if book == nil {
		book = words.English()
	}
	if o.Plain {
		book = book.Plain()
	}
	c, err := newCycle(in, &o.Options)
	if err != nil {
		return nil, err
	}
	k := &kit{cycle: c, in: in, o: o, book: book, talk: book.Begin(), width: 210, height: 297}
	if o.Letter {
		k.width, k.height = 215.9, 279.4
	}
	if cell := k.mark(); cell >= leastCell {
		k.wheels(cell)
	}
	k.strips()
	if err := k.tempos(); err != nil {
		return nil, err
	}
	for i, d := range k.pages {
		foot := book.Say("score.page", words.Args{"page": i + 1, "pages": len(k.pages)})
		d.Layer("words", "").Add(k.text(k.width-kitMargin, k.height-kitMargin+3, 2.6, foot, draw.End),
			k.text(kitMargin, k.height-kitMargin+3, 2.6, typeface.Sans.Fit(in.Title, 2.6, 120), draw.Start))
	}
	return k.pages, nil
}

type kit struct {
	*cycle
	in            *Input
	o             *KitOptions
	book          *words.Book
	talk          *words.Talk
	width, height float64
	pages         []*draw.Drawing
	y             float64 // down to where the last page is filled
}

func (k *kit) text(x, y, size float64, s string, a draw.Anchor) *draw.Text {
	return label(x, y, size, s, draw.InkDark, a)
}

// page begins a page with a title and with what is done with it.
func (k *kit) page(title string, how ...string) {
	d := &draw.Drawing{Frame: draw.Box(0, 0, k.width, k.height), Ground: draw.White, Title: k.in.Title + ": " + title,
		Author: k.in.Author}
	for _, id := range []string{"cut", "glue", "marks", "words"} {
		d.Layer(id, "")
	}
	k.pages = append(k.pages, d)
	l := d.Layer("words", "")
	l.Add(&draw.Text{At: draw.Point{X: kitMargin, Y: kitMargin + 5}, Text: title, SizeMM: 6, Face: typeface.Serif,
		Ink: draw.InkDark})
	k.y = kitMargin + 12
	for _, paragraph := range how {
		for _, line := range typeface.Serif.Wrap(paragraph, kitWords, k.width-2*kitMargin) {
			l.Add(&draw.Text{At: draw.Point{X: kitMargin, Y: k.y}, Text: line, SizeMM: kitWords, Face: typeface.Serif,
				Ink: draw.InkDark})
			k.y += kitWords * 1.35
		}
	}
	k.y += 3
}

func (k *kit) layer(id string) *draw.Layer { return k.pages[len(k.pages)-1].Layer(id, "") }

func (k *kit) ink(voice int) draw.Ink {
	if k.o.Ink == BlackInk {
		return draw.Black
	}
	return draw.VoiceStroke(voice, 1).Ink
}

// room is how high the part of a page with wheels is.
func (k *kit) room() float64 { return k.height - 2*kitMargin - 52 }

// mark is how far apart the marks of both wheels are along their rims, so that the wheels,
// one below the other, fill the page.
func (k *kit) mark() float64 {
	n, m := float64(len(k.color)), float64(len(k.strokes))
	return min(mostMark, (k.room()-kitGap)*math.Pi/(n+m), (k.width-2*kitMargin)*math.Pi/max(n, m))
}

func (k *kit) wheels(mark float64) {
	k.page(k.book.Say("kit.wheels", nil), k.talk.Say("kit.wheels.how", k.kitArgs()), k.book.Say("kit.wheels.turn",
		k.kitArgs()))
	durations := make([]string, len(k.strokes))
	for i, at := range k.strokes {
		durations[i] = k.duration(at)
	}
	r := func(n int) float64 { return mark * float64(n) / (2 * math.Pi) }
	y := k.y + r(len(k.color))
	k.wheel("color-wheel", k.width/2, y, r(len(k.color)), -1, k.color)
	k.wheel("talea-wheel", k.width/2, y+r(len(k.color))+kitGap+r(len(k.strokes)), r(len(k.strokes)), 1, durations)
}

// wheel is a disc with a mark on its rim for each member, the first one's bold; clockwise,
// or against it where sense is -1: of two that roll on each other one goes either way.
func (k *kit) wheel(id string, x, y, r, sense float64, names []string) {
	cut, marks := k.layer("cut"), k.layer("marks")
	rim := disc(x, y, r, draw.Ink{}, draw.Stroke{Ink: draw.InkDark, WidthMM: 0.4})
	rim.Fill = draw.White
	rim.ID = id
	cut.Add(rim)
	for _, line := range [][4]float64{{x - 2, y, x + 2, y}, {x, y - 2, x, y + 2}} { // for the pin
		marks.Add((&draw.Path{Stroke: draw.Stroke{Ink: draw.InkSecond, WidthMM: draw.Hairline}}).Line(line[0], line[1],
			line[2], line[3]))
	}
	tick := min(5, r*0.25)
	size := kitNames
	for _, name := range names { // a name fits between the mark and the pin, and beside its neighbours
		size = min(size, size*(r-tick-4)/max(typeface.Sans.Width(name, size), 1e-9),
			(r-tick-1)*2*math.Pi/float64(len(names))*0.8)
	}
	for i, name := range names {
		a := sense*2*math.Pi*float64(i)/float64(len(names)) - math.Pi/2
		sin, cos := math.Sincos(a)
		at := func(r float64) draw.Point { return draw.Point{X: x + r*cos, Y: y + r*sin} }
		stroke := draw.Stroke{Ink: k.ink(k.index), WidthMM: 0.5}
		if i == 0 {
			stroke.WidthMM = 1.6
		}
		marks.Add((&draw.Path{Stroke: stroke}).Line(at(r).X, at(r).Y, at(r-tick).X, at(r-tick).Y))
		if size < 1.2 {
			continue
		}
		turn := a * 180 / math.Pi
		t := label(0, 0, size, name, draw.InkDark, draw.End)
		if cos < -1e-9 {
			turn, t.Anchor = turn+180, draw.Start
		}
		s, c := math.Sincos(turn * math.Pi / 180)
		p := at(r - tick - 1)
		t.At = draw.Point{X: p.X - s*capHalf(size), Y: p.Y + c*capHalf(size)}
		t.TurnDeg, t.ID = turn, fmt.Sprintf("%s-%d", id, i+1)
		marks.Add(t)
	}
}

func (k *kit) kitArgs() words.Args {
	return words.Args{"voice": k.voice.Name, "pitches": len(k.color), "strokes": len(k.strokes), "notes": k.notes,
		"taleae": k.taleae, "colores": k.colores}
}

// strips are those of the two series, a cell for each note, as many as it takes until both
// end together, but for what would be more than a few sheets.
func (k *kit) strips() {
	k.page(k.book.Say("kit.strips", nil), k.book.Say("kit.strips.how", k.kitArgs()), k.book.Say("kit.strips.count",
		k.kitArgs()))
	durations := make([]string, len(k.strokes))
	for i, at := range k.strokes {
		durations[i] = k.duration(at)
	}
	for range min(k.taleae, kitCopies) {
		k.series("talea", durations)
	}
	for range min(k.colores, kitCopies) {
		k.series("color", k.color)
	}
}

// series is one statement as a strip, in several pieces where it is long.
func (k *kit) series(id string, names []string) {
	room := k.width - 2*kitMargin - kitTab
	cell := min(mostCell, max(leastCell, room/float64(max(len(k.color), len(k.strokes))))) // of both series
	most := int(room / cell)
	for from := 0; from < len(names); from += most {
		part := names[from:min(from+most, len(names))]
		x0, y := kitMargin, k.row()
		x1 := x0 + cell*float64(len(part))
		k.tab(x1, y)
		k.layer("cut").Add(box(draw.Box(x0, y, x1, y+kitStrip), draw.White, draw.Stroke{Ink: draw.InkDark, WidthMM: 0.4}))
		for i, name := range part {
			x := x0 + cell*float64(i)
			if i > 0 {
				k.layer("marks").Add((&draw.Path{Stroke: draw.Stroke{Ink: draw.InkSecond, WidthMM: draw.Hairline}}).Line(x, y,
					x, y+kitStrip))
			}
			size := min(kitNames, kitNames*(cell-1)/max(typeface.Sans.Width(name, kitNames), 1e-9))
			t := middle(x+cell/2, y+kitStrip/2, size, name, draw.InkDark)
			t.ID = fmt.Sprintf("%s-strip-%d-%d", id, len(k.layer("marks").Marks), from+i+1)
			if from+i == 0 {
				bold(t)
			}
			k.layer("marks").Add(t)
		}
	}
}

// row is where the next strip begins, on a new page where this one is full.
func (k *kit) row() float64 {
	if k.y+kitStrip > k.height-kitMargin-4 {
		title := k.pages[len(k.pages)-1].Title
		k.page(title[len(k.in.Title)+2:])
	}
	y := k.y
	k.y += kitStrip + kitGap
	return y
}

// tab is what is glued under the strip that follows.
func (k *kit) tab(x, y float64) {
	k.layer("glue").Add(box(draw.Box(x, y+1, x+kitTab, y+kitStrip-1), draw.Hex(0xe6e6e6),
		draw.Stroke{Ink: draw.InkSecond, WidthMM: draw.Hairline}))
}

// tempos are strips of two voices in one scale of time, each from its own beginning: laid
// one above the other they show strokes that fall together.
func (k *kit) tempos() error {
	a, b, ok, err := k.in.pair(&k.o.Options)
	if err != nil {
		return err
	}
	if !ok {
		if a, b, ok = k.in.twoTempos(); !ok {
			return nil
		}
	}
	lines := k.in.Performance.Lines
	first := lines[a]
	length := max(first.EndSec-first.StartSec, 1e-9)
	scale := max(1, math.Round(kitPerMark*float64(first.Notes)/length)) // millimetres a second
	voices := k.in.Performance.Piece.Voices
	k.page(k.book.Say("kit.tempos", words.Args{"a": voices[a].Name, "b": voices[b].Name}), k.book.Say("kit.tempos.how",
		words.Args{"mm": int(scale)}), k.book.Say("kit.tempos.slide", nil))
	for _, line := range []int{a, b} {
		k.layer("words").Add(k.text(kitMargin, k.y+kitWords, kitWords, voices[line].Name, draw.Start))
		k.y += kitWords * 1.8
		k.tempo(line, scale)
	}
	return nil
}

// tempo is the strip of a voice: a line for each stroke, in a few pieces.
func (k *kit) tempo(voice int, scale float64) {
	line := k.in.Performance.Lines[voice]
	long := k.width - 2*kitMargin - kitTab
	end := (line.EndSec - line.StartSec) * scale
	for row := 0; row < kitRows && float64(row)*long < end; row++ {
		from := float64(row) * long
		to := min(from+long, end)
		y := k.row()
		k.tab(kitMargin+to-from, y)
		k.layer("cut").Add(box(draw.Box(kitMargin, y, kitMargin+to-from, y+kitStrip), draw.White,
			draw.Stroke{Ink: draw.InkDark, WidthMM: 0.4}))
		for it := range line.All() {
			at := (it.StartSec - line.StartSec) * scale
			if it.Silent || at < from || at >= to {
				continue
			}
			k.layer("marks").Add((&draw.Path{Named: draw.Named{ID: fmt.Sprintf("stroke-%d-%d", voice, it.Note)},
				Stroke: draw.Stroke{Ink: k.ink(voice), WidthMM: 1}}).Line(kitMargin+at-from, y+1, kitMargin+at-from, y+kitStrip-1))
		}
	}
}

// twoTempos are the first two voices with a constant tempo each, and not the same.
func (in *Input) twoTempos() (a, b int, ok bool) {
	lines := in.Performance.Lines
	for a := range lines {
		x, ok := lines[a].SecondsPerUnit()
		for b := a + 1; ok && b < len(lines); b++ {
			if y, ok := lines[b].SecondsPerUnit(); ok && x.Cmp(y) != 0 && lines[a].Notes > 2 && lines[b].Notes > 2 {
				return a, b, true
			}
		}
	}
	return 0, 0, false
}
