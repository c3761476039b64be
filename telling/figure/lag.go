package figure

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/music/plan"
	"rollwright/text/choice"
	"rollwright/text/words"
)

// lag is how far voices of a canon are behind one of them at the same place of
// the music, over that one's time; where they are ahead it is negative. Its
// layers are "axes", "lines", "points" and "names".
type lag struct {
	in       *Input
	base     int // the voice that is compared with
	rows     map[int][]lagPoint
	voices   []int // the others
	at       float64
	from, to float64
}

// lagPoint is one place of the music.
type lagPoint struct {
	place    string
	sec, lag float64 // when the base is there, and how much later the other
}

func newLag(in *Input, o *Options) (view, error) {
	index, voices, err := in.canon(o)
	if err != nil {
		return nil, err
	}
	if index < 0 || len(voices) < 2 {
		return nil, fmt.Errorf("a figure of lag needs two voices of one canon; %s", noCanon(in, o))
	}
	v := &lag{in: in, base: voices[0], rows: map[int][]lagPoint{}, at: in.Plan().Canons[index].At.Decimal}
	for _, other := range voices[1:] {
		p := in.pairOf(v.base, other)
		if p == nil || p.Lag == nil {
			continue
		}
		for _, r := range p.Lag.Rows {
			v.rows[other] = append(v.rows[other], lagPoint{r.Place, float64(r.A), float64(r.B) - float64(r.A)})
		}
		v.voices = append(v.voices, other)
	}
	if len(v.voices) == 0 {
		return nil, choice.Errorf("the plan of the piece compares no voices of this canon; choose two with {pair}")
	}
	v.from, v.to, err = in.stretch(o, voices[:1])
	return v, err
}

func noCanon(in *Input, o *Options) string {
	if len(in.Performance.Piece.Canons) == 0 {
		return "the piece has no canon"
	}
	if o.Pair != [2]string{} {
		return strconv.Quote(o.Pair[0]) + " and " + strconv.Quote(o.Pair[1]) + " are not in one"
	}
	return strconv.Quote(o.Voice) + " is in none"
}

func (v *lag) name(i int) string { return v.in.Performance.Piece.Voices[i].Name }

func (v *lag) title(t *words.Talk) string {
	return t.Book().Say("lag.title", words.Args{"voice": v.name(v.base)})
}

func (v *lag) caption(t *words.Talk, short bool) string {
	var say []string
	if !short {
		say = append(say, t.Say("lag.read", words.Args{"voice": v.name(v.base)}))
	}
	spoken := v.voices
	if len(spoken) > mostSpoken {
		spoken = []int{spoken[0], spoken[len(spoken)-1]}
	}
	for _, i := range spoken {
		if rows := v.shown(i); len(rows) > 0 {
			say = append(say, v.runs(t, i, rows))
		}
	}
	if v.at >= v.from && v.at <= v.to {
		key := "lag.same"
		if len(v.voices) > 1 {
			key = "lag.same-all"
		}
		say = append(say, t.Say(key, words.Args{"at": t.Book().Decimal(fixed(v.at, places(v.at)))}))
	}
	say = append(say, sayCrossings(v.in, t, v.crossings(), v.from, v.to)...)
	return strings.Join(say, " ")
}

// crossings are those of the voice that is compared with and another.
func (v *lag) crossings() []crossing {
	var out []crossing
	for _, other := range v.voices {
		out = append(out, v.in.crossings([]int{v.base, other})...)
	}
	return out
}

// mostSpoken is of how many voices the caption speaks; of more, the first and
// the last.
const mostSpoken = 3

// shown are the places of the music that lie in the stretch.
func (v *lag) shown(voice int) []lagPoint {
	var rows []lagPoint
	for _, r := range v.rows[voice] {
		if r.sec >= v.from-1e-9 && r.sec <= v.to+1e-9 {
			rows = append(rows, r)
		}
	}
	return rows
}

