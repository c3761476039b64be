package show_test

import (
	"slices"
	"strings"
	"testing"

	"rollwright/telling/show"
)

// ends is a canon of three whose quicker voices have ended before the slow one,
// after which a fourth voice begins. A unit of the slow one is 5/32 s at 96 quarter notes a minute.
const ends = `tempo = 96
tune "drift" {
  talea = "3 2 2 (1) 4 1 1 2 (3) 5 1 2"
  color = "D3 A3 F3 C4 E4 B3 G4"
}
canon "tides" {
  subject = "drift"
  meet    = "2/3"
  voice "low" {
    transpose = -12
  }
  voice "mid" {
    speed = "sqrt(3)"
  }
  voice "high" {
    speed     = "e/2"
    transpose = 19
  }
}
voice "shimmer" {
  talea = "6 2 3"
  color = "C6 D6 E6 F6"
  speed = pi
  start = "after low"
}
`

// A step of a voice counts the voices that play with it, and leaves out those
// that have nothing in its stretch.
func TestVoicesThatSoundNow(t *testing.T) {
	beside := func(start string) string {
		return "voice \"a\" {\n  talea = \"3 2 1\"\n  color = \"C3 G3\"\n  extent = \"40 units\"\n}\n" +
			"voice \"b\" {\n  talea = \"2 1\"\n  color = \"E5 B5 D5\"\n  start = \"" + start + "\"\n}\n"
	}
	for _, c := range []struct {
		name, text, step, says string
		voices                 []int
	}{
		// low ends at 189 units = 29.5 s; mid and high at 25.4 and 26.9 s, before
		// the 27.5 s with which the step begins.
		{"after", ends, "voice shimmer", "It sounds alone, after the others have ended.", []int{0, 3}},
		{"three", ends, "voice high", "3 voices sound now.", []int{0, 1, 2}},
		{"beside", beside("1 s"), "voice b", "2 voices sound now.", []int{0, 1}},
		// 40 units of an eighth of a second are over long before.
		{"long after", beside("30 s"), "voice b", "It sounds alone, after the others have ended.", []int{1}},
		{"chosen", beside("1 s") + "show {\n  step \"voice b\" {\n    voices = \"b\"\n  }\n}\n", "voice b", "It sounds alone.", []int{1}},
	} {
		s := stepNamed(t, lectureOf(t, jobOf(t, "p", c.text), show.Options{}), c.step)
		if !slices.Equal(s.Voices, c.voices) {
			t.Errorf("%s: voices %v, want %v", c.name, s.Voices, c.voices)
		}
		if got := s.Text[0]; !strings.HasSuffix(got, c.says) {
			t.Errorf("%s says %q, want %q at its end", c.name, got, c.says)
		}
	}
}

// The figure of such a step has rows for its voices alone.
func TestRowsOfVoicesThatSound(t *testing.T) {
	l := lectureOf(t, jobOf(t, "p", ends), show.Options{})
	for step, want := range map[string][]string{"voice shimmer": {"low", "shimmer"},
		"voice high": {"low", "mid", "high"}} {
		var rows []string
		for _, layer := range stepNamed(t, l, step).Figure.Drawing.Layers {
			if layer.ID == "names" {
				rows = texts(layer)
			}
		}
		if !slices.Equal(rows, want) {
			t.Errorf("%s: rows %v, want %v", step, rows, want)
		}
	}
}
