package find

import (
	"flag"
	"math/rand/v2"
	"testing"
)

var noneSeeds = flag.Int("find.none", 5, "so many tables of each kind without design")

// without are notes without design, by kind.
var without = map[string]func(r *rand.Rand) []Note{
	"melodies": func(r *rand.Rand) []Note { return append(wander(r, "low", 48, 5), wander(r, "high", 72, 5)...) },
	"unnamed": func(r *rand.Rand) []Note {
		return unnamed(append(wander(r, "low", 48, 5), wander(r, "high", 72, 5)...))
	},
	"few durations": func(r *rand.Rand) []Note { return append(wander(r, "low", 48, 2), wander(r, "high", 72, 2)...) },
	"chords": func(r *rand.Rand) []Note {
		var out []Note
		at := 0.0
		for i := range 60 + r.IntN(60) {
			for range 2 + r.IntN(3) {
				out = append(out, Note{Key: 40 + r.IntN(40), StartSec: at, EndSec: at + 0.2, Voice: "chords", Number: i + 1})
			}
			at += 0.15 * float64(1+r.IntN(4))
		}
		return out
	},
	"even chords": func(r *rand.Rand) []Note {
		var out []Note
		for i := range 80 {
			for range 3 {
				out = append(out, Note{Key: 40 + r.IntN(40), StartSec: 0.5 * float64(i), EndSec: 0.5*float64(i) + 0.4,
					Voice: "chords", Number: i + 1})
			}
		}
		return out
	},
	"song": func(r *rand.Rand) []Note { return song(r, "song", 1) },
	"unnamed song": func(r *rand.Rand) []Note {
		return unnamed(song(r, "song", 1))
	},
	"cloud": func(r *rand.Rand) []Note {
		var out []Note
		for range 150 + r.IntN(150) {
			at := 60 * r.Float64()
			out = append(out, Note{Key: 36 + r.IntN(48), StartSec: at, EndSec: at + 0.1})
		}
		return out
	},
}

// wander is a melody that goes by steps and small leaps, on so many durations.
func wander(r *rand.Rand, name string, key, durations int) []Note {
	var out []Note
	at, centre := r.Float64(), key
	for i := range 80 + r.IntN(100) {
		out = append(out, Note{Key: key, StartSec: at, EndSec: at + 0.1, Voice: name, Number: i + 1})
		at += 0.15 * float64(1+r.IntN(durations))
		key += r.IntN(9) - 4 + (centre-key)/6
	}
	return out
}

// song is a tune of phrases A A B A, as many folk songs are, some times over: a
// phrase comes back literally, which is neither a color nor a talea of the whole.
func song(r *rand.Rand, name string, times int) []Note {
	type tone struct{ key, units int }
	phrase := func() []tone {
		var out []tone
		key := 60 + r.IntN(8)
		for range 9 + r.IntN(6) {
			out = append(out, tone{key, []int{1, 1, 2, 2, 3, 4}[r.IntN(6)]})
			key += r.IntN(7) - 3
		}
		return append(out, tone{60, 4})
	}
	a, b := phrase(), phrase()
	var out []Note
	at := 0.5
	for range times {
		for _, p := range [][]tone{a, a, b, a} {
			for _, n := range p {
				d := 0.2 * float64(n.units)
				out = append(out, Note{Key: n.key, StartSec: at, EndSec: at + 0.9*d, Voice: name, Number: len(out) + 1})
				at += d
			}
		}
	}
	return out
}

// A tune that is sung three times over has the whole tune as its period, as pitches
// and as durations, and no shorter one: nothing else is claimed.
func TestSongThrice(t *testing.T) {
	for seed := range uint64(20) {
		for _, labelled := range []bool{true, false} {
			notes := song(rand.New(rand.NewPCG(seed, 5)), "song", 3)
			period := len(notes) / 3
			if !labelled {
				notes = unnamed(notes)
			}
			d := found(t, notes)
			if len(d.Voices) != 1 || len(d.Canons) != 0 || d.Unexplained != 0 {
				t.Errorf("seed %d, labelled %v: %d voices, %d canons, %d unexplained", seed, labelled, len(d.Voices), len(d.Canons),
					d.Unexplained)
				continue
			}
			v := &d.Voices[0]
			if v.Talea == nil || v.Color == nil || len(v.Talea.Durations) != period || len(v.Color.Pitches) != period {
				t.Errorf("seed %d, labelled %v: talea %v, color %v, want a period of %d notes", seed, labelled, v.Talea, v.Color,
					period)
			}
		}
	}
}

func unnamed(notes []Note) []Note {
	for i := range notes {
		notes[i].Voice, notes[i].Number = "", 0
	}
	return notes
}

// TestNone claims nothing of notes without design: at most one table in a hundred.
func TestNone(t *testing.T) {
	tried, claimed := 0, 0
	for name, make := range without {
		for seed := range *noneSeeds {
			d := found(t, make(rand.New(rand.NewPCG(uint64(seed), 77))))
			tried++
			bad := len(d.Canons) > 0
			for i := range d.Voices {
				bad = bad || d.Voices[i].Talea != nil || d.Voices[i].Color != nil
			}
			if bad {
				claimed++
				t.Logf("%s, seed %d: %d canons claimed", name, seed, len(d.Canons))
				for i := range d.Voices {
					if v := &d.Voices[i]; v.Talea != nil || v.Color != nil {
						t.Logf("   %s: %d notes, talea %+v color %+v", v.Name, v.Notes, v.Talea, v.Color)
					}
				}
			}
		}
	}
	if claimed > tried/100 {
		t.Errorf("a design is claimed in %d of %d tables without one", claimed, tried)
	}
}
