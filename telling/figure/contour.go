package figure

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"rollwright/draw"
	"rollwright/music/event"
	"rollwright/music/pitch"
	"rollwright/text/words"
)

// contour is how voices rise and fall: the pitch of each note over time, joined from
// note to note, with a line across where a series begins again. Its layers are
// "axes", "statements", "lines", "notes" and "names".
type contour struct {
	in       *Input
	voices   []int
	from, to float64
	notes    map[int][]event.Event // of each voice, in order
}

// mostContours is how many voices can be told from each other.
const mostContours = 4

func newContour(in *Input, o *Options) (view, error) {
	voices, err := in.chosen(o)
	if err != nil {
		return nil, err
	}
	if len(voices) > mostContours {
		voices = voices[:mostContours]
	}
	v := &contour{in: in, voices: voices, notes: map[int][]event.Event{}}
	if v.from, v.to, err = in.stretch(o, voices); err != nil {
		return nil, err
	}
	any := false
	for e := range in.Performance.Events() {
		if slices.Contains(voices, int(e.Voice)) && e.StartSec >= v.from-1e-9 && e.StartSec < v.to {
			v.notes[int(e.Voice)] = append(v.notes[int(e.Voice)], e)
			any = true
		}
	}
	if !any {
		return nil, fmt.Errorf("no note of %s begins between %s and %s", v.names(), clock(v.from, 1), clock(v.to, 1))
	}
	return v, nil
}

func (v *contour) names() string {
	var names []string
	for _, i := range v.voices {
		names = append(names, v.in.Performance.Piece.Voices[i].Name)
	}
	return strings.Join(names, ", ")
}

func (v *contour) title(t *words.Talk) string {
	return t.Book().Say("contour.title", words.Args{"voices": v.names()})
}

func (v *contour) caption(t *words.Talk, short bool) string {
	if short {
		return t.Say("contour.read-short", nil)
	}
	return t.Say("contour.read", nil)
}

func (v *contour) draw(c *canvas, f *Figure) {
	const left, head, right = 14.0, labelSize * 2.4, 34.0
	bottom := c.height - timeAxisRoom
	if c.size == Page {
		bottom = head + 64
	}
	h := newChart(c, left, head, c.width-right, bottom)
	h.x.From, h.x.To = v.from, v.to
	low, high := 127, 0
	for _, list := range v.notes {
		for _, e := range list {
			low, high = min(low, int(e.Key)), max(high, int(e.Key))
		}
	}
	h.y.From, h.y.To = float64(low)-1.5, float64(high)+1.5
	f.Time = &h.x
	book := c.talk.Book()
	h.timeAxis(book.Say("axis.time", nil))
	h.valueAxis(book.Say("axis.pitch", nil), pitchTicks(book, low, high, (bottom-head)/(labelSize*1.6)))
	var flags []flag
	for _, i := range v.voices {
		list := v.notes[i]
		if len(list) == 0 {
			continue
		}
		v.statements(c, h, i)
		top := tops(list)
		line := &draw.Path{Named: draw.Named{ID: fmt.Sprintf("contour-%d", i+1)}, Stroke: c.stroke(i, draw.MainLine)}
		var at []draw.Point
		for _, e := range top {
			at = append(at, draw.Point{X: h.x.At(e.StartSec), Y: h.y.At(float64(e.Key))})
		}
		c.layer("lines").Add(line.Polyline(at...))
		dots := &draw.Slots{Named: draw.Named{ID: fmt.Sprintf("notes-%d", i+1)}, Ink: c.hue(i), WidthMM: 1.6}
		for _, e := range list {
			x, y := h.x.At(e.StartSec), h.y.At(float64(e.Key))
			dots.Segments = append(dots.Segments, draw.Segment{X1: x, Y1: y, X2: x, Y2: y})
		}
		c.layer("notes").Add(dots)
		flags = append(flags, flag{at[len(at)-1].Y, i, v.in.Performance.Piece.Voices[i].Name})
	}
	h.flags(h.x.ToMM+2, flags)
	c.used = bottom + timeAxisRoom
}

// statements are short lines where the color begins again, at the height of its
// first note; of one voice they go all the way up.
func (v *contour) statements(c *canvas, h *chart, voice int) {
	l, color := c.layer("statements"), -1
	for item := range v.in.Performance.Lines[voice].All() {
		if item.Silent || item.StartSec >= v.to {
			continue
		}
		if item.Color != color && item.StartSec >= v.from-1e-9 && len(v.voices) == 1 {
			x := h.x.At(item.StartSec)
			l.Add(line(x, h.y.FromMM, x, h.y.ToMM, draw.Stroke{Ink: c.tint(voice, 0.5), WidthMM: draw.Hairline}))
		}
		color = item.Color
	}
}

// tops are the highest notes of chords, one an onset.
func tops(list []event.Event) []event.Event {
	sorted := slices.Clone(list)
	slices.SortStableFunc(sorted, func(a, b event.Event) int {
		return cmp.Or(cmp.Compare(a.StartSec, b.StartSec), cmp.Compare(b.Key, a.Key))
	})
	return slices.CompactFunc(sorted, func(a, b event.Event) bool { return math.Abs(a.StartSec-b.StartSec) < 1e-9 })
}

// pitchTicks are the Cs in reach, or where there is room the naturals of every third;
// at least one.
func pitchTicks(b *words.Book, low, high int, most float64) []tick {
	for _, keys := range [][]int{{0, 4, 7}, {0}} {
		var ticks []tick
		for k := low; k <= high; k++ {
			if slices.Contains(keys, k%12) {
				ticks = append(ticks, tick{float64(k), called(b, pitch.Name(k))})
			}
		}
		if len(ticks) > 0 && float64(len(ticks)) <= most {
			return ticks
		}
	}
	return []tick{{float64(low), called(b, pitch.Name(low))}}
}
