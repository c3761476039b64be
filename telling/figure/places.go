package figure

import (
	"fmt"
	"strings"

	"rollwright/draw"
	"rollwright/music/plan"
	"rollwright/text/words"
)

// crossing is when two voices stand at one place of their tune, besides the meeting point of
// a canon.
type crossing struct {
	a, b   int
	places []plan.SamePlace
}

// crossings are those of every two voices.
func (in *Input) crossings(voices []int) []crossing {
	var out []crossing
	for i, a := range voices {
		for _, b := range voices[i+1:] {
			p := in.pairOf(min(a, b), max(a, b))
			if p == nil {
				continue
			}
			c := crossing{a: min(a, b), b: max(a, b)}
			for _, at := range p.SamePlaces {
				if !at.Meet {
					c.places = append(c.places, at)
				}
			}
			if len(c.places) > 0 {
				out = append(out, c)
			}
		}
	}
	return out
}

// mostCrossings is of how many pairs a caption speaks, and how many instants of each it names.
const (
	mostCrossings = 3
	mostInstants  = 8
)

// sayCrossings names what is drawn of crossings within a stretch.
func sayCrossings(in *Input, t *words.Talk, all []crossing, from, to float64) []string {
	var say []string
	rest := 0
	for _, c := range all {
		var at []string
		more := 0
		for _, p := range c.places {
			switch {
			case float64(p.From) < from || float64(p.From) > to:
			case len(at) < mostInstants:
				at = append(at, t.Book().Decimal(clock(float64(p.From), 1)))
			default:
				more++
			}
		}
		if len(at) == 0 {
			continue
		}
		if len(say) == mostCrossings {
			rest++
			continue
		}
		voices := in.Performance.Piece.Voices
		args := words.Args{"a": voices[c.a].Name, "b": voices[c.b].Name, "at": strings.Join(at, ", "), "more": more}
		key := "places.at"
		if more > 0 {
			key += "-more"
		}
		say = append(say, t.Say(key, args))
	}
	if rest > 0 {
		say = append(say, t.Say("places.pairs", words.Args{"count": rest}))
	}
	return say
}

// ringCrossings marks crossings at where they stand.
func ringCrossings(c *canvas, all []crossing, from, to float64, at func(plan.SamePlace) draw.Point) {
	l := c.layer("points")
	for _, x := range all {
		for i, p := range x.places {
			q := at(p)
			if float64(p.From) < from || float64(p.From) > to {
				continue
			}
			ring := disc(q.X, q.Y, 1.2, draw.Ink{}, draw.Stroke{Ink: draw.InkDark, WidthMM: 0.5})
			ring.ID = fmt.Sprintf("place-%d-%d-%d", x.a+1, x.b+1, i+1)
			l.Add(ring)
		}
	}
}
