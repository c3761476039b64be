package plot_test

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/making/bed"
	"rollwright/making/machine"
	"rollwright/making/plot"
)

// The blade of a file that is played back, a tractrix of short steps behind the
// holder, never lies beside the outlines of the holes by more than a plotter unit and
// what a swing in steps leaves; it covers every outline, and nothing moves with the
// knife down from one hole to another.
func TestTheBladeFollowsTheHoles(t *testing.T) {
	r := rollcases.Rolls(t, "voice \"a\" {\n  line = \"C4:2 E4:1 G4:4\"\n  hold = \"single\"\n}\n")[0]
	m, err := machine.Load("knife", "")
	if err != nil {
		t.Fatal(err)
	}
	p, err := bed.New(r, m, bed.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out strings.Builder
	if err := plot.Encode(&out, p, &p.Beds[0]); err != nil {
		t.Fatal(err)
	}
	text := out.String()
	if !strings.HasPrefix(text, "IN;PA;SP1;VS5;PU;\n") || !strings.HasSuffix(text, "PU0,0;SP0;\n") {
		t.Errorf("head and foot of\n%s", text)
	}
	lines := regexp.MustCompile(`(?m)^PU(-?\d+),(-?\d+);PD([-\d,]+);PU;$`).FindAllStringSubmatch(text, -1)
	cuts := p.Beds[0].Cuts
	if len(lines) != len(cuts) {
		t.Fatalf("%d outlines for %d cuts", len(lines), len(cuts))
	}
	for i, line := range lines {
		c := &cuts[i]
		radius := p.RadiusMM
		if c.Register {
			radius = m.Register.HoleMM / 2
		}
		holder := places(t, line[1]+","+line[2]+","+line[3])
		d := math.Atan2(holder[1][1]-holder[0][1], holder[1][0]-holder[0][0])
		tip := [2]float64{holder[0][0] - m.Head.OffsetMM*math.Cos(d), holder[0][1] - m.Head.OffsetMM*math.Sin(d)}
		around := map[int]bool{}
		for k := 1; k < len(holder); k++ {
			a, b := holder[k-1], holder[k]
			n := int(math.Hypot(b[0]-a[0], b[1]-a[1])/0.005) + 1
			for s := 1; s <= n; s++ {
				at := [2]float64{a[0] + (b[0]-a[0])*float64(s)/float64(n), a[1] + (b[1]-a[1])*float64(s)/float64(n)}
				far := math.Hypot(tip[0]-at[0], tip[1]-at[1])
				if far > m.Head.OffsetMM { // the blade is drawn along
					tip = [2]float64{at[0] + (tip[0]-at[0])*m.Head.OffsetMM/far, at[1] + (tip[1]-at[1])*m.Head.OffsetMM/far}
				}
				dx := math.Max(0, math.Max(c.FromX-tip[0], tip[0]-c.ToX))
				if beside := math.Abs(math.Hypot(dx, tip[1]-c.Y) - radius); beside > 0.06 {
					t.Fatalf("cut %d: the blade is %.3f mm beside the outline at %v", i, beside, tip)
				}
				around[int(math.Floor((math.Atan2(tip[1]-c.Y, tip[0]-(c.FromX+c.ToX)/2)+math.Pi)*6/math.Pi))] = true
			}
		}
		if len(around) < 12 {
			t.Errorf("cut %d: only %d of 12 parts of the outline are cut", i, len(around))
		}
	}
}

func places(t *testing.T, text string) (out [][2]float64) {
	t.Helper()
	words := strings.Split(text, ",")
	for i := 0; i+1 < len(words); i += 2 {
		x, err := strconv.Atoi(words[i])
		y, err2 := strconv.Atoi(words[i+1])
		if err != nil || err2 != nil {
			t.Fatal(words[i], words[i+1])
		}
		out = append(out, [2]float64{float64(x) / plot.UnitsPerMM, float64(y) / plot.UnitsPerMM})
	}
	return out
}

// A laser has no place in this language.
func TestOnlyKnives(t *testing.T) {
	r := rollcases.Rolls(t, "voice \"a\" {\n  line = \"C4:2\"\n}\n")[0]
	m, err := machine.Load("laser", "")
	if err != nil {
		t.Fatal(err)
	}
	p, err := bed.New(r, m, bed.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := plot.Encode(&strings.Builder{}, p, &p.Beds[0]); err == nil {
		t.Error("a plotter's file for a laser")
	}
}
