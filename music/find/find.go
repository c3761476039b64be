package find

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// Find looks for the design in notes, which it does not change. Where no note
// has a voice they are first parted into voices; where some have, those without
// one stay unknown. When ctx ends, the search does, with the error that ctx has.
func Find(ctx context.Context, notes []Note) (*Design, error) {
	d := &Design{Notes: slices.Clone(notes), chords: newShapes()}
	slices.SortStableFunc(d.Notes, func(a, b Note) int {
		return cmp.Or(cmp.Compare(a.StartSec, b.StartSec), cmp.Compare(a.Voice, b.Voice), cmp.Compare(a.Key, b.Key))
	})
	for _, n := range d.Notes {
		d.Labelled = d.Labelled || n.Voice != ""
	}
	if len(d.Notes) > 0 && !d.Labelled {
		d = parted(ctx, d.Notes)
	} else {
		d.byLabel()
		d.explain(ctx)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	return d, nil
}

// explain finds what the voices are made of and what they have in common.
func (d *Design) explain(ctx context.Context) {
	for i := range d.Voices {
		d.Voices[i].analyse(ctx, d.chords)
	}
	d.canons(ctx)
	if ctx.Err() != nil {
		return // half of it is no design
	}
	d.settle()
	d.account()
}

// byLabel makes the voices that the table names.
func (d *Design) byLabel() {
	rows := map[string][]int{}
	var names []string
	for i, n := range d.Notes {
		if n.Voice == "" {
			continue
		}
		if rows[n.Voice] == nil {
			names = append(names, n.Voice)
		}
		rows[n.Voice] = append(rows[n.Voice], i)
	}
	for _, name := range names {
		d.Voices = append(d.Voices, newVoice(name, d.Notes, rows[name], d.chords))
	}
}

func newVoice(name string, notes []Note, rows []int, chords *shapes) Voice {
	v := Voice{Name: name, steps: stepsOf(notes, rows, chords)}
	v.Notes = len(v.steps)
	v.StartSec = v.steps[0].at
	for _, s := range v.steps {
		v.EndSec = math.Max(v.EndSec, s.end)
	}
	return v
}

// analyse finds the series of a voice.
func (v *Voice) analyse(ctx context.Context, chords *shapes) {
	r := findRhythm(ctx, onsets(v.steps))
	var places []int
	if r != nil {
		places = r.places
	}
	m := findMelody(ctx, v.steps, places)
	if m == nil && r != nil && r.pulse {
		m = findMelody(ctx, v.steps, nil)
	}
	v.rhythm, v.melody = r, m
	if r != nil {
		v.clock = &r.clock
		v.Talea = r.talea()
		v.UnitSec = r.clock.unit
		v.Tempo = tempoOf(&r.clock, slices.Max(r.places))
	}
	if m != nil {
		v.Color = m.color(chords)
	}
}

// sixteenthsAMinute over a unit's seconds is its tempo: a unit is a sixteenth, a
// quarter note four of them.
const sixteenthsAMinute = 15

// tempoOf says the tempo of a clock at its first note and at the end of its last.
func tempoOf(c *clock, last int) Tempo {
	from := sixteenthsAMinute / c.unit
	if c.stretch != 1 || c.warp.even() {
		return Tempo{Constant, from, from}
	}
	_, rate := c.warp.forward(c.warp.back(c.even(last + 1)))
	if math.IsNaN(rate) {
		_, rate = c.warp.forward(c.warp.back(c.even(last)))
	}
	return Tempo{c.warp.shape, from, from * rate}
}

// canons compares every two voices.
func (d *Design) canons(ctx context.Context) {
	for i := range d.Voices {
		for j := i + 1; j < len(d.Voices); j++ {
			if ctx.Err() != nil {
				return
			}
			if c := claim(d.Voices, i, j, d.chords); c != nil {
				d.Canons = append(d.Canons, *c)
			}
		}
	}
}

// settle takes back what nothing bears out: a pulse is a talea only where the
// pitches come back, the tempo moves or a canon has it; a single pitch is a color
// only where the durations come back.
func (d *Design) settle() {
	inCanon := make([]bool, len(d.Voices))
	for _, c := range d.Canons {
		inCanon[c.Leader], inCanon[c.Follower] = true, true
	}
	for i := range d.Voices {
		v := &d.Voices[i]
		colored := v.Color != nil && len(v.Color.Pitches) > 1
		if v.rhythm != nil && v.rhythm.pulse && !(colored || inCanon[i] || v.Tempo.Shape != Constant) {
			v.dropTalea()
		}
		if v.Color != nil && len(v.Color.Pitches) == 1 && v.melody.chance > certain &&
			(v.Talea == nil || len(v.Talea.Durations) == 1) {
			v.Color, v.melody = nil, nil
			if v.rhythm != nil && v.rhythm.pulse {
				v.dropTalea()
			}
		}
	}
}

func (v *Voice) dropTalea() {
	v.Talea, v.rhythm, v.clock, v.UnitSec, v.Tempo = nil, nil, nil, 0, Tempo{}
}

// account marks the notes that are explained and counts the others.
func (d *Design) account() {
	d.Of = slices.Repeat([]int{-1}, len(d.Notes))
	d.Explained = make([]bool, len(d.Notes))
	paired := make([]map[int]bool, len(d.Voices))
	for i := range paired {
		paired[i] = map[int]bool{}
	}
	for _, c := range d.Canons {
		for _, p := range c.pairs {
			paired[c.Leader][p[0]], paired[c.Follower][p[1]] = true, true
		}
	}
	for i := range d.Voices {
		v := &d.Voices[i]
		d.Count += len(v.steps)
		for k, s := range v.steps {
			good := paired[i][k] || v.predicts(k)
			for _, r := range s.rows {
				d.Of[r], d.Explained[r] = i, good
			}
			if !good {
				d.Unexplained++
			}
		}
		if v.rhythm != nil {
			d.NoiseSec = math.Max(d.NoiseSec, v.rhythm.clock.noise)
		}
	}
	for _, of := range d.Of {
		if of < 0 {
			d.Count++
			d.Unexplained++
		}
	}
}

// predicts reports whether talea and color of a voice put one of its steps where
// it is.
func (v *Voice) predicts(k int) bool {
	return v.rhythm != nil && v.melody != nil && v.rhythm.places[k] != absent && v.melody.right[k]
}
