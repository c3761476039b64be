package bed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rollwright/draw"
	"rollwright/examples"
	"rollwright/internal/rollcases"
	"rollwright/making/machine"
	"rollwright/music/event"
	"rollwright/music/perform"
	"rollwright/music/piece"
	"rollwright/music/piecefile"
	"rollwright/paper/instrument"
	"rollwright/paper/lay"
	"rollwright/paper/roll"
	"rollwright/text/source"
)

// exampleRoll is the first roll of a built-in piece on the named instrument.
func exampleRoll(t testing.TB, name, on string) *roll.Roll {
	t.Helper()
	text, err := examples.Source(name)
	if err != nil {
		t.Fatal(err)
	}
	p, err := piecefile.Parse(&source.File{Name: name + ".piece", Text: text})
	if err != nil {
		t.Fatal(err)
	}
	in, err := instrument.Load(on, "")
	if err != nil {
		t.Fatal(err)
	}
	f, err := perform.New(p, perform.Options{Fastest: func(int) float64 { return in.FastestStrokes() }})
	if err != nil {
		t.Fatal(err)
	}
	rolls, err := lay.Of(f, slices.Repeat([]*instrument.Instrument{in}, len(p.Pianos)))
	if err != nil {
		t.Fatal(err)
	}
	return rolls[0]
}

func plan(t testing.TB, r *roll.Roll, m *machine.Profile, o Options) *Plan {
	t.Helper()
	p, err := New(r, m, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestTravelOfDensePiece: on the densest example travel is at least 30 % under
// plain row order wherever the paper may lie still, and no more than 1.6 times
// a bound that no order can go under. Where the paper only advances the rows
// are given, and only the direction of each is free.
func TestTravelOfDensePiece(t *testing.T) {
	tests := []struct {
		machine, instrument string
		windowMM            float64
		saves, overBound    float64
	}{
		{"laser", "88-note", math.Inf(1), 0.3, 1.6},
		{"punch-table", "88-note", math.Inf(1), 0.3, 1.6},
		{"punch-feed", "88-note", 25, 0.3, 1.9},
		{"punch-feed", "88-note-45", 0, 0.1, math.Inf(1)},
	}
	for _, tt := range tests {
		r := exampleRoll(t, "two-sheds", tt.instrument)
		p := plan(t, r, rollcases.Machine(t, tt.machine, func(m *machine.Profile) { m.Move.WindowMM = tt.windowMM }),
			Options{})
		path, rows := p.Total()
		bound := 0.0
		for i := range p.Beds {
			bound += p.LowerBoundMM(&p.Beds[i])
		}
		saved := 1 - path.TravelMM/rows.TravelMM
		t.Logf("%s, %s, window %v mm: %.2f m, in rows %.2f m, %.0f %% saved, none under %.2f m", tt.machine, tt.instrument,
			tt.windowMM,
			path.TravelMM/1000, rows.TravelMM/1000, 100*saved, bound/1000)
		if saved < tt.saves || path.TravelMM > tt.overBound*bound && bound > 0 {
			t.Errorf("%s: travel %.0f mm, in rows %.0f, bound %.0f", tt.machine, path.TravelMM, rows.TravelMM, bound)
		}
		if path.TravelMM < bound {
			t.Errorf("%s: travel %.0f mm is under its bound %.0f", tt.machine, path.TravelMM, bound)
		}
	}
}

// TestLeastTree: the four corners of a square of 10 and its middle: four edges
// of 5*sqrt(2) = 7.0711.
func TestLeastTree(t *testing.T) {
	dot := func(x, y float64) node { return node{[2]point{{x, y}, {x, y}}} }
	got := leastTree([]node{dot(0, 0), dot(10, 10), dot(5, 5), dot(0, 10), dot(10, 0)})
	if want := 4 * 5 * math.Sqrt2; math.Abs(got-want) > 1e-12 {
		t.Errorf("%v, want %v", got, want)
	}
}

// someNodes are up to seven nodes on a field of 100, half of them long; every
// other tour has an end.
func someNodes(draw func(low, high int) int) (nodes []node, end *point) {
	nodes = make([]node, draw(1, 7))
	for i := range nodes {
		a := point{float64(draw(0, 100)), float64(draw(0, 100))}
		nodes[i] = node{[2]point{a, a}}
		if draw(0, 1) == 1 {
			nodes[i].end[1].x += float64(draw(0, 100))
		}
	}
	if draw(0, 1) == 1 {
		end = &point{0, 0}
	}
	return nodes, end
}

// TestTours: every node once; never longer than the greedy tour it began with.
func TestTours(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		nodes, end := someNodes(func(low, high int) int { return rapid.IntRange(low, high).Draw(rt, "number") })
		tour := newTour(nodes, point{0, 0}, end)
		greedy := tour.travel()
		tour.shorten()
		seen := map[int32]bool{}
		for i, s := range tour.seq {
			if seen[s.index] || int(tour.pos[s.index]) != i {
				rt.Fatalf("stop %d is node %d, which comes twice or is elsewhere", i, s.index)
			}
			seen[s.index] = true
		}
		if got := tour.travel(); len(seen) != len(nodes) || got > greedy+1e-9 {
			rt.Fatalf("%d nodes, %v long, was %v", len(seen), got, greedy)
		}
	})
}

