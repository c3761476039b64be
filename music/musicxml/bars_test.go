package musicxml_test

import (
	"bytes"
	"math"
	"regexp"
	"strings"
	"testing"

	"rollwright/music/musicxml"
)

const ferry = `
tempo = 90
bar = 12
upbeat = 4
tune "ferry" {
  bar    = 12
  upbeat = 4
  line   = "G3:2 Ab | Bb:4 C4:1 D Ebb:2 F#:4 | D:14 (2) E:2 F##:6 |"
}
voice "a" {
  like = "ferry"
}
voice "b" {
  like      = "ferry"
  start     = "bar 2"
  transpose = -12
}
`

// Bars, ties over bar lines, beams and spelling, as W3C's MusicXML 4.0 writes them: measure,
// implicit for an upbeat; tie; beam; alter -2 for two flats. Worked by hand: the upbeat has
// a beam of two eighths, bar 1 one of two sixteenths and an eighth.
func TestBars(t *testing.T) {
	perf := performed(t, ferry)
	file := written(t, score(perf))
	if err := musicxml.Check(bytes.NewReader(file)); err != nil {
		t.Fatal(err)
	}
	parts := strings.Split(string(file), "<part id")
	bars := strings.Split(parts[1], "<measure ")
	if len(bars) != 5 { // before the first, the upbeat, three bars
		t.Fatalf("%d measures", len(bars)-1)
	}
	for i, want := range []string{"", `number="0" implicit="yes"`, `number="1"`, `number="2"`, `number="3"`} {
		if !strings.HasPrefix(bars[i], want) {
			t.Errorf("measure %d begins %.40s, want %s", i, bars[i], want)
		}
	}
	if n := strings.Count(parts[1], "<time>"); n != 1 || !strings.Contains(bars[1], "<beats>3</beats>") {
		t.Errorf("%d time signatures, want one of 3/4", n)
	}
	all := regexp.MustCompile(`<beam number="(\d)">([a-z ]+)<`).FindAllStringSubmatch(bars[1]+bars[2], -1)
	got := ""
	for _, m := range all {
		got += m[1] + m[2] + " "
	}
	if want := "1begin 1end 1begin 2begin 1continue 2end 1end "; got != want {
		t.Errorf("beams %q, want %q", got, want)
	}
	if !strings.Contains(bars[3], `<tie type="start"/>`) || !strings.Contains(bars[4], `<tie type="stop"/>`) {
		t.Error("D, which lasts longer than its bar, is not tied")
	}
	for _, want := range []string{"<step>E</step>\n          <alter>-2</alter>", "flat-flat", "<step>F</step>\n          <alter>2</alter>",
		"double-sharp"} {
		if !strings.Contains(string(file), want) {
			t.Errorf("nothing is written %s", want)
		}
	}
	if !strings.Contains(parts[2], `number="X1" implicit="yes"`) || !strings.Contains(parts[2], `number="0" implicit="yes"`) {
		t.Error("the rest before an upbeat has not a number of its own")
	}
	// What is tied comes back as one note, at its time.
	back, err := musicxml.Read(bytes.NewReader(file))
	if err != nil {
		t.Fatal(err)
	}
	i := 0
	for _, line := range perf.Lines {
		for it := range line.All() {
			if it.Silent {
				continue
			}
			if n := back.Notes[i]; math.Abs(n.StartSec-it.StartSec) > 1e-6 || math.Abs(n.EndSec-it.EndSec) > 1e-6 {
				t.Errorf("note %d from %.6f to %.6f, want %.6f to %.6f", i+1, n.StartSec, n.EndSec, it.StartSec, it.EndSec)
			}
			i++
		}
	}
	if i != len(back.Notes) {
		t.Errorf("%d notes come back of %d", len(back.Notes), i)
	}
}