// runs says how far a voice is apart where the drawing begins and ends.
func (v *lag) runs(t *words.Talk, voice int, rows []lagPoint) string {
	key := "lag.runs"
	if len(rows) < len(v.rows[voice]) {
		key = "lag.runs-from"
	}
	first, last := rows[0], rows[len(rows)-1]
	return t.Say(key, words.Args{
		"b": v.name(voice), "first": v.apart(t, first), "last": v.apart(t, last),
		"from": t.Book().Decimal(clock(first.sec, 1)), "to": t.Book().Decimal(clock(last.sec, 1)),
	})
}

// apart says in words how far the other voice is behind or ahead.
func (v *lag) apart(t *words.Talk, p lagPoint) string {
	key := "lag.behind"
	switch {
	case math.Abs(p.lag) < 1e-9:
		key = "lag.level"
	case p.lag < 0:
		key = "lag.ahead"
	}
	return t.Say(key, words.Args{"span": t.Book().Decimal(span(math.Abs(p.lag)))})
}

func (v *lag) draw(c *canvas, f *Figure) {
	const left, head, right = 14.0, labelSize * 2.4, 34.0
	bottom := c.height - timeAxisRoom
	if c.size == Page {
		bottom = head + 64
	}
	h := newChart(c, left, head, c.width-right, bottom)
	h.x.From, h.x.To = v.from, v.to
	for _, rows := range v.rows {
		for _, r := range rows {
			h.y.From, h.y.To = min(h.y.From, r.lag), max(h.y.To, r.lag)
		}
	}
	if h.y.To-h.y.From < 1e-6 {
		h.y.From, h.y.To = -1, 1
	}
	room := (h.y.To - h.y.From) * 0.05
	h.y.From, h.y.To = h.y.From-room, h.y.To+room
	f.Time, f.Units = &h.x, &h.y
	book := c.talk.Book()
	h.timeAxis(book.Say("axis.time-of", words.Args{"voice": v.name(v.base)}))
	h.valueAxis(book.Say("axis.lag", nil), roundTicks(h.y.From, h.y.To, (bottom-head)/(labelSize*3)))
	l := c.layer("lines")
	zero := line(h.x.FromMM, h.y.At(0), h.x.ToMM, h.y.At(0), c.stroke(v.base, draw.MainLine))
	zero.ID = "zero"
	l.Add(zero)
	flags := []flag{{h.y.At(0), v.base, v.name(v.base)}}
	points := c.layer("points")
	for _, i := range v.voices {
		p := &draw.Path{Named: draw.Named{ID: fmt.Sprintf("lag-%d", i+1)}, Stroke: c.stroke(i, draw.MainLine)}
		dots := &draw.Slots{Named: draw.Named{ID: fmt.Sprintf("dots-%d", i+1)}, Ink: c.hue(i), WidthMM: 1.1}
		var at []draw.Point
		for _, r := range v.shown(i) {
			q := draw.Point{X: h.x.At(r.sec), Y: h.y.At(r.lag)}
			at = append(at, q)
			dots.Segments = append(dots.Segments, draw.Segment{X1: q.X, Y1: q.Y, X2: q.X, Y2: q.Y})
		}
		if len(at) == 0 {
			continue
		}
		l.Add(p.Polyline(at...))
		if len(at) <= 60 {
			points.Add(dots)
		}
		flags = append(flags, flag{at[len(at)-1].Y, i, v.name(i)})
	}
	if v.at >= v.from && v.at <= v.to {
		ring := disc(h.x.At(v.at), h.y.At(0), 1.6, draw.Ink{}, draw.Stroke{Ink: c.accent(), WidthMM: 0.7})
		ring.ID = "meeting-point"
		points.Add(ring)
	}
	ringCrossings(c, v.crossings(), v.from, v.to, func(p plan.SamePlace) draw.Point {
		return draw.Point{X: h.x.At(float64(p.From)), Y: h.y.At(0)}
	})
	h.flags(h.x.ToMM+2, flags)
	c.used = bottom + timeAxisRoom
}