// TestToursAreShort: of a thousand tours of few nodes, nine in ten are the best of
// all orders, all together are at most a hundredth longer than the best, and none
// is longer than one and a half times the best.
func TestToursAreShort(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	var ours, best float64
	missed := 0
	for range 1000 {
		nodes, end := someNodes(func(low, high int) int { return low + random.IntN(high-low+1) })
		tour := newTour(nodes, point{0, 0}, end)
		tour.shorten()
		a, b := tour.travel(), bestTour(nodes, point{0, 0}, end)
		if ours, best = ours+a, best+b; a > b+1e-9 {
			missed++
		}
		if a > 1.5*b+1e-9 || a < b-1e-9 {
			t.Errorf("%v long, the best is %v", a, b)
		}
	}
	if missed > 100 || ours > 1.01*best {
		t.Errorf("%d of 1000 are not the best; together %.4f of the best", missed, ours/best)
	}
	t.Logf("%d of 1000 are not the best; together %.4f of the best", missed, ours/best)
}

// travel is the length of a tour, measured again from its stops.
func (t *tour) travel() float64 {
	sum, at := 0.0, t.start
	for i := range t.seq {
		sum += at.to(t.in(i))
		at = t.out(i)
	}
	if t.end != nil {
		sum += at.to(*t.end)
	}
	return sum
}

// bestTour tries all orders, and both ways through each node.
func bestTour(nodes []node, at point, end *point) float64 {
	best := math.Inf(1)
	used := make([]bool, len(nodes))
	var walk func(at point, left int, sum float64)
	walk = func(at point, left int, sum float64) {
		if sum >= best {
			return
		}
		if left == 0 {
			if end != nil {
				sum += at.to(*end)
			}
			best = min(best, sum)
			return
		}
		for i := range nodes {
			if used[i] {
				continue
			}
			used[i] = true
			for e := range 2 {
				walk(nodes[i].end[1-e], left-1, sum+at.to(nodes[i].end[e]))
			}
			used[i] = false
		}
	}
	walk(at, len(nodes), 0)
	return best
}

// TestTravelTime, by hand. At 100 mm/s and 1000 mm/s2 full speed takes 0.1 s and
// 5 mm each way: 30 mm take 0.3 + 0.1 = 0.4 s; 2.5 mm never reach it: 2*sqrt(2.5/1000) =
// 0.1 s.
func TestTravelTime(t *testing.T) {
	for _, tt := range []struct{ mm, speed, accel, want float64 }{
		{0, 100, 1000, 0}, {30, 100, 1000, 0.4}, {10, 100, 1000, 0.2}, {2.5, 100, 1000, 0.1}, {30, 100, 0, 0.3},
	} {
		if got := travelSec(tt.mm, tt.speed, tt.accel); math.Abs(got-tt.want) > 1e-12 {
			t.Errorf("%v mm: %v s, want %v", tt.mm, got, tt.want)
		}
	}
}

