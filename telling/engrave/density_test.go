package engrave_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"rollwright/draw"
	"rollwright/draw/typeface"
	"rollwright/music/perform"
	"rollwright/telling/engrave"
)

// swell has a slow voice, a fast one that begins later, and one of gestures at the
// end.
const swell = `
tempo = 60
voice "slow" {
  talea  = 8
  color  = "C3 E3 G3"
  extent = "30 s"
}
voice "fast" {
  talea  = 1
  speed  = 2
  color  = "C4 D4 E4 F4"
  extent = "12 s"
  start  = "20 s"
}
voice "shimmer" {
  talea = 4
  color = "repeat(C6 20/s) gliss(C5 C7 white) trill(E6 F6 20/s)"
  extent = "6 notes"
  start  = "after fast"
}
`

// readSystem is a system as a reader finds it on the page: its ruler, the heads
// below it, and the names at the left.
type readSystem struct {
	y          float64 // of the ruler's numbers
	sec, x     []float64
	heads      []float64 // times
	names      []string
	headWidths float64 // of a full-size head, in seconds
}

func readSystems(t *testing.T, pages []*draw.Drawing) []*readSystem {
	t.Helper()
	var all []*readSystem
	for _, p := range pages {
		var on []*readSystem
		for _, m := range p.Layer("axis", "").Marks {
			if n, ok := m.(*draw.Text); ok {
				if len(on) == 0 || on[len(on)-1].y != n.At.Y {
					on = append(on, &readSystem{y: n.At.Y})
				}
				var minutes, seconds float64
				if _, err := fmt.Sscanf(n.Text, "%f:%f", &minutes, &seconds); err != nil {
					t.Fatal(n.Text, err)
				}
				s := on[len(on)-1]
				s.sec, s.x = append(s.sec, minutes*60+seconds), append(s.x, n.At.X)
			}
		}
		below := func(y float64) *readSystem {
			var found *readSystem
			for _, s := range on {
				if s.y < y {
					found = s
				}
			}
			return found
		}
		for _, h := range signs(p.Layer("notes", ""), blackHead) {
			s := below(h.At.Y)
			last := len(s.x) - 1
			perMM := (s.sec[last] - s.sec[0]) / (s.x[last] - s.x[0])
			s.heads = append(s.heads, s.sec[0]+(h.At.X-s.x[0])*perMM)
			s.headWidths = max(s.headWidths, 1.18*h.SizeMM/4*perMM)
		}
		for _, m := range p.Layer("words", "").Marks {
			if n, ok := m.(*draw.Text); ok && n.Face == typeface.Sans && below(n.At.Y) != nil &&
				!strings.HasPrefix(n.Text, "page") && n.Text != "" {
				below(n.At.Y).names = append(below(n.At.Y).names, n.Text)
			}
		}
		all = append(all, on...)
	}
	return all
}

// Systems are of different lengths, yet by its own ruler every head stands at the
// time of its event, and a voice has staves where it sounds only.
func TestScoreSystems(t *testing.T) {
	perf := performed(t, swell)
	pages, err := engrave.Score(perf, engrave.ScoreOptions{})
	if err != nil {
		t.Fatal(err)
	}
	systems := readSystems(t, pages)
	var want, got []float64
	for e := range perf.Events() {
		want = append(want, e.StartSec)
	}
	for _, s := range systems {
		got = append(got, s.heads...)
	}
	slices.Sort(want)
	slices.Sort(got)
	if len(got) != len(want) {
		t.Fatalf("%d heads for %d events", len(got), len(want))
	}
	for i := range want {
		if math.Abs(got[i]-want[i]) > 1e-6 {
			t.Fatalf("head %d stands at %.6f s, want %.6f", i+1, got[i], want[i])
		}
	}
	lengths := map[string]bool{}
	for i, s := range systems {
		end := math.Inf(1)
		if i+1 < len(systems) {
			end = systems[i+1].sec[0]
			lengths[fmt.Sprintf("%g", end-s.sec[0])] = true
		}
		if names, sound := s.names, sounding(perf, s.sec[0], end); !slices.Equal(names, sound) {
			t.Errorf("the system from %g s has staves for %v, there sound %v", s.sec[0], names, sound)
		}
	}
	if len(lengths) < 2 {
		t.Errorf("all systems are as long: %v", lengths)
	}
}

// sounding are the names of the voices that sound between two instants.
func sounding(perf *perform.Performance, from, to float64) []string {
	var names []string
	for v, l := range perf.Lines {
		for e := range perf.Events() {
			if int(e.Voice) == v && e.StartSec < to && e.EndSec > from {
				names = append(names, perf.Piece.Voices[l.Voice].Name)
				break
			}
		}
	}
	return names
}

// A gesture is one note for the density, however many strokes it has: six of them
// in six seconds do not ask for systems of one second. Slow notes stand in long
// systems, though a fast voice comes later: 10 notes of two seconds each before it.
func TestScoreDensity(t *testing.T) {
	pages, err := engrave.Score(performed(t, swell), engrave.ScoreOptions{})
	if err != nil {
		t.Fatal(err)
	}
	systems := readSystems(t, pages)
	for i, s := range systems[:len(systems)-1] {
		if long := systems[i+1].sec[0] - s.sec[0]; long < 5 {
			t.Errorf("a system of %g s from %g s on", long, s.sec[0])
		}
		// At least nine tenths of the heads of a voice alone stand apart.
		if len(s.names) == 1 {
			near := 0
			for k := 1; k < len(s.heads); k++ {
				if s.heads[k]-s.heads[k-1] < 1.5*s.headWidths-1e-9 {
					near++
				}
			}
			if near > len(s.heads)/10 {
				t.Errorf("%d of %d heads stand too near from %g s on", near, len(s.heads), s.sec[0])
			}
		}
	}
	if first := systems[1].sec[0]; first < 15 {
		t.Errorf("the first system has %g s of slow notes", first)
	}
	if len(pages) > 2 {
		t.Errorf("%d pages for %g s", len(pages), systems[len(systems)-1].sec[0])
	}
}

// How to read the score is said to the end.
func TestScoreHead(t *testing.T) {
	for _, letter := range []bool{false, true} {
		pages, err := engrave.Score(performed(t, swell), engrave.ScoreOptions{Letter: letter})
		if err != nil {
			t.Fatal(err)
		}
		said := false
		for _, m := range pages[0].Layer("words", "").Marks {
			if n, ok := m.(*draw.Text); ok && n.Face == typeface.Serif {
				said = said || strings.HasSuffix(n.Text, "spells them.")
			}
		}
		if !said {
			t.Errorf("letter %v: the words above the first system are cut off", letter)
		}
	}
}
