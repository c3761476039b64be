package figure

import (
	"fmt"
	"math"
	"strconv"

	"rollwright/draw"
	"rollwright/text/words"
)

// ring is the talea of a voice round a circle: a small mark for every unit, a disc
// where a note begins, the first at the top, clockwise. Its layers are "pulses",
// "strokes" and "names".
type ring struct {
	name   string
	voice  int
	pulses int
	onsets []int // units from the first
}

// mostPulses is how many units can be told apart round a circle.
const mostPulses = 64

func newRing(in *Input, o *Options) (view, error) {
	i, err := in.voice(o.Voice)
	if err != nil {
		return nil, err
	}
	v := in.Performance.Piece.Voices[i]
	r := &ring{name: v.Name, voice: i}
	for k := range v.Talea {
		d := v.Talea[((k+v.RotateTalea)%len(v.Talea)+len(v.Talea))%len(v.Talea)]
		if d.Units.Den() != 1 || r.pulses+int(d.Units.Num()) > mostPulses {
			return nil, fmt.Errorf("a ring shows durations of whole units, up to %d in all; those of %q are others", mostPulses,
				v.Name)
		}
		if !d.Silent {
			r.onsets = append(r.onsets, r.pulses)
		}
		r.pulses += int(d.Units.Num())
	}
	return r, nil
}

func (r *ring) args() words.Args {
	return words.Args{"voice": r.name, "strokes": len(r.onsets), "pulses": r.pulses}
}

func (r *ring) title(t *words.Talk) string { return t.Book().Say("ring.title", r.args()) }

func (r *ring) caption(t *words.Talk, short bool) string {
	if short {
		return t.Say("ring.read-short", r.args())
	}
	return t.Say("ring.read", r.args())
}

func (r *ring) draw(c *canvas, _ *Figure) {
	height := c.height
	if c.size == Page {
		height = 80
	}
	const room = labelSize * 2.2 // numbers outside
	radius := min(height, c.width)/2 - room
	x, y := c.width/2, height/2
	at := func(pulse int, radius float64) (float64, float64) {
		sin, cos := math.Sincos(2 * math.Pi * float64(pulse) / float64(r.pulses))
		return x + radius*sin, y - radius*cos
	}
	pulses := c.layer("pulses")
	pulses.Add(disc(x, y, radius, draw.Ink{}, draw.Stroke{Ink: draw.InkFaint, WidthMM: 0.4}))
	for p := range r.pulses {
		px, py := at(p, radius)
		pulses.Add(disc(px, py, 0.7, draw.InkSecond, draw.Stroke{}))
	}
	shape := &draw.Path{Named: draw.Named{ID: "shape"}, Fill: c.tint(r.voice, 0.16),
		Stroke: c.stroke(r.voice, draw.MainLine)}
	var corners []draw.Point
	for _, o := range r.onsets {
		px, py := at(o, radius)
		corners = append(corners, draw.Point{X: px, Y: py})
	}
	strokes, names := c.layer("strokes"), c.layer("names")
	strokes.Add(shape.Polygon(corners...))
	for i, o := range r.onsets {
		px, py := at(o, radius)
		d := disc(px, py, 2, c.hue(r.voice), draw.Stroke{})
		d.ID = fmt.Sprintf("stroke-%d", i+1)
		strokes.Add(d)
		next := r.onsets[(i+1)%len(r.onsets)]
		if i == len(r.onsets)-1 {
			next += r.pulses
		}
		// how many pulses until the next, outside between the two
		sin, cos := math.Sincos(math.Pi * float64(o+next) / float64(r.pulses))
		out := radius + labelSize*1.1
		names.Add(named(middle(x+out*sin, y-out*cos+capHalf(labelSize), labelSize, strconv.Itoa(next-o), draw.InkDark),
			fmt.Sprintf("gap-%d", i+1)))
	}
	c.used = height
}