// TestEstimate, by hand: one punch 10 mm along and 20 across from the park
// place, at 100 mm/s without acceleration: the slower axis takes 0.2 s there and
// back, and the die 0.05 s.
func TestEstimate(t *testing.T) {
	r := rollcases.Lay(t, nil, rollcases.Note{60, 0, 0})
	m := rollcases.Machine(t, "punch-table", func(m *machine.Profile) {
		m.Move.AlongMMPerSec, m.Move.AcrossMMPerSec, m.Move.AccelMMPerSec2 = 100, 100, 0
		m.Head.OnSec, m.Head.OffSec, m.Head.SwitchSec = 0.02, 0.02, 0.01
		m.Pass.ChangeSec = 60
	})
	p := plan(t, r, m, Options{Copies: 9})
	c := p.Beds[0].Cuts[0]
	m.Park = machine.Park{AlongMM: c.FromX + 10, AcrossMM: c.Y - 20}
	p = plan(t, r, m, Options{Copies: 9})
	if got := p.Beds[0].Path.Sec; math.Abs(got-0.45) > 1e-9 {
		t.Errorf("%v s, want 0.45", got)
	}
	// Nine copies at four plies are three passes of one bed.
	if got := p.WorkSec(); p.Passes != 3 || math.Abs(got-3*60.45) > 1e-9 {
		t.Errorf("%d passes, %v s", p.Passes, got)
	}
}

// TestBeds: a bed of 600 with margins of 10 and an overlap of 60 advances by
// 520. The pair of holes cut at 11.5 + 520 comes to lie at 11.5.
func TestBeds(t *testing.T) {
	r := rollcases.Lay(t, nil, rollcases.Note{60, 0, 0}, rollcases.Note{62, 12.9, 12.9}, rollcases.Note{64, 30, 30})
	p := plan(t, r, rollcases.Machine(t, "laser", nil), Options{})
	// 30 s are 1219.2 mm: the third bed, from 1040 on. 12.9 s are 524.256: the second.
	if p.AdvanceMM != 520 || p.PinMM != 11.5 || len(p.Beds) != 3 {
		t.Fatalf("advance %v, pin %v, %d beds", p.AdvanceMM, p.PinMM, len(p.Beds))
	}
	for i, want := range []int{3, 3, 1} { // two holes to lay it by, and a note
		if got := len(p.Beds[i].Cuts); got != want {
			t.Errorf("bed %d has %d cuts, want %d", i+1, got, want)
		}
	}
	if x := p.Beds[0].Cuts[0].FromX; x != 531.5 || !p.Beds[0].Cuts[0].Register {
		t.Errorf("the first hole lies at %v", x)
	}
	if x := p.Beds[1].Cuts[2].FromX; math.Abs(x-(524.256+1.7272/2-510)) > 1e-9 {
		t.Errorf("the second note lies at %v", x)
	}
}

// TestOverlapKeepsSlotsWhole: an opening of 40 mm that begins 20 mm before the
// end of a bed is cut there; one of 120 mm is cut in two.
func TestOverlapKeepsSlotsWhole(t *testing.T) {
	plain := func(in *instrument.Instrument) { in.Chain.Bridged = false }
	start := 500 / 40.64
	r := rollcases.Lay(t, plain, rollcases.Note{40, 0, 0}, rollcases.Note{60, start, start + 40/40.64})
	if got := count(plan(t, r, rollcases.Machine(t, "laser", nil), Options{})); got != "2" {
		t.Errorf("cuts a bed: %s", got)
	}
	r = rollcases.Lay(t, plain, rollcases.Note{40, 0, 0}, rollcases.Note{60, start, start + 120/40.64})
	if got := count(plan(t, r, rollcases.Machine(t, "laser", nil), Options{})); got != "4 1" {
		t.Errorf("cuts a bed: %s", got)
	}
}

