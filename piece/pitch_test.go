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
