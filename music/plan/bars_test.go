package plan_test

import (
	"bytes"
	"strings"
	"testing"

	"rollwright/music/plan"
)

// At 90 quarter notes a minute a sixteenth lasts 1/6 s: an upbeat of 4 is 2/3 s, a bar of 12
// two seconds. The tune of 40 units has bars 1 to 3; half as fast they come twice as late.
// The piece lasts 0:13.3, so that its own bars, seven, go on to 0:12.7.
func TestBars(t *testing.T) {
	p := planned(t, `tempo  = 90
bar    = 12
upbeat = 4
tune "ferry" {
  bar    = 12
  upbeat = 4
  line   = "G3:4 | C4:6 D:2 E:4 | G:4 E:4 C:4 | A3:8 (4) |"
}
voice "a" {
  like = "ferry"
}
voice "b" {
  like  = "ferry"
  speed = 1/2
}
voice "c" {
  talea = "4"
  color = "C4"
  bar   = "6 3"
  upbeat = 0
  extent = "10 notes"
}
`)
	var out bytes.Buffer
	if err := plan.WriteText(&out, p, plan.TextOptions{}); err != nil {
		t.Fatal(err)
	}
	text := strings.Join(strings.Fields(out.String()), " ")
	for _, want := range []string{
		"bars 12 units each, after an upbeat of 4: 7 bars; bar 1 at 0:00.7, bar 2 at 0:02.7, bar 3 at 0:04.7, " +
			"the last at 0:12.7",
		"bars 12 units each, after an upbeat of 4: 3 bars; bar 1 at 0:00.7, bar 2 at 0:02.7, bar 3 at 0:04.7",
		"bars 12 units each, after an upbeat of 4: 3 bars; bar 1 at 0:01.3, bar 2 at 0:05.3, bar 3 at 0:09.3",
		"bars units 6 3 in turn: 9 bars; bar 1 at 0:00.0, bar 2 at 0:01.0, bar 3 at 0:01.5, the last at 0:06.0",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the plan lacks\n%s\n%s", want, out.String())
		}
	}
}

// Where the piece's time is bent its bars are heard bent, and so are a voice's: from 60 to
// 120 in a straight line over 60 s of heard time, unit n comes where t + t^2/120 quarters are
// n/4; bar 2 of 16 units, 4 quarters, is at t = -60 + sqrt(3600 + 480) = 3.8749 s.
func TestBarsBent(t *testing.T) {
	p := planned(t, `tempo = 60
bar   = 16
tempo_path {
  leg {
    from  = 60
    to    = 120
    over  = "60 s"
    shape = "per-second"
  }
}
voice "c" {
  talea  = "4"
  color  = "C4"
  bar    = 16
  extent = "10 notes"
}
`)
	for _, b := range []*plan.Bars{p.Bars, p.Voices[0].Bars} {
		if b == nil || b.Count != 3 || len(b.Starts) != 3 {
			t.Fatalf("%+v", b)
		}
		if at := float64(b.Starts[1]); at < 3.87487 || at > 3.87493 {
			t.Errorf("bar 2 at %g", at)
		}
	}
}
