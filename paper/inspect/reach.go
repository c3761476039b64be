package inspect

import (
	"fmt"
	"sync"

	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

// reach is how far down and up the voices of a roll go, found out when it is
// first asked for.
type reach struct {
	roll  *roll.Roll
	once  sync.Once
	spans map[int][2]int // of voices: lowest and highest key, those outside the compass too
	notes map[int]int32  // of voices: the number of the last note
}

func (r *reach) of(voice int) (low, high int, known bool) {
	r.once.Do(r.fill)
	span, known := r.spans[voice]
	return span[0], span[1], known
}

// last is the number of a voice's last note.
func (r *reach) last(voice int) int {
	r.once.Do(r.fill)
	return int(r.notes[voice])
}

func (r *reach) fill() {
	r.spans, r.notes = map[int][2]int{}, map[int]int32{}
	add := func(voice, note int32, key int) {
		r.notes[int(voice)] = max(r.notes[int(voice)], note)
		span, known := r.spans[int(voice)]
		if !known {
			span = [2]int{key, key}
		}
		r.spans[int(voice)] = [2]int{min(span[0], key), max(span[1], key)}
	}
	for i := range r.roll.Slots {
		slot := &r.roll.Slots[i]
		p := &r.roll.Instrument.Bar.Ports[slot.Port]
		if p.Role != instrument.Note {
			continue
		}
		for c := range slot.Causes.All() {
			add(c.Voice, c.Note, p.Key)
		}
	}
	for _, o := range r.roll.Outside {
		add(o.Cause.Voice, o.Cause.Note, int(o.Key))
	}
}

// fits reports whether all keys of a voice stay in the compass when it is moved
// by so many semitones.
func (f *Finding) fits(voice, by int) bool {
	if f.reach == nil {
		return true
	}
	bottom, top := compass(&f.roll.Instrument.Bar)
	low, high, known := f.reach.of(voice)
	return !known || low+by >= bottom && high+by <= top
}

// octaves move one of two voices out of the other's way, the one away from the
// other first, as far as the compass allows.
func (f *Finding) octaves(voices ...int) []Change {
	if f.Other < 0 || f.Other == f.Voice {
		return nil
	}
	var out []Change
	for _, voice := range voices {
		by := 12
		if f.below(voice) {
			by = -12
		}
		for _, by := range []int{by, -by} {
			if f.fits(voice, by) {
				out = append(out, f.transposed(voice, by)...)
			}
		}
	}
	return out
}

// below reports whether the voice lies lower than the other one of the pair.
func (f *Finding) below(voice int) bool {
	other := f.Other
	if voice == other {
		other = f.Voice
	}
	if f.reach == nil {
		return false
	}
	low, high, _ := f.reach.of(voice)
	otherLow, otherHigh, _ := f.reach.of(other)
	return low+high < otherLow+otherHigh
}

// octave says how another octave for one of two voices is written, or is empty
// where none is in reach, or none that was tried makes it better.
func (f *Finding) octave() string {
	for _, c := range f.octaves(f.Voice, f.Other) {
		if f.trials.helps(c, f.Severity) {
			return "another octave: " + c.Text() + f.in(c.Voice)
		}
	}
	return ""
}

// in names the voice in which an attribute has to stand.
func (f *Finding) in(voice int) string {
	v := f.of(voice)
	if v == nil {
		return ""
	}
	return " in " + source.Printable(v.Name)
}

// tempoText is a roll tempo as it is written, and where: in the piano's block, or
// for the whole piece.
func (f *Finding) tempoText(tempo float64) string {
	where := "for the piece"
	if f.PianoName != "" {
		where = "in piano " + source.Printable(f.PianoName)
	}
	return fmt.Sprintf("roll_tempo = %.0f %s", tempo, where)
}
