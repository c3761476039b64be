package web

import (
	"encoding/json"
	"math"
	"net/http"
	"strings"
	"testing"
)

// movable has every kind of grip. At tempo 120 a unit is 1/8 s.
const movable = `title = "Movable"
tempo = 120

tune "t" {
  talea  = "2"
  color  = "C3"
  extent = "24 notes"
}

voice "low" {
  talea  = "2"
  color  = "C3"
  extent = "30 notes"
}

voice "high" { # 60 units, 7.5 s
  talea  = "3"
  color  = "C5"
  extent = "20 notes"
  start  = "0.5 s"
}

voice "turns" {
  talea  = "1 2 (1)"
  color  = "E5 F5"
  extent = "6 taleae"
  start  = "after low"
}

voice "path" {
  talea = "4"
  color = "G5"
  extent = "16 notes"
  tempo_path {
    leg {
      from = 60
      to   = 120
      over = 32
      shape = "per-second"
    }
    leg {
      from = 60
      over = "4 s"
    }
  }
}

canon "round" {
  subject = "t"
  meet    = "note 13"
  speeds  = "1 : 2"
  voice "I" {}
  voice "II" { transpose = 12 }
}

canon "timed" {
  subject = "t"
  meet    = "1/2"
  at      = "8 s"
  speeds  = "1 : 2"
  voice "III" { transpose = 24 }
  voice "IV" {
    transpose = 36
  }
}

canon "shared" {
  subject = "t"
  meet    = "1/2"
  speeds  = "1 : 2"
  voice "V" { transpose = 7 }
  voice "VI" { transpose = 19 }
}

section "A" {
  voice "a" {
    talea = "8"
    color = "C6"
    extent = "4 notes"
  }
}

section "B" {
  voice "b" {
    talea = "8"
    color = "D6"
    extent = "4 notes"
  }
}
`

