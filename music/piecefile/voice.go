package piecefile

import (
	"fmt"
	"slices"

	"rollwright/exact"
	"rollwright/music/piece"
	"rollwright/text/source"
)

// The defaults where neither voice nor piece says otherwise.
var (
	defaultUnit     = exact.NewRat(1, 16)
	defaultTempo    = exact.Frac(120, 1)
	defaultHold     = []piece.Hold{{}} // a share of 1
	defaultDynamics = []piece.Dynamic{{Level: marks["mf"]}}
)

// value is what a setting means, or otherwise where there is none.
func value[T any](s *setting, otherwise T) T {
	if s != nil {
		if v, ok := s.meaning.(T); ok {
			return v
		}
	}
	return otherwise
}

// voiceOf is the voice that the settings of n describe.
func (r *reader) voiceOf(n *node) piece.Voice {
	all := &n.all
	v := piece.Voice{
		Name:        n.name,
		Places:      n.places(),
		Taken:       r.taken(n),
		Piano:       value(all[aPiano], 0),
		Section:     n.section,
		Canon:       -1,
		Mode:        value[piece.Mode](all[aMode], nil),
		Bar:         barsOf(all),
		Dynamics:    value(all[aDynamics], defaultDynamics),
		Hold:        value(all[aHold], defaultHold),
		RotateColor: value(all[aRotateColor], 0),
		RotateTalea: value(all[aRotateTalea], 0),
		Unit:        value(all[aUnit], defaultUnit),
		PerColor:    *value(all[aPerColor], &piece.Change{}),
		PerTalea:    *value(all[aPerTalea], &piece.Change{}),
		Stretch:     value(all[aStretch], exact.Real{}),
		EachNote:    value(all[aEachNote], exact.Real{}),
		Transpose:   value(all[aTranspose], 0),
		Invert:      value[*piece.Axis](all[aInvert], nil),
		Mute:        value(all[aMute], false),
		Loudness:    value[[]piece.LoudLeg](all[aLoudness], nil),

		InvertSteps:    value[*piece.Axis](all[aInvertSteps], nil),
		TransposeSteps: value(all[aTransposeSteps], 0),

		Backward: value(all[aBackward], false),
		Tempo:    value(all[aTempo], r.tempoAround(n)),
		Path:     value[[]piece.Leg](all[aTempoPath], nil),
		Speed:    value(all[aSpeed], exact.Real{}),
		Pedal:    value(all[aPedal], piece.Spans{}),
		Soft:     value(all[aSoft], piece.Spans{}),
		Stops:    value[[]piece.Stop](all[aStop], nil),
	}
	if n.section >= 0 {
		v.Transpose += value(r.sections[n.section].own[aTranspose], 0)
	}
	v.Talea, v.Color, _ = r.seriesOf(n)
	v.FromLine = all[aLine] != nil
	if e := value[*extent](all[aExtent], nil); e != nil {
		v.Extent = e.Extent
		if e.until != nil {
			v.Extent.Ref = e.until.ref
		}
	}
	if all[aLasts] != nil {
		v.Lasts = lastsOf(all[aLasts])
	}
	v.Place = n.place()
	if n.canon != nil {
		v.Canon = n.canon.index
	}
	r.checkMaterial(n)
	r.askedOf(n, &v)
	r.checkSteps(n, &v)
	return v
}

// tempoAround is the tempo where a voice stands that says none: from which a path goes on.
func (r *reader) tempoAround(n *node) exact.Real {
	if n.section >= 0 {
		return value(r.sections[n.section].own[aTempo], r.nominalTempo())
	}
	return r.nominalTempo()
}

// checkLasts complains about a length in seconds that depends on the speed
// where the speed depends on the length.
func (r *reader) checkLasts(n *node, v *piece.Voice) {
	said := n.all[aLasts]
	if n.held != nil {
		return // a condition, from which nothing follows
	}
	if n.canon != nil && n.canon.lasts != nil {
		said = n.canon.lasts
	}
	if said == nil || v.Extent.Kind != piece.Seconds && v.Extent.Kind != piece.Until {
		return
	}
	r.addOf(v, aExtent, n.all[aExtent].Error(fmt.Sprintf("the speed of %q follows from lasts, and how long it goes on from the speed", n.name),
		fmt.Sprintf("lasts stands in line %d; write the extent in notes, taleae, colores or units", said.at.Line)))
}

