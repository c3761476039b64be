package figure

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/music/event"
	"rollwright/text/words"
)

// gaps is the histogram of intervals between successive onsets, of all voices
// chosen together. Its layers are "axes", "bars" and "names".
type gaps struct {
	in       *Input
	voices   []int
	name     string // of the one voice; empty: several
	onsets   int    // notes that begin
	together int    // of them, how many begin with one that was counted before
	sorted   []float64
	values   []gapBar // when there are few different intervals: one each
	bins     []gapBar // else stretches of equal ratio
}

// gapBar is how many intervals are from From to To; both equal for one value.
type gapBar struct {
	from, to float64
	count    int
}

// fewGaps is up to how many different intervals each has a bar of its own.
const fewGaps = 24

func newGaps(in *Input, o *Options) (view, error) {
	voices, err := in.chosen(o)
	if err != nil {
		return nil, err
	}
	g := &gaps{in: in, voices: voices}
	if len(voices) == 1 {
		g.name = in.Performance.Piece.Voices[voices[0]].Name
	}
	var at []int64
	for _, v := range voices {
		for _, sec := range onsets(in.Performance.Lines[v]) {
			if o.ToSec == 0 && o.FromSec == 0 || sec >= o.FromSec && (sec < o.ToSec || o.ToSec == 0) {
				at = append(at, event.Nanoseconds(sec))
			}
		}
	}
	slices.Sort(at)
	g.onsets = len(at)
	at = slices.Compact(at)
	g.together = g.onsets - len(at)
	for i := 1; i < len(at); i++ {
		g.sorted = append(g.sorted, float64(at[i]-at[i-1])*1e-9)
	}
	if len(g.sorted) == 0 {
		return nil, fmt.Errorf("there are no two notes at different instants to measure between")
	}
	slices.Sort(g.sorted)
	g.count()
	return g, nil
}

// count fills values or bins. Intervals within 2 ns of each other are one
// value: each of the two onsets was rounded to 1 ns.
func (g *gaps) count() {
	for _, s := range g.sorted {
		if n := len(g.values); n > 0 && s-g.values[n-1].to < 2.5e-9 {
			g.values[n-1].to = s
			g.values[n-1].count++
			continue
		}
		g.values = append(g.values, gapBar{s, s, 1})
	}
	if len(g.values) <= fewGaps {
		return
	}
	g.values = nil
	// Ten bins to each factor of ten, from the bin of the least interval on.
	const perDecade = 10
	bin := func(s float64) int { return int(math.Floor(math.Log10(s)*perDecade + 1e-9)) }
	first := bin(g.sorted[0])
	for _, s := range g.sorted {
		for len(g.bins) <= bin(s)-first {
			k := float64(first + len(g.bins))
			g.bins = append(g.bins, gapBar{from: math.Pow(10, k/perDecade), to: math.Pow(10, (k+1)/perDecade)})
		}
		g.bins[bin(s)-first].count++
	}
}

func (g *gaps) title(t *words.Talk) string {
	if g.name != "" {
		return t.Book().Say("gaps.title", words.Args{"voice": g.name})
	}
	return t.Book().Say("gaps.title-all", words.Args{"voices": len(g.voices)})
}

func (g *gaps) caption(t *words.Talk, short bool) string {
	median := g.sorted[(len(g.sorted)-1)/2]
	args := words.Args{
		"onsets": g.onsets, "gaps": len(g.sorted), "together": g.together, "values": len(g.values),
		"least": t.Book().Decimal(span(g.sorted[0])), "most": t.Book().Decimal(span(g.sorted[len(g.sorted)-1])),
		"median": t.Book().Decimal(span(median)),
	}
	var say []string
	if !short {
		say = append(say, t.Say("gaps.read", args))
	}
	if g.values != nil {
		say = append(say, t.Say("gaps.few", args))
	} else {
		say = append(say, t.Say("gaps.many", args))
	}
	if g.together > 0 && !short {
		say = append(say, t.Say("gaps.together", args))
	}
	return strings.Join(say, " ")
}