// TestMoveIsWorkedByHand moves grips and reads the one attribute that is written.
func TestMoveIsWorkedByHand(t *testing.T) {
	b := serve(t, map[string]string{"m.piece": movable})
	w := b.work("m.piece", movable)
	if !w.OK {
		t.Fatal(w.Errors)
	}
	index := map[string]int{}
	for i, v := range w.Voices {
		index[v.Name] = i
	}
	for _, c := range []struct {
		voice, grip string
		more        m
		line        string // that is written, blanks around = left out; empty: none
		sec         float64
	}{
		// Nothing is written: whole units, 1.06 s is 8.48 of them; loose: milliseconds.
		{"low", "start low", m{"by": 1.06}, `start="8 units"`, 1},
		{"low", "start low", m{"by": 1.06, "loose": true}, `start="1.06 s"`, 1.06},
		{"low", "start low", m{"by": 0, "steps": 3}, `start="3 units"`, 0.375},
		// Written in seconds: tenths. high ends at 0.5 + 7.5 s; drawn only within reach, as
		// "a" ends at 4 s.
		{"high", "start high", m{"by": 1.234}, `start="1.7 s"`, 1.7},
		{"low", "start low", m{"by": 7.9, "reach": 0.2}, `start="after high"`, 8},
		{"low", "start low", m{"by": 7.9, "reach": 0.01}, `start="63 units"`, 7.875},
		{"high", "start high", m{"by": 7.05, "reach": 0.1}, `start="after low"`, 7.5},
		// Behind another voice: the distance from it. turns begins at 7.5 s.
		{"turns", "start turns", m{"by": 0.25}, `start="after low + 2 units"`, 7.75},
		{"turns", "start turns", m{"by": -0.5}, `start="after low - 4 units"`, 7},
		// A circle is no piece: low cannot begin after turns, which begins after low. That ends
		// at 7.5 + 6 * 4/8 = 10.5 s.
		{"low", "start low", m{"by": 10.5, "reach": 0.05}, `start="84 units"`, 10.5},
		// Extents: 20 notes of 3/8 s less 0.75 s; 6 statements of 4/8 s and one more.
		{"high", "end high", m{"by": -0.75}, `extent="18 notes"`, 7.25},
		{"high", "end high", m{"by": 1.5}, `extent="24 notes"`, 9.5},
		{"high", "end high", m{"by": 0.1, "loose": true}, `extent="exactly 60.8 units"`, 8.1},
		{"turns", "end turns", m{"by": 0.6}, `extent="7 taleae"`, 11},
		// A leg from 60 to 120 in equal steps a second takes 8 quarters at 90: 16/3 s. Half
		// as long again is 48 units; the second leg ends 4 s after the first.
		{"path", "leg 1 path", m{"by": 8.0 / 3}, `over=48`, 8},
		{"path", "leg 2 path", m{"by": 0.52}, `over="4.5 s"`, 16.0/3 + 4.5},
		// The point of the canon: I has note n at (n-1)/4 s, and begins it.
		{"I", "meet round", m{"by": 0.5}, `meet="note 15"`, 3.5},
		{"I", "meet round", m{"by": 9}, `meet="end"`, 6},
		{"II", "meet round", m{"by": -9}, `meet="start"`, 0},
		// Half of 6 s and 0.5 s more are 7/12.
		{"V", "meet shared", m{"by": 0.5}, `meet="7/12"`, 3.5},
		{"V", "meet shared", m{"by": 0.51, "loose": true}, `meet="117/200"`, 3.51},
		// At a time, the time moves, and the whole canon with it.
		{"III", "meet timed", m{"by": 1.26}, `at="9.3 s"`, 9.3},
		{"IV", "start IV", m{"by": 0.25}, `later="2 units"`, 8 - 1.5 + 0.25},
		// A: from the start of the piece; B: from the end of A at 4 s.
		{"a", "section A", m{"by": 0.5}, `start="4 units"`, 0.5},
		{"b", "section B", m{"by": 0.5}, `gap="4 units"`, 4.5},
		{"b", "section B", m{"by": -0.5}, `overlap="0.5 s"`, 3.5},
	} {
		body := m{"name": "m.piece", "text": movable, "voice": index[c.voice], "grip": c.grip, "by": 0.0, "steps": 0,
			"reach": 0.0, "loose": false}
		for k, v := range c.more {
			body[k] = v
		}
		got := ask[moved](b, "/api/move", body)
		if line := lineOf(got.Splice.Text); strings.ReplaceAll(line, " = ", "=") != c.line {
			t.Errorf("%s %v writes %q, not %q", c.grip, c.more, line, c.line)
		}
		if math.Abs(got.Sec-c.sec) > 1e-6 {
			t.Errorf("%s %v lies at %v s, not %v", c.grip, c.more, got.Sec, c.sec)
		}
		if now := b.work("m.piece", got.Splice.Text); !now.OK {
			t.Errorf("%s %v leaves a text with %v", c.grip, c.more, now.Errors)
		}
	}
}

// lineOf is the one line of a text that is not in movable, its blanks made single.
func lineOf(text string) string {
	old := map[string]int{}
	for _, l := range strings.Split(movable, "\n") {
		old[l]++
	}
	var out []string
	for _, l := range strings.Split(text, "\n") {
		if old[l]--; old[l] < 0 {
			out = append(out, strings.Join(strings.Fields(l), " "))
		}
	}
	return strings.Join(out, "; ")
}

// TestGripsLieWhereTheyAre: what can be moved of a voice is at its place, and what is
// no piece has nothing.
func TestGripsLieWhereTheyAre(t *testing.T) {
	b := serve(t, map[string]string{"m.piece": movable})
	w := b.work("m.piece", movable)
	got := ask[gripsFound](b, "/api/grips", m{"id": w.ID, "voice": len(w.Voices) - 1}).Grips
	data, err := json.Marshal(got)
	want := `[{"id":"start b","kind":"start","of":"b","leg":0,"sec":4,"attr":"start","value":""},` +
		`{"id":"end b","kind":"end","of":"b","leg":0,"sec":8,"attr":"extent","value":"4 notes"},` +
		`{"id":"section B","kind":"section","of":"B","leg":0,"sec":4,"attr":"gap","value":""}]`
	if err != nil || string(data) != want {
		t.Errorf("%s", data)
	}
	if other := ask[gripsFound](b, "/api/grips", m{"id": "other", "voice": 0}); len(other.Grips) > 0 {
		t.Errorf("a text that is not at hand: %v", other.Grips)
	}
	none := m{"name": "m.piece", "text": movable, "voice": 0, "grip": "end none", "by": 1}
	if status, _ := b.send("POST", "/api/move", none); status != http.StatusNotFound {
		t.Errorf("a grip that is not there: %d", status)
	}
}
