package transcribe

import (
	"rollwright/exact"
	"rollwright/music/piece"
)

// longestUnits is the longest duration that a piece file has.
const longestUnits = 1_000_000

// writer turns chords into the items of a line: durations in units, and a pitch for
// each that sounds.
type writer struct {
	perTick exact.Rat // units in a tick
	whole   int64     // the same, where it is a whole number; else 0
	talea   []piece.Duration
	color   []piece.Pitch
	at      int64 // ticks written so far
	mixed   int   // chords whose notes had different levels
	twice   int   // notes that are there once more, with the same start and end
}

// newWriter writes items in that unit, a fraction of a whole note.
func newWriter(f *File, unit exact.Rat, chords int) *writer {
	perTick, ok := f.Tick.Quo(unit)
	if !ok {
		panic("transcribe: a unit that is too fine") // units lie between 1/1,000,000 and 1000
	}
	w := &writer{perTick: perTick}
	if perTick.IsInt() {
		w.whole = perTick.Num()
	}
	w.talea, w.color = make([]piece.Duration, 0, chords+chords/2), make([]piece.Pitch, 0, chords)
	return w
}

func (w *writer) units(ticks int64) exact.Rat {
	if w.whole > 0 {
		return exact.Int(w.whole * ticks)
	}
	return times(w.perTick, ticks)
}

// silence goes on to a tick; a very long one is several items.
func (w *writer) silence(to int64) {
	if to <= w.at {
		return
	}
	most := exact.Int(longestUnits)
	units := w.units(to - w.at)
	for units.Cmp(most) > 0 {
		w.talea = append(w.talea, piece.Duration{Units: most, Silent: true})
		units, _ = units.Sub(most)
	}
	w.talea = append(w.talea, piece.Duration{Units: units, Silent: true})
	w.at = to
}

// sound adds a chord. Its level is its loudest note's, and left to the dynamics where
// it is the usual one, or not said.
func (w *writer) sound(notes []Note, usual uint8) {
	from, to := notes[0].From, notes[0].To
	w.silence(from)
	w.talea = append(w.talea, piece.Duration{Units: w.units(to - from)})
	w.at = to
	graces := 0
	for graces < len(notes)-1 && notes[graces].Grace > 0 {
		graces++
	}
	p := pitchOf(notes[graces:])
	w.twice += len(notes) - graces - len(p.Keys)
	level, mixed := notes[graces].Level, false
	for _, n := range notes[graces+1:] {
		mixed = mixed || n.Level != level
		level = max(level, n.Level)
	}
	if mixed {
		w.mixed++
	}
	if level != usual {
		p.Level = int(level)
	}
	if graces > 0 {
		p = led(notes[:graces], p)
	}
	w.color = append(w.color, p)
}

// led is a pitch with grace notes ahead of it, one after the other; those at one place
// are a chord.
func led(graces []Note, p piece.Pitch) piece.Pitch {
	out := piece.Pitch{Level: p.Level, Gesture: &piece.Gesture{Kind: piece.Grace, DelaySec: graceSec}}
	add := func(one piece.Pitch) {
		if len(out.Letters) == len(out.Keys) && len(one.Letters) == len(one.Keys) {
			out.Letters += one.Letters
		}
		out.Keys = append(out.Keys, one.Keys...)
		out.Gesture.Turns = append(out.Gesture.Turns, len(one.Keys))
	}
	for i := 0; i < len(graces); {
		j := i + 1
		for j < len(graces) && graces[j].Grace == graces[i].Grace {
			j++
		}
		add(pitchOf(graces[i:j]))
		i = j
	}
	add(p)
	if len(out.Letters) != len(out.Keys) {
		out.Letters = "" // of some nobody knows
	}
	if turns := out.Gesture.Turns; len(turns) == 2 && turns[0] == 1 {
		out.Gesture.Turns = nil // one grace note needs no telling
	}
	return out
}

// graceSec is how far the first grace note is ahead of the note that they lead to.
var graceSec = exact.NewRat(40, 1000)

// singleKeys and singleLetters are shared by all notes that are one key.
var (
	singleKeys = func() (keys [128]int) {
		for key := range keys {
			keys[key] = key
		}
		return keys
	}()
	singleLetters = [7]string{"A", "B", "C", "D", "E", "F", "G"}
)

// pitchOf is notes in order of their keys as a pitch: each key once.
func pitchOf(notes []Note) piece.Pitch {
	if len(notes) == 1 {
		n := notes[0]
		p := piece.Pitch{Keys: singleKeys[n.Key : n.Key+1 : n.Key+1]}
		if n.Letter != 0 {
			p.Letters = singleLetters[n.Letter-'A']
		}
		return p
	}
	p := piece.Pitch{Keys: make([]int, 0, len(notes))}
	letters := make([]byte, 0, len(notes))
	for i, n := range notes {
		if i > 0 && n.Key == notes[i-1].Key {
			continue
		}
		p.Keys = append(p.Keys, int(n.Key))
		if n.Letter != 0 {
			letters = append(letters, n.Letter)
		}
	}
	if len(letters) == len(p.Keys) {
		p.Letters = string(letters)
	}
	return p
}
