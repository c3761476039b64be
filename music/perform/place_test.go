package perform_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"rollwright/exact"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// TestPlaces puts voices of 8 units, one second each at 120 quarter notes a
// minute in sixteenths, and prints where each starts before the whole piece is
// moved, and by how much and for whom it is.
func TestPlaces(t *testing.T) {
	const eight = "\n  talea = \"1\"\n  color = \"C4\"\n  extent = \"8 notes\"\n"
	tests := []struct{ name, text, want string }{
		{"start and after", `voice "a" {EIGHT  start = "2.5 s"
}
voice "b" {EIGHT  start = "after a"
}`, "a 5/2, b 7/2; moved 0"},
		{"meeting an instant", `voice "a" {EIGHT  meet {
    at   = "0.5 s"
    mine = "end"
  }
}
voice "b" {EIGHT  meet {
    with   = "a"
    mine   = "note 3 end"
    theirs = "1/2"
  }
}`, "a -1/2, b -3/8; moved 1/2 for a"}, // half of a is at 0, three notes of b take 3/8 s
		{"a silence before 0 moves nothing", `voice "a" {
  talea = "(4) 4"
  color = "C4"
  meet {
    at   = "0.5 s"
    mine = "unit 4"
  }
}
voice "b" {EIGHT  meet {
    at   = "0 s"
    mine = "unit 16"
  }
}`, "a 0, b -2; moved 2 for b"},
		{"a grace note before 0", `voice "a" {
  line = "C4:2 grace(B3 C4 400ms):2"
}`, "a 0; moved 3/20 for a"}, // the second note is at 0.25 s
		{"sections", `section "one" {
  voice "a" {EIGHT  }
  voice "b" {EIGHT    speed = "1/3"
    start = "1 s"
  }
}
section "two" {
  overlap = "0.25 s"
  voice "c" {EIGHT    start = "1 s"
  }
}
section "three" {
  start = "1.5 s"
  voice "d" {EIGHT  }
  voice "e" {EIGHT    meet {
      at   = "0 s"
      mine = "end"
    }
  }
}
section "four" {
  voice "f" {EIGHT  }
}
voice "g" {EIGHT  start = "after c"
}`, "a 0, b 1, c 19/4, d 3/2, e 1/2, f 5/2, g 23/4; moved 0"}, // one ends at 4 s, three at 2.5 s
		{"a canon as early as can be", `tune "t" {EIGHT}
canon "c" {
  subject = "t"
  meet    = "1/2"
  voice "a" {
    speed = "2"
  }
  voice "b" {
    speed = "1"
  }
}
voice "after" {EIGHT  start = "after c"
}`, "a 1/4, b 0, after 1; moved 0"},
		{"until another ends", `voice "a" {EIGHT}
voice "b" {
  talea  = "3"
  color  = "C4"
  start  = "0.5 s"
  extent = "until a ends"
}
voice "c" {EIGHT  start = "after b"
}`, "a 0, b 1/2, c 5/4; moved 0"}, // two items of 3/8 s start before 1 s
	}
	for _, test := range tests {
		t.Run(test.name, func(t *testing.T) {
			perf := mustPerform(t, parse(t, strings.ReplaceAll(test.text, "EIGHT", eight)))
			if got := placesText(perf); got != test.want {
				t.Errorf("got  %s\nwant %s", got, test.want)
			}
			checkEvents(t, perf)
		})
	}
}

func placesText(perf *perform.Performance) string {
	var parts []string
	for i, l := range perf.Lines {
		at := l.Placed.String()
		if !l.PlacedExact || !l.StartExact || l.Start.Sub(l.Placed).String() != perf.Shift.String() {
			at = fmt.Sprintf("(not exact: %v, %v)", l.Placed, l.Start)
		}
		parts = append(parts, perf.Piece.Voices[i].Name+" "+at)
	}
	text := strings.Join(parts, ", ") + "; moved " + perf.Shift.String()
	if perf.ShiftVoice >= 0 {
		text += " for " + perf.Piece.Voices[perf.ShiftVoice].Name
	}
	return text
}

