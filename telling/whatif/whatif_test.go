package whatif_test

import (
	"slices"
	"strings"
	"testing"

	"rollwright/telling/whatif"
)

// two voices with a stroke on each second at first: 12 notes of one unit, a sixteenth, at 15 quarters a
// minute.
const two = `
tempo = 15
voice "low" {
  talea  = "1"
  color  = "C3"
  extent = "12 notes"
}
voice "high" {
  talea  = "1"
  color  = "G4"
  extent = "12 notes"
}
voice "floor" {
  talea  = "12"
  color  = "C2"
}
`

func open(t *testing.T, text string) *whatif.Piece {
	t.Helper()
	p, err := whatif.Open(whatif.Source{Name: "two.piece", Text: text})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestAsk. Worked by hand: low strikes at 0, 1, ..., 11 s. High three times as often as low
// strikes twice strikes at 0, 2/3, 4/3, 2, ..., 22/3 s: they fall together at 0, 2, 4 and
// 6 s. At half the speed it strikes at 0, 2, ..., 22 s and meets the six strokes of low on
// even seconds; at sqrt(2) times the speed the first stroke alone.
func TestAsk(t *testing.T) {
	p := open(t, two)
	if got, want := p.Pairs(), []whatif.Pair{{Voice: 1, Against: 0}, {Voice: 0, Against: 1}}; !slices.Equal(got, want) {
		t.Fatalf("pairs %v, want %v", got, want)
	}
	for _, c := range []struct {
		ratio, set string
		whole      []int64
		length     float64
		meetings   int
	}{
		{"3/2", "high.speed=3/2", []int64{3, 2}, 12, 4},
		{"0.5", "high.speed=1/2", []int64{1, 2}, 24, 6},
		{"sqrt(2)", "high.speed=sqrt(2)", []int64{}, 12, 1},
		{"10001/10000", "high.speed=10001/10000", []int64{}, 12, 1},
	} {
		a, err := p.Ask(whatif.Question{Pair: whatif.Pair{Voice: 1, Against: 0}, Ratio: c.ratio})
		if err != nil {
			t.Errorf("%s: %v", c.ratio, err)
			continue
		}
		if a.Set != c.set || !slices.Equal(a.Whole, c.whole) || a.Length != c.length ||
			a.Pairs[0].Meetings.Count != c.meetings {
			t.Errorf("%s: set %s, whole %v, length %v, %d meetings; want %+v", c.ratio, a.Set, a.Whole, a.Length,
				a.Pairs[0].Meetings.Count, c)
		}
	}
}

// TestAskAgainstASpeed: a ratio is that of the two voices, not the speed of one: against a
// voice at 5/4 of the tempo, 2 : 1 is 5/2.
func TestAskAgainstASpeed(t *testing.T) {
	p := open(t, strings.Replace(two, `voice "low" {`, "voice \"low\" {\n  speed = 5/4", 1))
	a, err := p.Ask(whatif.Question{Pair: whatif.Pair{Voice: 1, Against: 0}, Ratio: "2"})
	if err != nil || a.Set != "high.speed=5/2" {
		t.Errorf("set %+v, %v; want high.speed=5/2", a, err)
	}
	if got := p.Written(whatif.Pair{Voice: 1, Against: 0}); got != "4/5" {
		t.Errorf("as written %s, want 4/5", got)
	}
}

// TestAskWrongly: what cannot be asked is said in a sentence.
func TestAskWrongly(t *testing.T) {
	p := open(t, two)
	for _, c := range []struct {
		pair        whatif.Pair
		ratio, want string
	}{
		{whatif.Pair{Voice: 1, Against: 1}, "2", "two voices"},
		{whatif.Pair{Voice: 1, Against: 7}, "2", "two voices"},
		{whatif.Pair{Voice: 1, Against: 2}, "2", "no one ratio"},
		{whatif.Pair{Voice: 1, Against: 0}, "fast", "fast"},
		{whatif.Pair{Voice: 1, Against: 0}, "", ""},
	} {
		_, err := p.Ask(whatif.Question{Pair: c.pair, Ratio: c.ratio})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v %q: %v, want an error with %q", c.pair, c.ratio, err, c.want)
		}
	}
}

// TestNoPairs: one voice has no ratio, and one whose tempo changes none that can be asked.
func TestNoPairs(t *testing.T) {
	alone := two[:strings.Index(two, `voice "high"`)]
	bent := strings.Replace(two, `voice "high" {`, `voice "high" {
  tempo_path {
    leg {
      from = 60
      to   = 120
      over = "5 s"
    }
  }`, 1)
	for _, text := range []string{alone, bent} {
		if got := open(t, text).Pairs(); len(got) > 0 {
			t.Errorf("pairs %v of\n%s", got, text)
		}
	}
}
