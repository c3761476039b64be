package tear_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/paper/instrument"
	"rollwright/paper/roll"
	"rollwright/paper/tear"
)

// bar is paper of 40 mm with ports every 4 mm from 8 mm on, a die of 2 mm.
func bar() *instrument.Instrument {
	in := &instrument.Instrument{Name: "small", Paper: instrument.Paper{WidthMM: 40}, Die: instrument.Die{DiameterMM: 2}}
	in.Chain = instrument.Chain{SlotSpacingMM: 1}
	for i := range 7 {
		in.Bar.Ports = append(in.Bar.Ports, instrument.Port{AcrossMM: 8 + 4*float64(i), Key: 60 + i})
	}
	return in
}

// rollOf has slots of port, first and last centre.
func rollOf(in *instrument.Instrument, slots ...[3]float64) *roll.Roll {
	r := &roll.Roll{Instrument: in}
	for _, s := range slots {
		radius := in.Die.DiameterMM / 2
		r.Slots = append(r.Slots, roll.SlotOf(in, int32(s[0]), s[1]-radius, s[2]+radius))
	}
	r.Sort()
	return r
}

// By hand: from 8 mm, less a radius, 7 mm; two holes 4 mm apart across and 3 mm along
// are 5 mm apart, 3 mm of paper; from 12 mm to the far edge 40 - 12 - 1 = 27 mm. A
// second pair stands side by side: 7 + 2 + 27 mm.
func TestByHand(t *testing.T) {
	r := rollOf(bar(), [3]float64{0, 10, 10}, [3]float64{1, 13, 13}, [3]float64{0, 100, 100}, [3]float64{1, 95, 105})
	weakest, ok := tear.Weakest(r)
	if !ok || math.Abs(weakest.LeftMM-36) > 1e-9 {
		t.Fatalf("%+v", weakest)
	}
	want := []tear.Point{{0, 100}, {8, 100}, {12, 100}, {40, 100}}
	if len(weakest.Path) != 4 {
		t.Fatalf("path %v", weakest.Path)
	}
	for i, p := range weakest.Path {
		if p != want[i] {
			t.Errorf("path %v, want %v", weakest.Path, want)
		}
	}
	lines := tear.Below(r, 39)
	if len(lines) != 2 || math.Abs(lines[1].LeftMM-37) > 1e-9 {
		t.Fatalf("%+v", lines)
	}
	if from, to := lines[1].Span(); from != 10 || to != 13 {
		t.Errorf("from %g to %g", from, to)
	}
	if lines := tear.Below(r, 26); lines != nil {
		t.Errorf("two ports cannot save 14 mm: %v", lines)
	}
}

// The shortest ways of sheets with a few openings are those of a search that knows
// nothing but distances: all openings and both edges, every way tried (R. W. Floyd,
// Algorithm 97: shortest path, Communications of the ACM 5 (1962) 345).
func TestAgainstAllWays(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 11))
	for n := range 300 {
		in := bar()
		in.Chain.Bridged = n%2 == 1
		in.Chain.BridgeSpacingMM, in.Chain.WebMinMM = 2.5, 0.4
		var slots [][3]float64
		for p := range in.Bar.Ports {
			at := 0.0
			for range rng.IntN(5) {
				at += 3 + 12*rng.Float64()
				end := at + 9*rng.Float64()*float64(rng.IntN(2))
				slots = append(slots, [3]float64{float64(p), at, end})
				at = end
			}
		}
		r := rollOf(in, slots...)
		got, ok := tear.Weakest(r)
		want := allWays(r)
		if !ok {
			if len(slots) > 0 {
				t.Fatal("no line")
			}
			continue
		}
		if math.Abs(got.LeftMM-want) > 1e-6 {
			t.Fatalf("sheet %d: %g mm, all ways %g", n, got.LeftMM, want)
		}
		if along := paperOn(r, got.Path); along > got.LeftMM+1e-6 {
			t.Fatalf("sheet %d: the path has %g mm of paper, said are %g: %v", n, along, got.LeftMM, got.Path)
		}
	}
}