// TestLasts makes voices as long as asked for. The speed of one tempo is exact,
// that of each_note and of a path is not, and none misses by 0.01 ns.
func TestLasts(t *testing.T) {
	plain, shrinking, path := voice("a", "3 2", "60"), voice("b", "3 2", "60"), voice("c", "3 2", "60")
	shrinking.EachNote = real("0.95")
	path.Path = []piece.Leg{{From: real("60"), HasFrom: true, To: real("90"), HasTo: true, OverUnits: rat("40")}}
	voices := []piece.Voice{plain, shrinking, path}
	for i := range voices {
		voices[i].Extent = notes(30)
		voices[i].Lasts = piece.Lasts{Set: true, Sec: rat("240"), As: toVoice(-1)}
	}
	as := voice("d", "1", "60")
	as.Extent, as.Lasts = notes(7), piece.Lasts{Set: true, As: toVoice(2)}
	perf := mustPerform(t, pieceOf(append(voices, as)...))
	for i, l := range perf.Lines {
		if !near(l.EndSec, 240, 1e-11) || l.SpeedExact != (i == 0) {
			t.Errorf("voice %d ends at %.15g s, speed %v, exact: %v", i, l.EndSec, l.Speed, l.SpeedExact)
		}
	}
	// 75 units of 1/8 s last 9.375 s: slower by 240/9.375 = 25.6.
	if got := perf.Lines[0].Speed.String(); got != "5/128" {
		t.Errorf("speed %s, want 5/128", got)
	}
}

// The points of a voice at sqrt(2) of tempo 60, a unit sqrt(2)/8 of a second: note 2 after 3 of them
// of "3 1 (2)", and so on, exactly; along
// a tempo path only the start does.
func TestAt(t *testing.T) {
	const text = `
tempo = 60
voice "a" {
  start = "1 s"
  speed = "sqrt(2)"
  talea = "3 1 (2)"
  color = "C4 D4"
}
voice "b" {
  talea = "4 4"
  color = "C3 D3"
  tempo_path {
    leg {
      from = 60
      to   = 120
      over = 8
    }
  }
}
`
	p, err := piecefile.Parse(&source.File{Name: "x.piece", Text: []byte(text)})
	if err != nil {
		t.Fatal(err)
	}
	perf, err := perform.New(p, perform.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		line  int
		point piece.Point
		exact string // empty: not known
		sec   float64
	}{
		{0, piece.Point{}, "1", 1},
		{0, piece.Point{Kind: piece.AtNote, N: 2}, "1 + 3/8*sqrt(2)", 1.5303300858899107},       // 3 units of sqrt(2)/8 s
		{0, piece.Point{Kind: piece.AtNoteEnd, N: 2}, "1 + 1/2*sqrt(2)", 1.7071067811865475},    // 4
		{0, piece.Point{Kind: piece.AtEnd}, "1 + 3/4*sqrt(2)", 2.060660171779821},               // 6
		{0, piece.Point{Kind: piece.AtUnit, X: exact.Int(8)}, "1 + sqrt(2)", 2.414213562373095}, // beyond the end
		{0, piece.Point{Kind: piece.AtShare, X: exact.NewRat(1, 2)}, "1 + 3/8*sqrt(2)", 1.5303300858899107},
		{1, piece.Point{}, "0", 0},
		{1, piece.Point{Kind: piece.AtEnd}, "", 8 * 0.25 / (2 * math.Ln2)}, // the mean of 1/x over equal ratios from 1 to 2 is 1/(2 ln 2)
	} {
		in, err := perf.Lines[c.line].At(c.point)
		if err != nil || in.TimeExact != (c.exact != "") || c.exact != "" && in.Time.String() != c.exact ||
			math.Abs(in.Sec-c.sec) > 1e-9 {
			t.Errorf("%v: %v %v %.12f (%v), want %s %.12f", c.point, in.TimeExact, in.Time, in.Sec, err, c.exact, c.sec)
		}
	}
	if _, err := perf.Lines[0].At(piece.Point{Kind: piece.AtNote, N: 3}); err == nil ||
		err.Error() != `"a" has no note 3: it has 2` {
		t.Error(err)
	}
}
