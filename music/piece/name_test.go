package piece

import (
	"testing"

	"rollwright/music/pitch"
)

// What a pitch becomes keeps its letter in another octave; elsewhere it takes the name
// nearest on the line of fifths (... Eb Bb F C G D A E B F# C# G# D# ...). Bb is -2 and
// C# 7, E 4, D 2 (C being 0): a semitone above Bb is Cb, at -7 five from it, while B, at 5,
// is seven away. A tritone above C is F# or Gb, both six away; F# is nearer D.
func TestName(t *testing.T) {
	p := Pitch{Keys: []int{58, 61, 64, 60, 62, 61}, Letters: "BCECEB"} // Bb3 C#4 E4 C4 Ebb4 B##3
	for _, c := range []struct {
		i, by int
		want  string
	}{
		{0, 0, "Bb3"}, {0, -12, "Bb2"}, {0, 5, "Eb4"}, {0, 1, "Cb4"}, {0, 2, "C4"}, {1, 2, "D#4"}, {2, -1, "D#4"}, {2, 11, "D#5"},
		{3, 1, "Db4"}, {3, 6, "F#4"}, {3, -6, "F#3"}, {3, 8, "Ab4"}, {3, 10, "Bb4"}, {3, 7, "G4"}, {3, 11, "B4"},
		{4, 0, "Ebb4"}, {4, 5, "Abb4"}, {4, 7, "Bbb4"}, {5, 0, "B##3"}, {5, 12, "B##4"},
	} {
		v := Voice{Transpose: c.by}
		move := v.Whole()
		if got := p.Name(c.i, &move); got != c.want {
			t.Errorf("%s by %d: %s, want %s", p.Name(c.i, &Move{voice: &Voice{}}), c.by, got, c.want)
		}
	}
}

// Mirrored about C4, E is four fifths above C and becomes Ab, four below; about G4 (one
// above C) Bb (-2) becomes 2*1+2 = 4, E. Moved by an octave besides it stays what it is; by
// a semitone, Ab (-4) becomes A (3) at seven or Bbb at five, which is double.
func TestMirroredName(t *testing.T) {
	c4, g4 := &Axis{60, pitch.Spelling{}}, &Axis{67, pitch.Spelling{Fifths: 1}}
	p := Pitch{Keys: []int{64, 58}, Letters: "EB"}
	for _, c := range []struct {
		i     int
		voice Voice
		want  string
	}{
		{0, Voice{Invert: c4}, "Ab3"}, {0, Voice{Invert: c4, Transpose: 12}, "Ab4"}, {0, Voice{Invert: c4, Transpose: 1}, "A3"},
		{1, Voice{Invert: g4}, "E5"}, {0, Voice{PerColor: Change{Invert: []*Axis{c4}}, Invert: c4}, "E4"},
	} {
		move := c.voice.Move(0, 0)
		if got := p.Name(c.i, &move); got != c.want {
			t.Errorf("%+v: %s, want %s", c.voice, got, c.want)
		}
	}
}

// D E F G A Bb C: two steps above E4 is G4, above Bb4 D5; F#4 lies a semitone above the step
// F and becomes one above A, A#. Mirrored about A4 (step 4), G4 (3) becomes Bb4 (5), and C5
// (6) F4 (2).
func TestSteps(t *testing.T) {
	mode := Mode{}
	for _, a := range []struct {
		key    int
		letter byte
	}{{2, 'D'}, {4, 'E'}, {5, 'F'}, {7, 'G'}, {9, 'A'}, {10, 'B'}, {12, 'C'}} {
		mode = append(mode, Axis{a.key, pitch.SpellingOf(a.letter, a.key)})
	}
	up, mirror := Voice{Mode: mode, TransposeSteps: 2}, Voice{Mode: mode, InvertSteps: &Axis{Key: 69}}
	for _, c := range []struct {
		voice  *Voice
		key    int
		letter byte
		want   string
	}{
		{&up, 64, 'E', "G4"}, {&up, 70, 'A', "D5"}, {&up, 66, 'F', "A#4"}, {&up, 67, 'G', "Bb4"}, {&up, 0, 'C', "E-1"},
		{&mirror, 69, 'A', "A4"}, {&mirror, 67, 'G', "Bb4"}, {&mirror, 72, 'C', "F4"}, {&mirror, 57, 'A', "A5"},
	} {
		move, p := c.voice.Whole(), Pitch{Keys: []int{c.key}, Letters: string(c.letter)}
		if got := p.Name(0, &move); got != c.want {
			t.Errorf("key %d: %s, want %s", c.key, got, c.want)
		}
	}
}

// Mirrored at C4, E4 (64) becomes 2*60-64 = 56; an octave and a fifth up, 75.
func TestMove(t *testing.T) {
	mirror := &Axis{Key: 60}
	for _, c := range []struct {
		voice Voice
		want  int
	}{
		{Voice{}, 64}, {Voice{Transpose: -7}, 57}, {Voice{Invert: mirror}, 56}, {Voice{Invert: mirror, Transpose: 19}, 75},
		{Voice{PerColor: Change{Transpose: []int{0, 5}}}, 69}, {Voice{PerTalea: Change{TransposeEach: 3}, Invert: mirror}, 2*60 - 70},
		{Voice{PerColor: Change{Invert: []*Axis{nil, mirror}}, PerTalea: Change{TransposeEach: 1}}, 58},
	} {
		move := c.voice.Move(1, 2)
		if got := move.Key(64); got != c.want {
			t.Errorf("%+v sounds 64 as %d, want %d", c.voice, got, c.want)
		}
	}
}

// Three semitones higher each time through, note 3 of Eb3 C3 is Gb3, and note 4 Eb3. Statements
// may turn round, so any member will do; a key that none sounds there has sharps.
func TestNameOf(t *testing.T) {
	v := Voice{
		Talea: []Duration{{}}, Color: []Pitch{{Keys: []int{51}, Letters: "E"}, {Keys: []int{48}, Letters: "C"}},
		PerColor: Change{TransposeEach: 3},
	}
	for _, c := range []struct {
		n, key int
		want   string
	}{{1, 51, "Eb3"}, {2, 48, "C3"}, {3, 54, "Gb3"}, {4, 51, "Eb3"}, {2, 51, "Eb3"}, {3, 58, "A#3"}, {0, 51, "D#3"}} {
		if got := v.NameOf(c.n, c.key); got != c.want {
			t.Errorf("note %d, key %d: %s, want %s", c.n, c.key, got, c.want)
		}
	}
}
