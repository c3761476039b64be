package perform_test

import (
	"fmt"
	"strings"
	"testing"

	"rollwright/music/perform"
	"rollwright/music/piecefile"
	"rollwright/text/source"
)

// The places in the tune are 15(t - 20), 12(t - 15), 10t and 20(t - 30) times a
// unit: one and two cross at 40, one and three at 60, two and three at 90, one and
// four at 60, two and four at 52.5 s. Speeds 15 : 12 : 10 : 20, starts 20, 15, 0, 30.
func TestCrossings(t *testing.T) {
	crosses := []string{"one two 40", "one three 60", "two three 90", "one four 60", "two four 52.5"}
	for _, voices := range []int{3, 4} {
		var b strings.Builder
		b.WriteString("tune \"theme\" {\n  talea = \"4\"\n  color = \"C3 D3\"\n  extent = \"400 notes\"\n}\ncanon \"c\" {\n  subject = \"theme\"\n")
		for _, c := range crosses[:map[int]int{3: 3, 4: 5}[voices]] {
			f := strings.Fields(c)
			fmt.Fprintf(&b, "  cross {\n    voices = \"%s %s\"\n    at = \"%s s\"\n  }\n", f[0], f[1], f[2])
		}
		for i, speed := range []string{"3/2", "?", "1", "?"}[:voices] {
			fmt.Fprintf(&b, "  voice %q {\n    speed = %q\n  }\n", []string{"one", "two", "three", "four"}[i], speed)
		}
		b.WriteString("}\n")
		p, err := piecefile.Parse(&source.File{Name: "c.piece", Text: []byte(b.String())})
		if err != nil {
			t.Fatal(err)
		}
		f, err := perform.New(p, perform.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, l := range f.Lines {
			speed, start := []string{"3/2", "6/5", "1", "2"}[i], []string{"20", "15", "0", "30"}[i]
			if l.Speed.String() != speed || l.Start.String() != start || !l.SpeedExact || !l.StartExact {
				t.Errorf("%d voices: voice %d has speed %v, start %v, want %s, %s", voices, i+1, l.Speed, l.Start, speed, start)
			}
		}
	}
}
