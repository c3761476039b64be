package figure

import (
	"fmt"
	"slices"

	"rollwright/music/perform"
	"rollwright/music/plan"
)

// pair is the indices of the two voices that the options name, or ok false when
// they name none.
func (in *Input) pair(o *Options) (a, b int, ok bool, err error) {
	if o.Pair == [2]string{} {
		return 0, 0, false, nil
	}
	if a, err = in.voice(o.Pair[0]); err != nil {
		return 0, 0, false, err
	}
	if b, err = in.voice(o.Pair[1]); err != nil {
		return 0, 0, false, err
	}
	if a == b {
		return 0, 0, false, fmt.Errorf("a pair is two voices; %q stands there twice", o.Pair[0])
	}
	return min(a, b), max(a, b), true, nil
}

// chosen are the voices of the pair, or the named one, or those listed, or all, in
// the order of the file.
func (in *Input) chosen(o *Options) ([]int, error) {
	a, b, ok, err := in.pair(o)
	switch {
	case err != nil:
		return nil, err
	case ok:
		return []int{a, b}, nil
	case o.Voice != "":
		i, err := in.voice(o.Voice)
		return []int{i}, err
	case len(o.Voices) > 0:
		var listed []int
		for _, name := range o.Voices {
			i, err := in.voice(name)
			if err != nil {
				return nil, err
			}
			listed = append(listed, i)
		}
		slices.Sort(listed)
		return slices.Compact(listed), nil
	}
	all := make([]int, len(in.Performance.Lines))
	for i := range all {
		all[i] = i
	}
	if len(all) == 0 {
		_, err = in.voice("")
	}
	return all, err
}

// canon is the voices of the canon that the pair or the named voice is in, or
// of the first one; index -1 and all chosen voices where there is none.
func (in *Input) canon(o *Options) (index int, voices []int, err error) {
	p := in.Performance.Piece
	chosen, err := in.chosen(o)
	if err != nil {
		return -1, nil, err
	}
	if _, _, pair, _ := in.pair(o); pair {
		if c := p.Voices[chosen[0]].Canon; c >= 0 && c == p.Voices[chosen[1]].Canon && !p.Canons[c].Crosses() {
			return c, chosen, nil
		}
		return -1, chosen, nil
	}
	if o.Voice != "" {
		if c := p.Voices[chosen[0]].Canon; c >= 0 && !p.Canons[c].Crosses() {
			return c, p.Canons[c].Voices, nil
		}
		return -1, chosen, nil
	}
	for i := range p.Canons {
		if !p.Canons[i].Crosses() {
			return i, p.Canons[i].Voices, nil
		}
	}
	return -1, chosen, nil
}

// pairOf is what the plan knows of two voices, a before b in file order.
func (in *Input) pairOf(a, b int) *plan.Pair {
	voices := in.Performance.Piece.Voices
	pairs := in.Plan().Pairs
	i := slices.IndexFunc(pairs, func(p plan.Pair) bool { return p.A == voices[a].Name && p.B == voices[b].Name })
	if i < 0 {
		return nil
	}
	return &pairs[i]
}

// sound is what would make the meeting point of voices of one canon sound; empty:
// notes begin there, or nothing is known.
func (in *Input) sound(voices []int) string {
	if len(voices) < 2 {
		return ""
	}
	if p := in.pairOf(voices[0], voices[1]); p != nil {
		return p.Sound
	}
	return ""
}

// stretch is the time that is shown: what the options ask for, or from the
// earliest start to the latest end of the voices.
func (in *Input) stretch(o *Options, voices []int) (from, to float64, err error) {
	if o.FromSec != 0 || o.ToSec != 0 {
		to = o.ToSec
		if to == 0 {
			to = in.Performance.EndSec
		}
		if !(o.FromSec >= 0 && to > o.FromSec) {
			return 0, 0, fmt.Errorf("the stretch from %g s to %g s is none: the second must be later than the first", o.FromSec,
				to)
		}
		return o.FromSec, to, nil
	}
	for i, v := range voices {
		l := in.Performance.Lines[v]
		if i == 0 {
			from, to = l.StartSec, l.EndSec
		}
		from, to = min(from, l.StartSec), max(to, l.EndSec)
	}
	if len(voices) == len(in.Performance.Lines) {
		from = min(from, 0)
	}
	if !(to > from) {
		to = from + 1
	}
	return from, to, nil
}

// onsets are the instants at which the notes of a line begin, in seconds of the
// piece, ascending.
func onsets(l *perform.Line) []float64 {
	at := make([]float64, 0, l.Notes)
	for it := range l.All() {
		if !it.Silent {
			at = append(at, it.StartSec)
		}
	}
	return at
}

// statement is one time through a cycle.
type statement struct {
	n          int // from 1, in the order of performance
	start, end float64
}

// statements are the times through talea and color of a line, in the order in
// which they sound.
func statements(l *perform.Line) (taleae, colores []statement) {
	add := func(list []statement, which int, last *int, it perform.Item) []statement {
		if len(list) == 0 || which != *last {
			*last = which
			list = append(list, statement{n: len(list) + 1, start: it.StartSec})
		}
		list[len(list)-1].end = it.EndSec
		return list
	}
	var talea, color int
	for it := range l.All() {
		taleae = add(taleae, it.Talea, &talea, it)
		colores = add(colores, it.Color, &color, it)
	}
	return taleae, colores
}
