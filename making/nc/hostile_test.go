package nc_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/making/bed"
	"rollwright/making/machine"
	"rollwright/making/nc"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

// hostile words: what profiles hold, and what they must not.
var hostileWords = []string{
	"M3", "M3", "M4", "M5", "M5", "M7", "M8", "M9", "M9", "M10", "M11", "M64 P0", "M65 P0", "M64 P1", "M65 P1", "M106",
	"M107",
	"S0", "S300", "S1000", "G4 P0.05", "G4 P20", "M0", "M2", "M30", "M47", "M62 P1", "M63 P1", "M97 P3", "M98 P3", "M99",
	"M6", "M280 P0 S1",
	"G0 X0", "G1 X5", "F9", "P1", "S-5", "M03", "m5", "M5.0", "T1", "G92", "M3S300", "M 5", "#1=3", "M[3]", "O100",
}

// likely lines are good ones, so that not everything is refused.
var likelyLines = [][4]string{ // on, off, start, end
	{"M3 S300", "M5", "", ""}, {"M3", "M5", "M8", "M9"}, {"M64 P0", "M65 P0", "M64 P1", "M65 P1"}, {"M106 S255", "M107", "M7", "M9"},
	{"M10", "M11", "", ""}, {"M4 S500", "S0|M5", "M8|G4 P1", "M9"}, {"M8|M3 S9", "M5|M9", "", ""},
}

// lines draws a list for a profile: mostly what was likely, with words added,
// lost, or another's in its place.
func lines(rng *rand.Rand, column int) string {
	var list []string
	if text := likelyLines[rng.IntN(len(likelyLines))][column]; text != "" && rng.IntN(6) > 0 {
		list = strings.Split(text, "|")
	}
	for rng.IntN(4) == 0 {
		word := hostileWords[rng.IntN(len(hostileWords))]
		switch {
		case len(list) > 0 && rng.IntN(2) == 0:
			list[rng.IntN(len(list))] += " " + word
		default:
			list = slices.Insert(list, rng.IntN(len(list)+1), word)
		}
	}
	for i := range list {
		list[i] = fmt.Sprintf("%q", list[i])
	}
	return "[" + strings.Join(list, ", ") + "]"
}

var powerWord = regexp.MustCompile(`S[0-9]+`)

// hostileMarks lie before, on and after the holes.
var hostileMarks = []bed.Mark{{AlongMM: -70, Name: "start mark"}, {AlongMM: 300, Name: "cue 1"}, {AlongMM: 1e4, Name: "cue 2"}}

// hostileProfile is the text of a machine drawn at random.
func hostileProfile(rng *rand.Rand) string {
	var b strings.Builder
	row := likelyLines[rng.IntN(len(likelyLines))]
	take := func(column int) string {
		if rng.IntN(3) > 0 {
			return `["` + strings.ReplaceAll(row[column], "|", `", "`) + `"]`
		}
		return lines(rng, column)
	}
	tool, cut := "laser", []string{"outlines", "strokes"}[rng.IntN(2)]
	if rng.IntN(3) == 0 {
		tool, cut = "punch", "punches"
	}
	along := []string{"600", `"endless"`, "300"}[rng.IntN(3)]
	fmt.Fprintf(&b, "tool = %q\ncut = %q\nunits = %q\nalong = %q\n", tool, cut, []string{"mm", "in"}[rng.IntN(2)],
		[]string{"x", "y"}[rng.IntN(2)])
	fmt.Fprintf(&b, "bed {\n along = %s\n across = 400\n margin = 10\n overlap = 60\n edge = 40\n}\n", along)
	fmt.Fprintf(&b, "register {\n hole = %v\n inset = 4\n}\n", []float64{0.5, 1, 1.7, 3}[rng.IntN(4)])
	window := []string{"0", "20", `"bed"`}[rng.IntN(3)]
	fmt.Fprintf(&b, "move {\n along = 12000\n across = 12000\n window = %s\n}\n", window)
	on := take(0)
	fmt.Fprintf(&b, "head {\n on = %s\n off = %s\n on_dwell = \"%d ms\"\n", on, take(1), rng.IntN(2)*30)
	if tool == "laser" {
		fmt.Fprintf(&b, " feed = 900\n kerf = %v\n", []float64{0, 0.15, 1, 1.7, 2}[rng.IntN(5)])
		if window == `"bed"` && powerWord.MatchString(on) && rng.IntN(8) > 0 || rng.IntN(20) == 0 {
			mark := powerWord.ReplaceAllString(on, "S5")
			if rng.IntN(8) == 0 {
				mark = lines(rng, 0)
			}
			fmt.Fprintf(&b, " mark = %s\n", mark)
		}
	}
	b.WriteString("}\n")
	if start, end := take(2), take(3); start != `[""]` && end != `[""]` {
		fmt.Fprintf(&b, "program {\n start = %s\n end = %s\n}\n", start, end)
	}
	return b.String()
}