// allWays is the shortest way from edge to edge, cubic in the openings.
func allWays(r *roll.Roll) float64 {
	type stadium struct{ x, from, to float64 }
	var all []stadium
	for i := range r.Slots {
		for o := range r.Openings(&r.Slots[i]) {
			all = append(all, stadium{r.Instrument.Bar.Ports[r.Slots[i].Port].AcrossMM, o.FirstMM, o.LastMM})
		}
	}
	n, d := len(all), r.Instrument.Die.DiameterMM
	ways := make([][]float64, n+2) // the edges last
	for i := range ways {
		ways[i] = make([]float64, n+2)
		for j := range ways[i] {
			switch {
			case i == j:
			case i < n && j < n:
				gap := math.Max(0, math.Max(all[i].from-all[j].to, all[j].from-all[i].to))
				ways[i][j] = math.Max(0, math.Sqrt(math.Pow(all[i].x-all[j].x, 2)+gap*gap)-d)
			case i >= n && j >= n:
				ways[i][j] = r.Instrument.Paper.WidthMM
			case min(i, j) < n && max(i, j) == n:
				ways[i][j] = all[min(i, j)].x - d/2
			default:
				ways[i][j] = r.Instrument.Paper.WidthMM - all[min(i, j)].x - d/2
			}
		}
	}
	for k := range ways {
		for i := range ways {
			for j := range ways {
				ways[i][j] = math.Min(ways[i][j], ways[i][k]+ways[k][j])
			}
		}
	}
	return ways[n][n+1]
}

// paperOn measures a path in steps of a twentieth of a millimetre against the holes
// themselves; a step counts when its middle lies in no hole.
func paperOn(r *roll.Roll, path []tear.Point) float64 {
	sum := 0.0
	for i := 1; i < len(path); i++ {
		a, b := path[i-1], path[i]
		length := math.Hypot(b.AcrossMM-a.AcrossMM, b.AlongMM-a.AlongMM)
		steps := int(length/0.05) + 1
		for k := range steps {
			at := (float64(k) + 0.5) / float64(steps)
			if !inHole(r, a.AcrossMM+at*(b.AcrossMM-a.AcrossMM), a.AlongMM+at*(b.AlongMM-a.AlongMM)) {
				sum += length / float64(steps)
			}
		}
	}
	return sum - 0.1*float64(len(path)) // what steps may count too much at the edges of holes
}

func inHole(r *roll.Roll, across, along float64) bool {
	for i := range r.Slots {
		for o := range r.Openings(&r.Slots[i]) {
			dx := across - r.Instrument.Bar.Ports[r.Slots[i].Port].AcrossMM
			dy := math.Max(0, math.Max(o.FirstMM-along, along-o.LastMM))
			if math.Hypot(dx, dy) <= r.Instrument.Die.DiameterMM/2 {
				return true
			}
		}
	}
	return false
}

// Every key of the keyboard in turn leaves less than half of the paper along its
// diagonal.
func TestRunOverAllKeys(t *testing.T) {
	r := rollcases.Rolls(t, "voice \"run\" {\n  talea = \"4\"\n  color = \"gliss(A0 C8 chromatic)\"\n}\n")[0]
	line, ok := tear.Weakest(r)
	share := line.LeftMM / r.Instrument.Paper.WidthMM
	if !ok || share < 0.46 || share > 0.48 || len(line.Slots) < 80 {
		t.Errorf("%.1f %% left along %d slots", 100*share, len(line.Slots))
	}
}

// BenchmarkBelow is the search on a roll with about 200,000 openings.
func BenchmarkBelow(b *testing.B) {
	text := ""
	for i, speed := range []string{"1", "sqrt(2)", "5/4", "sqrt(3)"} {
		text += "voice \"v" + string(rune('0'+i)) + "\" {\n  talea = \"3 2 2 (1) 2 2 1\"\n  speed = " + speed +
			"\n  color = \"C2 G3 D4 Bb3 F5 C7 Eb1 F#6 C#3 gliss(A0 C8 chromatic)\"\n  extent = \"5200 notes\"\n}\n"
	}
	r := rollcases.Rolls(b, text)[0]
	openings := 0
	for i := range r.Slots {
		for range r.Openings(&r.Slots[i]) {
			openings++
		}
	}
	for b.Loop() {
		tear.Below(r, 0.7*r.Instrument.Paper.WidthMM)
	}
	b.ReportMetric(float64(openings), "openings")
}
