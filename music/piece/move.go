package piece

import "rollwright/music/pitch"

// Move is how keys as written become those that sound: what per_color and per_talea do
// to them in a statement, then what the voice does.
type Move struct {
	voice        *Voice
	color, talea int  // statements from 0; -1: left out
	inSteps      bool // some turn counts steps of a mode
	base         int  // without steps a key becomes base + key, or base - key
	down         bool
}

// turn is one change of a key.
type turn struct {
	attribute string // that asks for it
	axis      *Axis  // mirror about this; nil: move
	by        int    // semitones, or steps
	mode      Mode   // in which steps are counted; nil: semitones
}

// Whole is the move of the voice as a whole, without what per_color and per_talea do to
// single statements.
func (v *Voice) Whole() Move { return v.Move(-1, -1) }

// Move is the move of a note in a statement of the color and one of the talea, both from
// 0; -1 leaves it out.
func (v *Voice) Move(color, talea int) Move {
	m := Move{voice: v, color: color, talea: talea}
	var room turns
	for _, t := range room.of(&m) {
		m.inSteps = m.inSteps || t.mode != nil
		if t.axis != nil {
			m.base, m.down = 2*t.axis.Key-m.base, !m.down
		}
		m.base += t.by
	}
	return m
}

// turns is room for all the changes of a move: three of a statement of the color, three of
// one of the talea, four of the voice.
type turns struct {
	list [10]turn
	n    int
}

// of are the changes of a move in their order.
func (r *turns) of(m *Move) []turn {
	v := m.voice
	if m.color >= 0 {
		r.statement(v, &v.PerColor, &perColor, m.color)
	}
	if m.talea >= 0 {
		r.statement(v, &v.PerTalea, &perTalea, m.talea)
	}
	r.mirror("invert", v.Invert, nil)
	r.mirror("invert_steps", v.InvertSteps, v.Mode)
	r.by("transpose_steps", v.TransposeSteps, v.Mode)
	r.by("transpose", v.Transpose, nil)
	return r.list[:r.n]
}

// attributes are the names under which a Change moves keys.
type attributes struct{ invert, steps, transpose string }

var (
	perColor = attributes{"per_color.invert", "per_color.transpose_steps", "per_color.transpose"}
	perTalea = attributes{"per_talea.invert", "per_talea.transpose_steps", "per_talea.transpose"}
)

func (r *turns) statement(v *Voice, c *Change, names *attributes, n int) {
	if len(c.Invert) > 0 {
		r.mirror(names.invert, c.Invert[n%len(c.Invert)], nil)
	}
	r.by(names.steps, each(c.TransposeSteps, c.TransposeStepsEach, n), v.Mode)
	r.by(names.transpose, each(c.Transpose, c.TransposeEach, n), nil)
}

// Moves reports whether a change moves the pitches of any statement.
func (c *Change) Moves() bool {
	some := c.TransposeEach != 0 && len(c.Transpose) == 0 || c.TransposeStepsEach != 0 && len(c.TransposeSteps) == 0
	for _, by := range c.Transpose {
		some = some || by != 0
	}
	for _, by := range c.TransposeSteps {
		some = some || by != 0
	}
	for _, axis := range c.Invert {
		some = some || axis != nil
	}
	return some
}

// each is the value of statement n, from 0: of a cycle, or accumulated.
func each(cycle []int, by, n int) int {
	if len(cycle) > 0 {
		return cycle[n%len(cycle)]
	}
	return tame(by) * n
}

// tame bounds a number of semitones or steps, far beyond what is of use, so that no
// multiple of it overflows.
func tame(n int) int { return min(max(n, -1<<20), 1<<20) }

func (r *turns) mirror(attribute string, axis *Axis, mode Mode) {
	if axis != nil {
		r.add(turn{attribute: attribute, axis: axis, mode: mode})
	}
}

func (r *turns) by(attribute string, by int, mode Mode) {
	if by != 0 {
		r.add(turn{attribute: attribute, by: min(max(by, -1<<40), 1<<40), mode: mode})
	}
}

func (r *turns) add(t turn) {
	r.list[r.n] = t
	r.n++
}

// Key is what a written key becomes. It may lie outside 0 to 127.
func (m *Move) Key(key int) int {
	switch {
	case m.inSteps:
		var room turns
		for _, t := range room.of(m) {
			key = t.key(key)
		}
		return key
	case m.down:
		return m.base - key
	}
	return m.base + key
}

func (t *turn) key(key int) int {
	switch {
	case t.mode == nil && t.axis == nil:
		return key + t.by
	case t.mode == nil:
		return 2*t.axis.Key - key
	}
	return t.mode.Key(t.step(key))
}

// step is the step on which a key comes to stand.
func (t *turn) step(key int) Step {
	s := t.mode.StepOf(key)
	if t.axis != nil {
		s.N = 2*t.mode.StepOf(t.axis.Key).N - s.N
		return s
	}
	s.N += t.by
	return s
}

// Spelling is the name that a written key has when it is moved: nearest on the line of
// fifths to the one from which it is reckoned. In a mode that is the mode's own.
func (m *Move) Spelling(from pitch.Spelling, key int) pitch.Spelling {
	from, key = m.Unsettled(from, key)
	return from.For(key)
}

// Unsettled is the moved key with the name from which its own is reckoned when it is not
// moved further: all moves together make one name.
func (m *Move) Unsettled(from pitch.Spelling, key int) (pitch.Spelling, int) {
	var room turns
	for _, t := range room.of(m) {
		switch {
		case t.mode != nil:
			from = t.mode.Spelling(t.step(key))
		case t.axis != nil:
			from = from.Mirrored(t.axis.Spelled)
		}
		key = t.key(key)
	}
	return from, key
}

// Beyond names the attribute that moved a key out of the keys from 0 to most, and is the
// key that came of it: the last of the changes that took it from inside to outside. It is
// false for a key that stays within, or comes back.
func (m *Move) Beyond(key, most int) (attribute string, moved int, beyond bool) {
	inside := key >= 0 && key <= most
	attribute = "color"
	var room turns
	for _, t := range room.of(m) {
		key = t.key(key)
		now := key >= 0 && key <= most
		if inside && !now {
			attribute = t.attribute
		}
		inside = now
	}
	return attribute, key, !inside
}

// Reverses reports whether what is written lower sounds higher.
func (m *Move) Reverses() bool { return m.down }
