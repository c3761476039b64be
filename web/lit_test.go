package web

import (
	"slices"
	"strings"
	"testing"
)

// shared has a tune that two voices play, and a line with a gesture.
const shared = `tempo = 120
tune "t" {
  talea = "2 2"
  color = "C3 D3 E3"
}
canon "c" {
  subject = "t"
  speeds  = "1 : 2"
  voice "I" {}
  voice "II" {
    color = "G4 A4 B4" # ä stands for one unit of UTF-16 and two bytes: the next ones lie right
  }
}
voice "v" {
  line = "C5:2 trill(C5 D5 8/s):8!ff E5:2"
}
`

// TestItemsAndHolesFindEachOther: the fourth note of I is its first pitch again.
func TestItemsAndHolesFindEachOther(t *testing.T) {
	b := serve(t, map[string]string{"s.piece": shared})
	w := b.work("s.piece", shared)
	item := func(voice, note int) string {
		at := ask[litText](b, "/api/item", m{"id": w.ID, "voice": voice, "note": note})
		units := []rune(shared) // every character of it is one unit
		return string(units[at.From:at.To])
	}
	for _, c := range []struct {
		voice, note int
		want        string
	}{{0, 1, "C3"}, {0, 4, "C3"}, {0, 2, "D3"}, {1, 3, "B4"}, {2, 2, "trill(C5 D5 8/s):8!ff"}, {2, 3, "E5:2"}, {2, 9, ""}} {
		if got := item(c.voice, c.note); got != c.want {
			t.Errorf("note %d of voice %d is %q, not %q", c.note, c.voice, got, c.want)
		}
	}
	holes := func(before string, after float64) holesFound {
		at := len([]rune(shared[:strings.Index(shared, before)]))
		return ask[holesFound](b, "/api/holes", m{"id": w.ID, "at": at, "after": after})
	}
	// Three pitches on two durations of a quarter second: D3 is note 2 and 5 of I, at 1/4 and 1 s
	// after I begins.
	start := w.Voices[0].StartSec
	got := holes("D3 E3", start+0.5)
	if !slices.Equal(got.Voices, []int{0, 0}) || !slices.Equal(got.Notes, []int{2, 5}) || got.Sec != start+1 {
		t.Errorf("%+v", got)
	}
	if got := holes("D3 E3", start+9); got.Sec != start+0.25 {
		t.Errorf("after the last it begins anew: %+v", got)
	}
	// In no item: where the voice begins.
	if got := holes("line =", 0); len(got.Notes) != 0 || got.Sec != w.Voices[2].StartSec {
		t.Errorf("%+v", got)
	}
	if got := holes("tempo =", 0); got.Sec >= 0 {
		t.Errorf("%+v", got)
	}
}
