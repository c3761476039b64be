package figure

import (
	"fmt"
	"strings"

	"rollwright/music/piece"
	"rollwright/text/words"
)

// cycle is the color of a voice against its talea, both as they begin after
// rotation. Counts are of the order of writing; a voice that goes backward is
// played from the last of them to the first.
type cycle struct {
	index    int // of the voice
	voice    *piece.Voice
	members  []piece.Pitch    // of the color
	color    []string         // their names
	talea    []piece.Duration // silences included
	strokes  []int            // indices into talea of what sounds
	notes    int              // until both end together
	taleae   int              // statements in that
	colores  int
	divisor  int // greatest common divisor of pitches and strokes
	played   int // notes of the voice
	backward bool
}

func newCycle(in *Input, o *Options) (*cycle, error) {
	i, err := in.voice(o.Voice)
	if err != nil {
		return nil, err
	}
	v := &in.Performance.Piece.Voices[i]
	c := &cycle{index: i, voice: v, played: in.Performance.Lines[i].Notes, backward: v.Backward}
	for _, p := range rotated(v.Color, v.RotateColor) {
		c.members = append(c.members, p)
		c.color = append(c.color, pitchLabel(o.talk().Book(), p, v))
	}
	c.talea = rotated(v.Talea, v.RotateTalea)
	for i, d := range c.talea {
		if !d.Silent {
			c.strokes = append(c.strokes, i)
		}
	}
	n, m := len(c.color), len(c.strokes)
	if n == 0 || m == 0 {
		return nil, fmt.Errorf("voice %q has no color or no talea to draw", v.Name)
	}
	c.divisor = gcd(n, m)
	c.notes, c.taleae, c.colores = n/c.divisor*m, n/c.divisor, m/c.divisor
	return c, nil
}

// rotated is s beginning with its n-th member, counted from 0.
func rotated[T any](s []T, n int) []T {
	n = (n%len(s) + len(s)) % len(s)
	return append(append([]T(nil), s[n:]...), s[:n]...)
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// duration is a member of the talea: a silence stands in parentheses.
func (c *cycle) duration(i int) string {
	d := c.talea[i]
	if d.Silent {
		return "(" + d.Units.String() + ")"
	}
	return d.Units.String()
}

// args are the counts of the cycle for captions.
func (c *cycle) args() words.Args {
	return words.Args{
		"voice": c.voice.Name, "pitches": len(c.color), "strokes": len(c.strokes), "silences": len(c.talea) - len(c.strokes),
		"notes": c.notes, "taleae": c.taleae, "colores": c.colores, "divisor": c.divisor, "played": c.played,
		"reached": len(c.strokes) / c.divisor,
	}
}

// sentence is the arithmetic in words: the counts, what a common divisor does,
// and how much of it the voice plays.
func (c *cycle) sentence(t *words.Talk) string {
	say := []string{t.Say("cycle.together", c.args())}
	switch {
	case len(c.color) == 1 || len(c.strokes) == 1:
	case c.divisor == 1:
		say = append(say, t.Say("cycle.coprime", c.args()))
	default:
		say = append(say, t.Say("cycle.divisor", c.args()))
	}
	switch {
	case c.played < c.notes:
		say = append(say, t.Say("cycle.less", c.args()))
	case c.played > c.notes:
		say = append(say, t.Say("cycle.more", c.args()))
	}
	if c.backward {
		say = append(say, t.Say("cycle.backward", c.args()))
	}
	return strings.Join(say, " ")
}

// explain is the caption of a figure of the cycle: how to read it, then the
// arithmetic; or the arithmetic alone, short.
func (c *cycle) explain(t *words.Talk, read string, short bool) string {
	if short {
		return t.Say("cycle.short", c.args())
	}
	return t.Say(read, c.args()) + " " + c.sentence(t)
}

// counts is the sum below a figure: 42 notes = 6 × 7 = 7 × 6.
func (c *cycle) counts(t *words.Talk) string { return t.Book().Say("cycle.counts", c.args()) }