func count(p *Plan) string {
	var out []string
	for i := range p.Beds {
		out = append(out, fmt.Sprint(len(p.Beds[i].Cuts)))
	}
	return strings.Join(out, " ")
}

// TestHand: the bass lies at the top of a front, at the bottom of a back; an
// instrument with its bass at the right, or whose paper goes up, turns it.
func TestHand(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(*instrument.Instrument)
		back   bool
		above  bool
	}{
		{"front", nil, false, true},
		{"back", nil, true, false},
		{"bass at the right", func(in *instrument.Instrument) { in.Paper.Bass = instrument.Right }, false, false},
		{"paper goes up", func(in *instrument.Instrument) { in.Paper.TravelsUp = true }, false, false},
		{"both", func(in *instrument.Instrument) { in.Paper.TravelsUp, in.Paper.Bass = true, instrument.Right }, false, true},
	} {
		r := rollcases.Lay(t, tt.change, rollcases.Note{21, 0, 0}, rollcases.Note{108, 1, 1})
		p := plan(t, r, rollcases.Machine(t, "punch-table", nil), Options{Back: tt.back})
		low, high := p.Beds[0].Cuts[0], p.Beds[0].Cuts[1]
		if low.FromX > high.FromX {
			low, high = high, low
		}
		if (low.Y > high.Y) != tt.above || p.BassAbove() != tt.above {
			t.Errorf("%s: A0 at %v, C8 at %v", tt.name, low.Y, high.Y)
		}
		// 20.1083 mm from each edge of 285.75 mm, and the edge at 40.
		if got := min(low.Y, high.Y); math.Abs(got-60.1083333) > 1e-6 {
			t.Errorf("%s: the lower one lies at %v", tt.name, got)
		}
	}
}

func TestRefusals(t *testing.T) {
	one := rollcases.Note{60, 0, 0}
	for _, tt := range []struct {
		name   string
		notes  []rollcases.Note
		change func(*machine.Profile)
		want   string
	}{
		{"nothing to cut", nil, nil, "no holes"},
		{"another die", []rollcases.Note{one}, func(m *machine.Profile) { m.Head.DieMM = 2 }, "die of 2 mm"},
		{"too wide", []rollcases.Note{one}, func(m *machine.Profile) { m.Bed.AcrossMM = 300 }, "reaches from 0 to 300"},
		{"kerf", []rollcases.Note{one}, func(m *machine.Profile) { m.Head.KerfMM = 2 }, "kerf of 2 mm"},
		{"beam", []rollcases.Note{one}, func(m *machine.Profile) { m.Cut, m.Head.KerfMM = machine.Strokes, 0.2 }, "as wide as the beam"},
		{"on a port", []rollcases.Note{one}, func(m *machine.Profile) { m.Register.InsetMM = 12 }, "of port 1"},
		{"on the edge", []rollcases.Note{one}, func(m *machine.Profile) { m.Register.InsetMM = -1 }, "breaks out"},
		{"overlap", []rollcases.Note{one}, func(m *machine.Profile) { m.Bed.OverlapMM = 3 }, "overlap of 3 mm"},
	} {
		r := rollcases.Lay(t, nil, tt.notes...)
		if _, err := New(r, rollcases.Machine(t, "laser", tt.change), Options{}); err == nil ||
			!strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want one with %q", tt.name, err, tt.want)
		}
	}
}

