package pitch

import (
	"fmt"
	"testing"
)

// C4 is middle C, MIDI note 60; A0 and C8 are the ends of the 88 keys (21 and
// 108 in the MIDI 1.0 numbering). The octave goes with the letter.
func TestParse(t *testing.T) {
	for _, c := range []struct {
		text string
		key  int
	}{
		{"C4", 60}, {"A0", 21}, {"C8", 108}, {"A4", 69}, {"C-1", 0}, {"G9", 127},
		{"C#4", 61}, {"Db4", 61}, {"Cb4", 59}, {"B#3", 60}, {"F##4", 67}, {"Ebb5", 74}, {"E#2", 41}, {"Fb2", 40},
	} {
		if key, err := Parse(c.text); err != nil || key != c.key {
			t.Errorf("Parse(%q) = %d, %v; want %d", c.text, key, err, c.key)
		}
	}
	for _, bad := range []string{"", "C", "H2", "c4", "C10", "C-2", "C###4", "Cb#4", "Cb-1", "G#9", "C4 ", "4C", "C04",
		"C+4"} {
		if key, err := Parse(bad); err == nil {
			t.Errorf("Parse(%q) = %d, want an error", bad, key)
		}
	}
}

func TestNameReadsBack(t *testing.T) {
	for key := LowestKey; key <= HighestKey; key++ {
		if got, err := Parse(Name(key)); err != nil || got != key {
			t.Errorf("key %d is named %s, which reads as %d, %v", key, Name(key), got, err)
		}
	}
	if got := Name(-1); got != "B-2" {
		t.Errorf("Name(-1) = %s, want B-2", got)
	}
	if got := Name(-12); got != "C-2" {
		t.Errorf("Name(-12) = %s, want C-2", got)
	}
}

func ExampleName() {
	key, err := Parse("Bb2")
	fmt.Println(key, err, Name(key))
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
			if got, err := Parse(Spelled(key, Letter(key, flats))); key > 0 && (err != nil || got != key) {
				t.Errorf("key %d, flats %v: %s", key, flats, Spelled(key, Letter(key, flats)))
			}
		}
	}
}
