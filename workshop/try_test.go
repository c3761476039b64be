package workshop

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"rollwright/paper/inspect"
	"rollwright/text/source"
)

// threads are three voices in each other's way on one piano.
const threads = `tempo = 92
voice "runner" {
  talea  = "2 1 1 (1) 3 2"
  color  = "C3 Eb3 G3 Bb3+D4 F3 Ab3 C4 Eb4+G4 C4 Db4 F4"
  extent = "200 units"
  tempo_path {
    leg {
      from = 60
      to   = 260
      over = 160
    }
  }
}
tune "thread" {
  line   = "C3:2 gliss(C3 C5 white):4 D3:1 (1) E3+G3+B3:3 repeat(G3 fastest):4 C3:2 (2)"
  extent = "6 colores"
}
voice "I" {
  like  = "thread"
  speed = 3/4
}
voice "III" {
  like      = "thread"
  transpose = 12
  speed     = 5/4
}
`

var octave = regexp.MustCompile(` transpose = (-?\d+) in (\w+)`)

// TestOctavesHelp: no octave is named that leaves as many findings as there were.
// The voice that lies higher would go up by the keys alone.
func TestOctavesHelp(t *testing.T) {
	found := func(text string) *inspect.Report {
		t.Helper()
		j, err := New(t.Context(), &source.File{Name: "x.piece", Text: []byte(text)}, t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		report, err := j.Findings()
		if err != nil {
			t.Fatal(err)
		}
		return report
	}
	before := found(threads)
	offered := 0
	for _, told := range before.Told() {
		m := octave.FindStringSubmatch(told.Remedy)
		if m == nil || !strings.Contains(told.Remedy, "another octave:") {
			continue
		}
		offered++
		text := strings.Replace(threads, "  transpose = 12\n", "", 1)
		by := map[string]string{"III": "12", m[2]: m[1]}
		for name, n := range by {
			if _, err := strconv.Atoi(n); err != nil {
				t.Fatal(err)
			}
			text = strings.Replace(text, "voice \""+name+"\" {\n", "voice \""+name+"\" {\n  transpose = "+n+"\n", 1)
		}
		after := found(text)
		was, is := 0, 0
		for s := told.Lines[0].Severity; s <= inspect.Forbids; s++ {
			was, is = was+before.Counts[s], is+after.Counts[s]
		}
		if is >= was {
			t.Errorf("%s: %s leaves %d of %d findings", told.Lines[0].What, told.Remedy, is, was)
		}
	}
	if offered == 0 {
		t.Error("no octave is offered: the piece shows nothing")
	}
}