// place is where n stands in time.
func (n *node) place() piece.Place {
	if n.canon != nil {
		later := value(n.own[aLater], moment{})
		return piece.Place{Kind: piece.InCanon, LaterSec: later.sec, LaterUnits: later.units}
	}
	for _, a := range []attr{aStart, aMeet} {
		if value[*place](n.own[a], nil) != nil {
			return placeOf(n.own[a])
		}
	}
	return piece.Place{}
}

// places are those of everything that n says or takes over.
func (n *node) places() piece.Places {
	places := piece.Places{"": n.block.At}
	for a, s := range n.all {
		if s == nil {
			continue
		}
		places[forms[a].name] = s.at
		for name, at := range s.inner {
			places[name] = at
		}
	}
	if l := n.all[aLine]; l != nil {
		places[forms[aTalea].name], places[forms[aColor].name] = l.at, l.at
	}
	return places
}

// taken are, for the attributes that n takes over from what it is like, the place
// where it says so.
func (r *reader) taken(n *node) piece.Places {
	said := n.saidLike()
	if n.chained == nil || said == nil {
		return nil
	}
	places := piece.Places{}
	for a, s := range n.all {
		own := n.own[a] != nil || n.canon != nil && n.canon.own[a] != nil
		if s == nil || own || s == r.defaults[a] {
			continue
		}
		places[forms[a].name] = *said
		for name := range s.inner {
			places[name] = *said
		}
	}
	if _, ok := places[forms[aLine].name]; ok {
		places[forms[aTalea].name], places[forms[aColor].name] = *said, *said
	}
	return places
}

// saidLike is the place of the attribute that says what n is like.
func (n *node) saidLike() *source.Pos {
	if s := n.own[aLike]; s != nil {
		return &s.at
	}
	if n.canon == nil {
		return nil
	}
	if s := n.canon.like; s != nil {
		return &s.at
	}
	if a := n.canon.block.Body.Get("subject"); a != nil {
		return &a.At
	}
	return nil
}

// misspelt reports whether the voice has a word that is nearly talea, color or
// line, of which the reader has complained.
func (n *node) misspelt() bool {
	for _, a := range n.block.Body.Attrs {
		if slices.ContainsFunc(forms[:], func(f form) bool { return f.name == a.Name }) {
			continue
		}
		if _, near := source.Nearest(a.Name, []string{"talea", "color", "line"}); near {
			return true
		}
	}
	return false
}

// unreadModel reports whether n says what it is like in a way that could not be
// read, of which the reader has complained.
func (n *node) unreadModel() bool {
	said := n.own[aLike]
	if said == nil && n.canon != nil {
		if n.canon.unread {
			return true
		}
		said = n.canon.like
	}
	return said != nil && said.meaning == nil
}

// checkMaterial complains when a voice lacks what it plays.
func (r *reader) checkMaterial(n *node) {
	if n.all[aLine] != nil {
		return
	}
	const hint = "write a talea (durations) and a color (pitches), or a line (both), or say what it is like"
	talea, color := n.all[aTalea] != nil, n.all[aColor] != nil
	model, _ := n.likeName()
	switch {
	case talea && color:
	case n.circular, model != nil && n.chained == nil, n.misspelt(), n.unreadModel(), n.block.Body.Get("from") != nil:
		// complained about already
	case n.canon != nil && model == nil && !talea && !color:
		r.add(n.canon.block.Error("this canon has no subject", `write what its voices play: subject = "theme", the name of a tune`))
	case !talea && !color:
		r.add(n.block.Error(fmt.Sprintf("voice %q has nothing to play", n.name), hint))
	case !talea:
		r.add(n.block.Error(fmt.Sprintf("voice %q has a color (pitches) but no talea (durations)", n.name),
			`write: talea = "3 2 2 (1)"`))
	default:
		r.add(n.block.Error(fmt.Sprintf("voice %q has a talea (durations) but no color (pitches)", n.name),
			`write: color = "C2 G2 C3"`))
	}
}
