package piece

import "testing"

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