// TestInsetThatWorks: the inset that a refusal names is taken, and is the
// nearest: of the 88-note roll the outermost ports lie 11.641 mm and
// 20.108 mm from the bass edge, theme ports between them; a hole of 3 mm keeps
// (3 + 1.7272)/2 + 0.5 = 2.864 mm away, so 8.75 mm is the last quarter before
// 11.641. Where nothing on narrow paper works, the stock is said.
func TestInsetThatWorks(t *testing.T) {
	r := rollcases.Lay(t, nil, rollcases.Note{60, 0, 0})
	for given, want := range map[float64]float64{12: 8.75, -1: 2} {
		_, err := New(r, rollcases.Machine(t, "laser", func(m *machine.Profile) { m.Register.InsetMM = given }), Options{})
		if err == nil || !strings.Contains(err.Error(), fmt.Sprintf("write register { inset = %v } in machine laser", want)) {
			t.Errorf("inset %v: %v, want %v", given, err, want)
		}
		if _, err := New(r, rollcases.Machine(t, "laser", func(m *machine.Profile) { m.Register.InsetMM = want }),
			Options{}); err != nil {
			t.Errorf("inset %v: %v", want, err)
		}
	}
	narrow := rollcases.Lay(t, func(in *instrument.Instrument) {
		in.Paper.WidthMM = 70
		in.Bar.Ports = in.Bar.Ports[:20]
		for i := range in.Bar.Ports {
			in.Bar.Ports[i].AcrossMM = 4.5 + 3*float64(i)
		}
	}, rollcases.Note{33, 0, 0})
	_, err := New(narrow, rollcases.Machine(t, "laser", nil), Options{})
	if err == nil || !strings.Contains(err.Error(), "write register { inset = -2 } and cut it from stock 8 mm wider") {
		t.Error(err)
	}
	if _, err := New(narrow, rollcases.Machine(t, "laser", func(m *machine.Profile) { m.Register.InsetMM = -2 }),
		Options{}); err != nil {
		t.Error(err)
	}
}

// TestRegisterOfStrokes: a beam that cuts slots by one stroke goes round a hole
// for a pin that is wider than itself, and the pins are as wide as what is cut.
func TestRegisterOfStrokes(t *testing.T) {
	r := rollcases.Lay(t, nil, rollcases.Note{60, 0, 0}, rollcases.Note{62, 20, 20})
	for _, tt := range []struct{ hole, kerf, radius, pin float64 }{
		{3, 1.7, 0.65, 3}, {1.7, 1.7, 0, 1.7}, {3, 0, 0.6364, 3},
	} {
		p := plan(t, r, rollcases.Machine(t, "laser", func(m *machine.Profile) {
			m.Cut, m.Head.KerfMM, m.Register.HoleMM = machine.Strokes, tt.kerf, tt.hole
		}), Options{})
		if got := p.radius(&Cut{Register: true}); math.Abs(got-tt.radius) > 1e-9 {
			t.Errorf("%v: radius %v", tt, got)
		}
		want := fmt.Sprintf("pins of %.2f mm at", tt.pin)
		if notes := strings.Join(p.Notes(&p.Beds[1], ""), "\n"); !strings.Contains(notes, want) {
			t.Errorf("%v: %s", want, notes)
		}
	}
	m := rollcases.Machine(t, "laser", func(m *machine.Profile) {
		m.Cut, m.Head.KerfMM,
			m.Register.HoleMM = machine.Strokes, 0, 1
	})
	if _, err := New(r, m, Options{}); err == nil || !strings.Contains(err.Error(),
		"cannot cut a hole of 1 mm for a pin") {
		t.Error(err)
	}
}

// TestDrawing: the frame is the bed, and every cut is in it.
func TestDrawing(t *testing.T) {
	r := rollcases.Lay(t, func(in *instrument.Instrument) { in.Chain.Bridged = false },
		rollcases.Note{21, 0, 0}, rollcases.Note{60, 1, 3}, rollcases.Note{64, 14, 14.1})
	for _, name := range machine.Names() {
		p := plan(t, r, rollcases.Machine(t, name, nil), Options{})
		for i := range p.Beds {
			d := p.Drawing(&p.Beds[i], "Test")
			if err := d.Check(); err != nil {
				t.Fatal(err)
			}
			if m := p.Profile; !m.Bed.Endless() && (d.Frame.W() != m.Bed.AlongMM || d.Frame.H() != m.Bed.AcrossMM) {
				t.Errorf("%s: the frame is %v", name, d.Frame)
			}
			if !strings.Contains(d.Subject, "manual") {
				t.Errorf("%s: no cautions in %q", name, d.Subject)
			}
			if !strings.Contains(d.Subject, " mm from the bottom") || strings.Contains(d.Subject, "towards Y 0") ||
				strings.Count(d.Subject, "\n") < 8 {
				t.Errorf("%s: heights or lines are not those of a drawing: %q", name, d.Subject)
			}
		}
	}
}

