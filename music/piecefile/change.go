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

// changes are what per_color and per_talea take, in the order in which they are done.
var changes = []struct {
	name string
	read func(*reader, *blocks.Value, *piece.Change) bool
}{
	{"rotate", func(r *reader, v *blocks.Value, c *piece.Change) bool {
		return eachOrList(r, v, rotations, &c.RotateEach, &c.Rotate)
	}},
	{"backward", changeBackward},
	{"invert", changeInvert},
	{"transpose_steps", func(r *reader, v *blocks.Value, c *piece.Change) bool {
		return eachOrList(r, v, stepMoves, &c.TransposeStepsEach, &c.TransposeSteps)
	}},
	{"transpose", func(r *reader, v *blocks.Value, c *piece.Change) bool {
		return eachOrList(r, v, moves, &c.TransposeEach, &c.Transpose)
	}},
	{"stretch", changeStretch},
	{"dynamics", changeDynamics},
}

// readChange reads per_color and per_talea.
func readChange(r *reader, b *blocks.Block) *setting {
	var names []string
	for _, c := range changes {
		names = append(names, c.name)
	}
	r.addAll(unknownIn(b.Body, b.Type, names...))
	c := &piece.Change{}
	ok := true
	for _, one := range changes {
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

// wholeKind is a cycle of whole numbers.
func wholeKind(name, what, one, sample, most string) *kind[int] {
	return &kind[int]{name: name, what: what, sample: sample, one: func(r *reader, c *cursor) (int, *source.Error) {
		s := c.item()
		n, ok := signed(s.String())
		if !ok && c.whole && r.reckonable(s.String()) {
			x, err := r.reckonedIn(s.c.t, s.i, s.j)
			if err != nil {
				return 0, err
			}
			n, ok = signed(x.text())
		}
		switch {
		case !ok:
			return 0, s.Error(fmt.Sprintf("%q is no %s", source.Printable(s.String()), one), "write whole numbers: "+sample)
		case n < -mostTranspose || n > mostTranspose:
			return 0, s.Error(fmt.Sprintf("%d %s", n, most), "")
		}
		return n, nil
	}}
}

var (
	rotations = wholeKind("rotate", "numbers of members", "number of members", "0 1 -1",
		"members are further than any cycle goes round")
	stepMoves = wholeKind("transpose_steps", "numbers of steps", "number of steps", "0 2 -1", "steps are beyond all keys")
	moves     = wholeKind("transpose", "numbers of semitones", "number of semitones", "0 5 -7",
		"semitones are beyond all keys")
)

// eachOrList reads one number, which accumulates, or the value of each statement in turn.
func eachOrList(r *reader, v *blocks.Value, k *kind[int], each *int, list *[]int) bool {
	if s, ok := r.single(v, asText); ok {
		n, ok := signed(s.String())
		if !ok && r.reckonable(s.String()) && !v.IsText() {
			n, ok = r.integer(v, -mostTranspose, mostTranspose)
			*each = n
			return ok
		}
		if ok && n >= -mostTranspose && n <= mostTranspose {
			*each = n
			return true
		}
	}
	out, ok := series(r, v, k)
	*list = out
	return ok
}

// none is the member of a list that leaves a statement as it is.
const none = "-"

var backwards = &kind[bool]{name: "backward", what: "statements", sample: "- true",
	bareWords: func(s string) bool { return s == "true" || s == "false" },
	one: func(_ *reader, c *cursor) (bool, *source.Error) {
		s := c.item()
		switch s.String() {
		case "true":
			return true, nil
		case "false", none:
			return false, nil
		}
		return false, s.Error(fmt.Sprintf("%q does not say whether a statement goes backward", source.Printable(s.String())),
			`write true or - for each statement in turn: "- true"`)
	}}

func changeBackward(r *reader, v *blocks.Value, c *piece.Change) bool {
	if word, bare := v.Word(); bare && backwards.bareWords(word) {
		c.Backward = []bool{word == "true"}
		return true
	}
	out, ok := series(r, v, backwards)
	c.Backward = out
	return ok
}

var axes = &kind[*piece.Axis]{name: "invert", what: "axes", sample: "- C4", bareWords: isPitch,
	one: func(_ *reader, c *cursor) (*piece.Axis, *source.Error) {
		s := c.item()
		if s.String() == none {
			return nil, nil
		}
		return axisIn(s)
	}}

func changeInvert(r *reader, v *blocks.Value, c *piece.Change) bool {
	out, ok := series(r, v, axes)
	c.Invert = out
	return ok
}

var stretches = &kind[exact.Real]{name: "stretch", what: "factors", sample: "1 1/2", numbers: true,
	one: func(r *reader, c *cursor) (exact.Real, *source.Error) {
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

var levels = &kind[int]{name: "dynamics", what: "levels", sample: "p mf f", bareWords: isMark,
	one: func(_ *reader, c *cursor) (int, *source.Error) {
		return level(c.item())
	}}

func changeDynamics(r *reader, v *blocks.Value, c *piece.Change) bool {
	if s, ok := r.single(v, asText); ok {
		if n, ok := signed(s.String()); ok {
			c.DynamicsEach = n
			if n < -127 || n > 127 {
				return r.add(s.Error(fmt.Sprintf("%d is more than all levels", n),
					"write how much is added to the level, from -127 to 127"))
			}
			return true
		}
	}
	out, ok := series(r, v, levels)
	c.Dynamics = out
	return ok
}
