package piece

import (
	"fmt"
	"testing"
)

// C4 is middle C, MIDI note 60; A0 and C8 are the ends of the 88 keys (21 and
// 108 in the MIDI 1.0 numbering). The octave goes with the letter.
func TestParsePitch(t *testing.T) {
	for _, c := range []struct {
		text string
		key  int
	}{
		{"C4", 60}, {"A0", 21}, {"C8", 108}, {"A4", 69}, {"C-1", 0}, {"G9", 127},
		{"C#4", 61}, {"Db4", 61}, {"Cb4", 59}, {"B#3", 60}, {"F##4", 67}, {"Ebb5", 74}, {"E#2", 41}, {"Fb2", 40},
	} {
		if key, err := ParsePitch(c.text); err != nil || key != c.key {
			t.Errorf("ParsePitch(%q) = %d, %v; want %d", c.text, key, err, c.key)
		}
	}
	for _, bad := range []string{"", "C", "H2", "c4", "C10", "C-2", "C###4", "Cb#4", "Cb-1", "G#9", "C4 ", "4C", "C04", "C+4"} {
		if key, err := ParsePitch(bad); err == nil {
			t.Errorf("ParsePitch(%q) = %d, want an error", bad, key)
		}
	}
}

func TestPitchNameReadsBack(t *testing.T) {
	for key := LowestKey; key <= HighestKey; key++ {
		if got, err := ParsePitch(PitchName(key)); err != nil || got != key {
			t.Errorf("key %d is named %s, which reads as %d, %v", key, PitchName(key), got, err)
		}
	}
	if got := PitchName(-1); got != "B-2" {
		t.Errorf("PitchName(-1) = %s, want B-2", got)
	}
	if got := PitchName(-12); got != "C-2" {
		t.Errorf("PitchName(-12) = %s, want C-2", got)
	}
}

func ExamplePitchName() {
	key, err := ParsePitch("Bb2")
	fmt.Println(key, err, PitchName(key))
	// Output: 46 <nil> A#2
}

// A key and a letter make a name as the composer writes it: 58 is A#3 or Bb3, 59
// Cb4, 60 B#3, 62 Ebb4. E for key 60 would take four flats.
func TestSpelled(t *testing.T) {
	for _, c := range []struct {
		key    int
		letter byte
		want   string
	}{
		{58, 'A', "A#3"}, {58, 'B', "Bb3"}, {59, 'C', "Cb4"}, {60, 'B', "B#3"}, {62, 'E', "Ebb4"}, {62, 'C', "C##4"}, {0, 'B', "B#-2"}, {0, 'C', "C-1"}, {60, 'E', "C4"}, {61, 0, "C#4"},
	} {
		if got := Spelled(c.key, c.letter); got != c.want {
			t.Errorf("key %d by %c is %s, want %s", c.key, c.letter, got, c.want)
		}
	}
	for key := LowestKey; key <= HighestKey; key++ {
		for _, flats := range []bool{false, true} {
			if got, err := ParsePitch(Spelled(key, Letter(key, flats))); key > 0 && (err != nil || got != key) {
				t.Errorf("key %d, flats %v: %s", key, flats, Spelled(key, Letter(key, flats)))
			}
		}
	}
}

// What a pitch becomes keeps its letter in another octave, and its flats or sharps
// elsewhere.
func TestName(t *testing.T) {
	p := Pitch{Keys: []int{58, 61, 64}, Letters: "BCE"} // Bb3 C#4 E4
	for _, c := range []struct {
		i, key int
		want   string
	}{{0, 58, "Bb3"}, {0, 46, "Bb2"}, {0, 63, "Eb4"}, {1, 63, "D#4"}, {2, 63, "D#4"}, {3, 63, "D#4"}} {
		if got := p.Name(c.i, c.key); got != c.want {
			t.Errorf("key %d of %d: %s, want %s", c.i, c.key, got, c.want)
		}
	}
}

// Mirrored at C4, E4 (64) becomes 2*60-64 = 56; an octave and a fifth up, 75.
func TestSounding(t *testing.T) {
	mirror := 60
	for _, c := range []struct {
		voice Voice
		want  int
	}{{Voice{}, 64}, {Voice{Transpose: -7}, 57}, {Voice{Invert: &mirror}, 56}, {Voice{Invert: &mirror, Transpose: 19}, 75}} {
		if got := c.voice.Sounding(64); got != c.want {
			t.Errorf("%+v sounds 64 as %d, want %d", c.voice, got, c.want)
		}
	}
}
