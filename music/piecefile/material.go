package piecefile

import (
	"fmt"
	"slices"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/blocks"
	"rollwright/text/source"
)

// material is what talea, color or line mean: durations, pitches, or both.
type material struct {
	talea []piece.Duration
	color []piece.Pitch
	marks []mark // of bars, among the items of the talea

	said  attr          // which of the three it was written as
	value *blocks.Value // as written
	late  bool          // it depends on the voice that plays it, and is made there
}

// scene is the voice for which series are made.
type scene struct {
	node *node
	mode piece.Mode
}

// materialOf reads one of the three. What depends on a mode or on a tune is made once for
// its mistakes now, and again where it is used.
func (r *reader) materialOf(a attr, v *blocks.Value) any {
	m, late, ok := r.make(a, v, nil)
	if !ok {
		return nil
	}
	m.said, m.value, m.late = a, v, late
	return m
}

// make reads talea, color or line for a voice; without one, late says that it needs one.
func (r *reader) make(a attr, v *blocks.Value, s *scene) (m *material, late, ok bool) {
	outer, outerLate := r.scene, r.late
	r.scene, r.late = s, false
	switch a {
	case aTalea:
		m, ok = r.taleaMaterial(v)
	case aColor:
		m, ok = r.colorMaterial(v)
	default:
		m, ok = r.lineMaterial(v)
	}
	late = r.late
	r.scene, r.late = outer, outerLate
	return m, late, ok
}

// played is the material of a setting as a node plays it; nil when that could not be made.
func (r *reader) played(n *node, s *setting) *material {
	m := value[*material](s, nil)
	if m == nil || !m.late {
		return m
	}
	made, _, ok := r.make(m.said, m.value, &scene{n, value[piece.Mode](n.all[aMode], nil)})
	if !ok {
		return nil
	}
	return made
}

// series are talea and color of a node as it plays them, before rotation.
func (r *reader) seriesOf(n *node) (talea []piece.Duration, color []piece.Pitch, ok bool) {
	if s := n.all[aLine]; s != nil {
		if m := r.played(n, s); m != nil {
			return m.talea, m.color, true
		}
		return nil, nil, false
	}
	ok = true
	for _, s := range []*setting{n.all[aTalea], n.all[aColor]} {
		m := r.played(n, s)
		switch {
		case s == nil:
		case m == nil:
			ok = false
		case s == n.all[aTalea]:
			talea = m.talea
		default:
			color = m.color
		}
	}
	return talea, color, ok
}

// borrowed is what a function takes from a tune: its series after rotation.
type borrowed struct {
	talea []piece.Duration
	color []piece.Pitch
}

// takenFrom carries out pitches("tune") and durations("tune").
func takenFrom[T any](r *reader, v *blocks.Value, name string, arg *blocks.Value, k *kind[T]) ([]T, bool) {
	if k.ofName != name {
		return nil, r.add(v.Error(fmt.Sprintf("%s gives %s, and a %s has %s", name,
			map[string]string{"pitches": "pitches", "durations": "durations"}[name], k.name, k.what), ""))
	}
	at, ok := r.written(arg)
	if !ok {
		return nil, false
	}
	r.late = true
	if r.scene == nil {
		return k.standIn(r, arg), true
	}
	found := r.lookupFor(r.scene.node, at, "voice or tune")
	switch {
	case found == nil:
		return nil, false
	case found.canon != nil:
		return nil, r.add(at.Error(fmt.Sprintf("%q is a canon, and a tune or voice is wanted", at),
			"name the tune, or one of the canon's voices"))
	case found.node.taking:
		return nil, r.add(at.Error(fmt.Sprintf("%q is made of itself", at),
			"a series may be made of another tune's, but not in a circle"))
	}
	t, ok := r.borrow(found.node)
	if !ok {
		return nil, false
	}
	out, _ := k.of(r, t)
	if len(out) == 0 {
		return nil, r.add(at.Error(fmt.Sprintf("%q has no %s of its own", at, k.what), "name a tune that has a line, or a "+
			k.name))
	}
	return out, r.charge(len(out), v)
}

// borrow makes the series of a node, after what it is like and after rotation.
func (r *reader) borrow(n *node) (*borrowed, bool) {
	n.taking = true
	defer func() { n.taking = false }()
	if !r.complete(n) {
		return nil, false
	}
	r.inheritDefaults(n)
	talea, color, ok := r.seriesOf(n)
	return &borrowed{rotated(talea, value(n.all[aRotateTalea], 0)), rotated(color, value(n.all[aRotateColor], 0))}, ok
}

// checkTaken looks through the series of a tune that perhaps no voice plays, so that its
// mistakes are told with the others, each once.
func (r *reader) checkTaken(n *node) {
	late := false
	for _, a := range []attr{aTalea, aColor, aLine} {
		m := value[*material](n.own[a], nil)
		late = late || m != nil && m.late
	}
	if !late {
		return
	}
	before := len(r.errs)
	n.unplayed = true
	r.borrow(n)
	n.unplayed = false
	known := r.errs[:before]
	for _, e := range r.errs[before:] {
		if !slices.ContainsFunc(known, func(k *source.Error) bool { return k.At == e.At && k.Problem == e.Problem }) {
			known = append(known, e)
		}
	}
	r.errs = known
}

// standIn is a series that stands for one that is not known yet: the kind's example.
func (k *kind[T]) standIn(r *reader, v *blocks.Value) []T {
	c := newCursor(blocks.PlainText(v, k.sample))
	c.tune = &melody{}
	var out []T
	for c.skip() {
		one, err := k.one(r, c)
		if err != nil {
			panic(err) // our own example
		}
		out = append(out, one)
	}
	return out
}

// inSteps is the move by steps of the mode of the voice for which a series is made.
func (r *reader) inSteps(at *source.Error, n int) (move piece.Move, ok bool) {
	v := &piece.Voice{TransposeSteps: n}
	r.late = true
	if r.scene == nil {
		v.TransposeSteps = 0
		return v.Whole(), true
	}
	v.Mode = r.scene.mode
	if len(v.Mode) == 0 && r.scene.node.unplayed { // whoever plays it may have one
		v.TransposeSteps = 0
		return v.Whole(), true
	}
	if len(v.Mode) == 0 {
		return move, r.add(at)
	}
	return v.Whole(), true
}

// stretched multiplies durations.
func stretched[T any](r *reader, v *blocks.Value, by exact.Rat, out []T, k *kind[T]) ([]T, bool) {
	for i := range out {
		m, ok := k.longer(out[i], by)
		if !ok {
			return nil, r.add(v.Error("stretch makes a duration of less than 1/1,000,000 unit, or more than 1,000,000",
				"stretch it less"))
		}
		out[i] = m
	}
	return out, true
}
