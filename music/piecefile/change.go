package piecefile

import (
	"fmt"
	"strconv"
	"strings"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// readChange reads per_color and per_talea.
func readChange(r *reader, b *blocks.Block) *setting {
	r.addAll(unknownIn(b.Body, b.Type, "transpose", "stretch", "dynamics"))
	c := &piece.Change{}
	ok := true
	for _, one := range []struct {
		name string
		read func(*reader, *blocks.Value, *piece.Change) bool
	}{{"transpose", changeTranspose}, {"stretch", changeStretch}, {"dynamics", changeDynamics}} {
		if a := b.Body.Get(one.name); a != nil {
			ok = one.read(r, a.Value, c) && ok
		}
	}
	if len(b.Body.Attrs)+len(b.Body.Blocks) == 0 {
		ok = r.add(b.Error(b.Type+" changes nothing", "write in it: transpose = 2, stretch = 2/3 or dynamics = -5"))
	}
	return &setting{meaning: orNil(c, ok), inner: inner(b)}
}

// single is the text of a value that is one number, as opposed to a list.
func (r *reader) single(v *blocks.Value, hint bareHint) (span, bool) {
	if v = r.meantAs(v, hint); v == nil || v.Kind() == blocks.List || v.Kind() == blocks.Bad {
		return span{}, false
	}
	if name, _, call := v.Call(); call && !numberFunction(name) {
		return span{}, false
	}
	t, err := v.Written()
	if err != nil {
		return span{}, false
	}
	return newCursor(t).rest(), true
}

// signed is a whole number with or without a sign.
func signed(s string) (int, bool) {
	n, err := strconv.Atoi(s)
	return n, err == nil
}

var moves = &kind[int]{name: "transpose", what: "numbers of semitones", sample: "0 5 7", one: func(_ *reader, c *cursor) (int, *source.Error) {
	s := c.item()
	n, ok := signed(s.String())
	switch {
	case !ok:
		return 0, s.Error(fmt.Sprintf("%q is no number of semitones", source.Printable(s.String())), "write whole numbers: 0 5 -7")
	case n < -mostTranspose || n > mostTranspose:
		return 0, s.Error(fmt.Sprintf("%d semitones are beyond all keys", n), "")
	}
	return n, nil
}}

func changeTranspose(r *reader, v *blocks.Value, c *piece.Change) bool {
	if s, ok := r.single(v, asText); ok {
		if n, ok := signed(s.String()); ok && n >= -mostTranspose && n <= mostTranspose {
			c.TransposeEach = n
			return true
		}
	}
	out, ok := series(r, v, moves)
	c.Transpose = out
	return ok
}

var stretches = &kind[exact.Real]{name: "stretch", what: "factors", sample: "1 1/2", numbers: true, one: func(r *reader, c *cursor) (exact.Real, *source.Error) {
	return r.factor(c.item())
}}

// factor reads a stretch in a text.
func (r *reader) factor(s span) (exact.Real, *source.Error) {
	x, err := r.exactReal(s)
	if err != nil && notPositive(s) {
		err = s.Error("a stretch of "+s.String(), "it has to be more than 0")
	}
	if err == nil && (x.size < leastFactor || x.size > mostFactor) {
		err = s.Error(fmt.Sprintf("a stretch beyond %s to %s", plain(leastFactor), plain(mostFactor)), "")
	}
	return x.x, err
}

func changeStretch(r *reader, v *blocks.Value, c *piece.Change) bool {
	if s, ok := r.single(v, asNumber); ok {
		x, problem := r.factor(s)
		if problem == nil || len(strings.Fields(s.String())) == 1 || !r.meant(v).IsText() {
			c.StretchEach = x
			return r.add(problem)
		}
	}
	out, ok := series(r, v, stretches)
	c.Stretch = out
	return ok
}

var levels = &kind[int]{name: "dynamics", what: "levels", sample: "p mf f", bareWords: isMark, one: func(_ *reader, c *cursor) (int, *source.Error) {
	return level(c.item())
}}

func changeDynamics(r *reader, v *blocks.Value, c *piece.Change) bool {
	if s, ok := r.single(v, asText); ok {
		if n, ok := signed(s.String()); ok {
			c.DynamicsEach = n
			if n < -127 || n > 127 {
				return r.add(s.Error(fmt.Sprintf("%d is more than all levels", n), "write how much is added to the level, from -127 to 127"))
			}
			return true
		}
	}
	out, ok := series(r, v, levels)
	c.Dynamics = out
	return ok
}