// TestDrawingIsTheBed: on the drawing of a bed every die of a punch, and every
// opening of a laser, kerf taken off, lies where the path has it.
func TestDrawingIsTheBed(t *testing.T) {
	r := rollcases.Lay(t, nil, rollcases.Note{21, 0, 0}, rollcases.Note{60, 1, 3}, rollcases.Note{64, 14, 14.1},
		rollcases.Note{108, 20, 20})
	for _, alongY := range []bool{false, true} {
		for _, name := range []string{"laser", "punch-table"} {
			p := plan(t, r, rollcases.Machine(t, name, func(m *machine.Profile) { m.AlongY = alongY }), Options{})
			for i := range p.Beds {
				b := &p.Beds[i]
				d := p.Drawing(b, "Test")
				got := map[string]int{}
				for _, l := range d.Layers {
					for _, m := range l.Marks {
						s := m.(*draw.Slots)
						if want := p.widthMM(); l.ID == HolesLayer && s.WidthMM != want {
							t.Errorf("%s: holes %v mm wide, want %v", name, s.WidthMM, want)
						}
						for _, g := range s.Segments {
							got[fmt.Sprintf("%.4f %.4f %.4f %.4f", g.X1, d.UpMM-g.Y1, g.X2, d.UpMM-g.Y2)]++
						}
					}
				}
				want := 0
				for _, c := range b.Cuts {
					xs := [][2]float64{{c.FromX, c.ToX}}
					if c.Holes != nil && !c.Register {
						xs = xs[:0]
						for _, x := range c.Holes {
							xs = append(xs, [2]float64{x, x})
						}
					}
					for _, x := range xs {
						x0, y0 := p.Axes(x[0], c.Y)
						x1, y1 := p.Axes(x[1], c.Y)
						want++
						if key := fmt.Sprintf("%.4f %.4f %.4f %.4f", x0, y0, x1, y1); got[key] != 1 {
							t.Errorf("%s bed %d: %d marks at %s", name, b.Number, got[key], key)
						}
					}
				}
				if len(got) != want {
					t.Errorf("%s bed %d: %d marks, want %d", name, b.Number, len(got), want)
				}
			}
		}
	}
}

func Example() {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	p := &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{{Name: "low"}}}
	events := slices.Values([]event.Event{{Note: 1, Key: 60, Level: 80, Single: true},
		{StartSec: 20, EndSec: 20, Note: 2, Key: 64, Level: 80, Single: true}})
	rolls, err := lay.Out(p, events, []*instrument.Instrument{in}, lay.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := machine.Load("punch-table", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	beds, err := New(rolls[0], m, Options{Copies: 6})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, line := range beds.Notes(&beds.Beds[0], "Two notes") {
		fmt.Println(line)
	}
	// Output:
	// Two notes: bed 1 of 1
	// Machine punch-table: punching head on a table 900 x 400 mm. Holes of 1.73 mm, paper 285.75 mm wide.
	// Paper with its front (the side to the player) up, start at the left, bass edge at the top.
	// X 0, Y 0 is the lower left corner of the bed: set zero there before the start.
	// Its lower edge lies along Y 40.00 mm.
	// Leave 1200.00 mm of blank paper before the first hole; the edge of the first hole is at X 10.00 mm.
	// Settings to check: on M3, off M5, die 1.73 mm: assumed, measure yours.
	// Copies: 6, in up to 4 plies at once: cut every bed 2 times, the last time with 2.
	// One pass makes 2 holes and travels 1.85 m; it takes about 8 s.
}