// TestHostileProfiles: of every profile that is taken, whatever it says, the
// program never moves fast with the tool on, cuts every hole, and ends with
// everything off.
func TestHostileProfiles(t *testing.T) {
	tries := 3000
	if testing.Short() {
		tries = 600
	}
	rng := rand.New(rand.NewPCG(16, 1))
	r := rollcases.Lay(t, nil, rollcases.Note{21, 0, 0}, rollcases.Note{60, 0.5, 2.5}, rollcases.Note{64, 3, 20},
		rollcases.Note{108, 21, 21})
	taken, planned, marked := 0, 0, 0
	for range tries {
		text := hostileProfile(rng)
		m, err := machine.Read(&source.File{Name: "hostile.machine", Text: []byte(text)})
		if err != nil {
			continue
		}
		taken++
		p, err := bed.New(r, m, bed.Options{Marks: hostileMarks})
		if err != nil {
			continue
		}
		planned++
		if m.Head.Mark != nil {
			marked++
		}
		simulate(t, r, p, text)
	}
	if taken < tries/20 || planned < tries/50 || marked < tries/100 {
		t.Errorf("of %d profiles %d were taken and %d planned: too few to prove anything", tries, taken, planned)
	}
	t.Logf("%d profiles, %d taken, %d planned, %d of them mark", tries, taken, planned, marked)
}

// simulate runs all programs of a plan.
func simulate(t testing.TB, r *roll.Roll, p *bed.Plan, text string) {
	t.Helper()
	cold := map[int]bool{}
	for _, line := range slices.Concat(p.Profile.Program.Start, p.Profile.Program.End) {
		var m, n int
		if k, _ := fmt.Sscanf(line, "M%d P%d", &m, &n); k == 2 {
			cold[n] = true
		}
	}
	for i := range p.Beds {
		b := &p.Beds[i]
		var out bytes.Buffer
		if err := nc.Encode(&out, p, b, nc.Options{}); err != nil {
			t.Fatal(err)
		}
		in, err := interpretOn(out.String(), cold)
		if err != nil {
			t.Fatalf("%v\n%s\n%s", err, text, out.String())
		}
		if len(in.strokes) != b.Path.Strokes {
			t.Fatalf("%d strokes, want %d\n%s", len(in.strokes), b.Path.Strokes, text)
		}
		for _, s := range in.strokes {
			if p.Profile.Tool == machine.Laser && len(s.points) == 1 && p.Profile.Head.OnSec == 0 && in.dwellSec == 0 {
				t.Fatalf("a hole is burnt in no time\n%s", text)
			}
		}
	}
}

// TestSimulatorSees: the simulator itself finds a hot rapid and an end that is
// not off, else it proves nothing.
func TestSimulatorSees(t *testing.T) {
	const head = "%\nG17 G40 G49 G80 G90 G94\nG21\n"
	for body, want := range map[string]string{
		"M3 S5\nG0 X1.0 Y1.0\nM5\nM2\n%\n":              "travel with the tool on",
		"M64 P1\nG0 X1.0 Y1.0\nM65 P1\nM2\n%\n":         "travel with the tool on",
		"M5\nG0 X1.0 Y1.0\nM3\nM2\n%\n":                 "spindle is on after the end",
		"M8\nG0 X1.0 Y1.0\nM5\nM2\n%\n":                 "air 8 is on after the end",
		"M3 S0\nG0 X1.0 Y1.0\nS9\nG0 X2.0\nM5\nM2\n%\n": "travel with the tool on",
		"M5\nM47\nM2\n%\n":                              "M47",
	} {
		if _, err := interpret(head + body); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", body, err, want)
		}
	}
}