func (g *gaps) draw(c *canvas, f *Figure) {
	const left, head = 14.0, labelSize * 2.4
	bottom := c.height - timeAxisRoom
	if c.size == Page {
		bottom = head + 60
	}
	h := newChart(c, left, head, c.width-4, bottom)
	bars := g.values
	if bars == nil {
		bars = g.bins
	}
	for _, b := range bars {
		h.y.To = max(h.y.To, float64(b.count))
	}
	h.y.To *= 1.12
	f.Units = &h.y
	book := c.talk.Book()
	h.valueAxis(book.Say("axis.count", nil), wholeTicks(h.y.To, (bottom-head)/(labelSize*3)))
	l := c.layer("axes")
	l.Add(line(h.x.FromMM, bottom, h.x.ToMM, bottom, draw.Hair(draw.InkSecond)))
	l.Add(label((h.x.FromMM+h.x.ToMM)/2, bottom+1.8+labelSize*2.1, labelSize, book.Say("axis.gap", nil), draw.InkSecond,
		draw.Middle))
	if g.values != nil {
		g.valueBars(h)
	} else {
		g.binBars(h)
	}
	c.used = bottom + timeAxisRoom
}

// wholeTicks are whole numbers from 0 to most of the axis.
func wholeTicks(to, most float64) []tick {
	step := 1.0
	for i := 0; to/step > most; i++ {
		step = math.Pow(10, float64(i/3)) * []float64{1, 2, 5}[i%3]
	}
	var ticks []tick
	for v := 0.0; v <= to; v += step {
		ticks = append(ticks, tick{v, strconv.Itoa(int(v))})
	}
	return ticks
}

// valueBars draws a bar for each interval that occurs, side by side, named.
func (g *gaps) valueBars(h *chart) {
	w := (h.x.ToMM - h.x.FromMM) / float64(len(g.values))
	names := make([]string, len(g.values))
	for i, b := range g.values {
		names[i] = h.c.talk.Book().Decimal(span(b.from))
	}
	stride, counted := strideFor(names, w, labelSize), widestCount(g.values) < w
	for i, b := range g.values {
		x := h.x.FromMM + w*(float64(i)+0.5)
		g.bar(h, i, b, x-min(w*0.36, 7), x+min(w*0.36, 7), counted)
		if i%stride == 0 {
			h.c.layer("axes").Add(named(label(x, h.y.FromMM+1.6+labelSize*0.8, labelSize, names[i], draw.InkDark, draw.Middle),
				fmt.Sprintf("gap-%d", i+1)))
		}
	}
}

// binBars draws bins along a logarithmic axis.
func (g *gaps) binBars(h *chart) {
	h.x.From, h.x.To, h.x.Log = g.bins[0].from, g.bins[len(g.bins)-1].to, true
	l := h.c.layer("axes")
	free := h.x.FromMM - 10
	for _, t := range logTicks(h.x.From, h.x.To) {
		x := h.x.At(t.at)
		l.Add(line(x, h.y.FromMM, x, h.y.FromMM+1, draw.Hair(draw.InkSecond)))
		if text := h.c.talk.Book().Decimal(span(t.at)); x-float64(len(text))*labelSize*0.28 > free {
			l.Add(label(x, h.y.FromMM+1.6+labelSize*0.8, labelSize, text, draw.InkDark, draw.Middle))
			free = x + float64(len(text))*labelSize*0.32
		}
	}
	// bins are equally wide: their counts stand above all of them or above none
	counted := widestCount(g.bins) < h.x.At(g.bins[0].to)-h.x.At(g.bins[0].from)
	for i, b := range g.bins {
		g.bar(h, i, b, h.x.At(b.from)+0.15, h.x.At(b.to)-0.15, counted)
	}
}

// widestCount is the room that the longest of the counts asks for.
func widestCount(bars []gapBar) float64 {
	widest := 0.0
	for _, b := range bars {
		widest = max(widest, typeface.Sans.Width(strconv.Itoa(b.count), labelSize))
	}
	return widest + 0.3
}

// bar draws one bar, with its count above it if that has room.
func (g *gaps) bar(h *chart, i int, b gapBar, x0, x1 float64, counted bool) {
	if b.count == 0 {
		return
	}
	voice := g.voices[0]
	r := box(draw.Box(x0, h.y.At(float64(b.count)), x1, h.y.FromMM), h.c.tint(voice, 0.34),
		draw.Stroke{Ink: h.c.hue(voice), WidthMM: 0.2})
	if g.name == "" { // of several voices: nobody's hue
		r.Fill, r.Stroke.Ink = draw.InkFaint, draw.InkSecond
	}
	r.ID = fmt.Sprintf("bar-%d", i+1)
	h.c.layer("bars").Add(r)
	if counted {
		h.c.layer("names").Add(named(label((x0+x1)/2, h.y.At(float64(b.count))-0.8, labelSize, strconv.Itoa(b.count),
			draw.InkDark, draw.Middle), fmt.Sprintf("count-%d", i+1)))
	}
}
