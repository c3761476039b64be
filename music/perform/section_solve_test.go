package perform_test

import (
	"strings"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piece"
)

// A section's speed is not the voice's: what is found, put into the text, plays the same. From
// note 1 to note 20 of high are 6*5 + 2 = 32 units, from note 2 to note 30 of low 14*5 = 70,
// so the speed is 32/70 = 16/35 however fast the section is.
func TestFoundInFasterSection(t *testing.T) {
	const text = `section "A" {
  speed = 2
  voice "low" {
    talea  = "3 2"
    color  = "C3 D3"
    extent = "30 notes"
  }
  voice "high" {
    talea  = "2 2 1"
    color  = "C5 D5"
    extent = "30 notes"
    speed  = "?"
    meet {
      with   = "low"
      mine   = "note 1"
      theirs = "note 2"
    }
    meet {
      with   = "low"
      mine   = "note 20"
      theirs = "note 30"
    }
  }
}
`
	performed := func(text string) *perform.Performance {
		t.Helper()
		f, err := perform.New(parse(t, text), perform.Options{})
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	found := performed(text)
	if got := found.Found[0].Value.String(); got != "16/35" {
		t.Fatalf("speed %s, want 16/35", got)
	}
	lines := found.Lines
	for _, c := range [][2]int{{1, 2}, {20, 30}} {
		mine, err := lines[1].At(piece.Point{Kind: piece.AtNote, N: c[0]})
		if err != nil {
			t.Fatal(err)
		}
		theirs, err := lines[0].At(piece.Point{Kind: piece.AtNote, N: c[1]})
		if err != nil || mine.Sec != theirs.Sec {
			t.Errorf("note %d at %g, note %d of low at %g: %v", c[0], mine.Sec, c[1], theirs.Sec, err)
		}
	}
	written := strings.Replace(text, `"?"`, "16/35", 1)
	at := strings.LastIndex(written, "    meet {")
	written = written[:at] + "  }\n}\n"
	again := performed(written)
	if again.Lines[1].StartSec != lines[1].StartSec || again.Lines[1].EndSec != lines[1].EndSec {
		t.Errorf("found from %g to %g, written from %g to %g", lines[1].StartSec, lines[1].EndSec, again.Lines[1].StartSec,
			again.Lines[1].EndSec)
	}
}
