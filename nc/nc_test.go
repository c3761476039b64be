package nc_test

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rollwright/bed"
	"rollwright/instrument"
	"rollwright/internal/judge"
	"rollwright/internal/rollcases"
	"rollwright/machine"
	"rollwright/nc"
	"rollwright/perform"
	"rollwright/piece"
	"rollwright/roll"
	"rollwright/table"
)

// someRoll is a roll with single punches, bridged chains, a slot long enough to
// run over the end of a bed, and, for chains without bridges, for tabs.
func someRoll(t testing.TB, change func(*instrument.Instrument)) *roll.Roll {
	t.Helper()
	notes := []rollcases.Note{{21, 0, 0}, {108, 0.4, 0.4}} // A0 first, then C8: the hand
	for i := range 150 {
		at := 1 + float64(i)*0.23
		notes = append(notes,
			rollcases.Note{float64(30 + i*37%70), at, at + 0.05 + float64(i%5)*0.3},
			rollcases.Note{float64(25 + i*11%80), at + 0.1, at + 0.1})
	}
	return rollcases.Lay(t, change, append(notes, rollcases.Note{60, 34, 80})...)
}

func plan(t testing.TB, r *roll.Roll, m *machine.Profile, o bed.Options) *bed.Plan {
	t.Helper()
	p, err := bed.New(r, m, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func program(t testing.TB, p *bed.Plan, b *bed.Bed) string {
	t.Helper()
	var out bytes.Buffer
	if err := nc.Encode(&out, p, b, nc.Options{Title: "Test (ü)"}); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

// cut is what a bed's program cuts, by the interpreter: the holes by which the
// paper is laid first.
func cut(t testing.TB, p *bed.Plan, b *bed.Bed) (*interpreter, []stroke, []stroke) {
	t.Helper()
	in, err := interpret(program(t, p, b))
	if err != nil {
		t.Fatalf("bed %d: %v", b.Number, err)
	}
	for i := range in.strokes {
		if p.Profile.AlongY { // back from the machine's axes: a quarter turn clockwise
			for k, q := range in.strokes[i].points {
				in.strokes[i].points[k] = spot{q.y, p.Profile.Bed.AcrossMM - q.x}
			}
		}
	}
	n := 0
	if b.Number < len(p.Beds) {
		n = 2
	}
	return in, in.strokes[:n], in.strokes[n:]
}

// tolerance is the last place of a program: a ten-thousandth of a millimetre,
// or a hundred-thousandth of an inch, and half of it is rounding.
func tolerance(m *machine.Profile) float64 {
	if m.Inches {
		return 0.00015
	}
	return 0.00006
}

// TestPunchesAreTheHoles puts the beds together by their pairs of holes alone,
// as a person does, and holds every stroke of the head against the table of
// punches.
func TestPunchesAreTheHoles(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(*machine.Profile)
	}{
		{"punch-table", nil},
		{"punch-feed", nil},
		{"punch-feed", func(m *machine.Profile) { m.Move.WindowMM = 40 }},
		{"punch-table", func(m *machine.Profile) { m.Inches, m.AlongY = true, true }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := someRoll(t, nil)
			m := rollcases.Machine(t, tt.name, tt.change)
			p := plan(t, r, m, bed.Options{})
			got := assemble(t, p, func(s *stroke) spot { return s.points[0] })
			want := punchTable(t, r)
			compare(t, m, r, got, want, len(p.Beds))
		})
	}
}

// assemble is the places of all strokes on the roll, along from the first one.
func assemble(t testing.TB, p *bed.Plan, middle func(*stroke) spot) []spot {
	t.Helper()
	var out []spot
	origin := 0.0 // of the bed, on paper whose first bed lies at 0
	var before []stroke
	for i := range p.Beds {
		_, holds, strokes := cut(t, p, &p.Beds[i])
		if i > 0 { // the holes cut before come to lie on the pins
			x0, _, x1, _ := before[0].bounds()
			origin += (x0+x1)/2 - p.PinMM
		}
		for k := range strokes {
			q := middle(&strokes[k])
			out = append(out, spot{q.x + origin, q.y})
		}
		before = holds
	}
	return out
}

// punchTable reads the places of all punches from the table that the command
// prints.
func punchTable(t testing.TB, r *roll.Roll) []spot {
	t.Helper()
	var b bytes.Buffer
	if err := table.WritePunches(&b, table.CSV, []*roll.Roll{r}); err != nil {
		t.Fatal(err)
	}
	var out []spot
	for _, line := range strings.Split(strings.TrimSpace(b.String()), "\n")[1:] {
		f := strings.Split(line, ",")
		across, _ := strconv.ParseFloat(f[2], 64)
		along, _ := strconv.ParseFloat(f[3], 64)
		out = append(out, spot{along, across})
	}
	return out
}

// compare holds places on the bed (x from the beginning, y from the lower edge)
// against places on the roll (along, across).
func compare(t testing.TB, m *machine.Profile, r *roll.Roll, got, want []spot, beds int) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d holes, want %d", len(got), len(want))
	}
	width := r.Instrument.Paper.WidthMM
	shift := math.Inf(1)
	for _, q := range got {
		shift = min(shift, q.x)
	}
	first := math.Inf(1)
	for _, q := range want {
		first = min(first, q.x)
	}
	for i := range got { // the bass is at the top
		got[i] = spot{got[i].x - shift + first, width - (got[i].y - m.Bed.EdgeMM)}
	}
	order := func(a, b spot) int {
		if d := a.y - b.y; math.Abs(d) > 0.01 {
			return int(math.Copysign(1, d))
		}
		return int(math.Copysign(1, a.x-b.x))
	}
	slices.SortFunc(got, order)
	slices.SortFunc(want, order)
	limit := float64(1+beds)*tolerance(m) + 0.00005 // the test measures each bed's pair of holes, as written, and adds up; and the table is rounded
	for i := range got {
		if math.Abs(got[i].x-want[i].x) > limit || math.Abs(got[i].y-want[i].y) > limit {
			t.Fatalf("hole %d lies at %.5f, %.5f, want %.5f, %.5f", i, got[i].x, got[i].y, want[i].x, want[i].y)
		}
	}
}

// TestOutlinesAreTheHoles: a laser's outlines, with half the kerf put on again
// all round, are the openings of the roll, edge for edge.
func TestOutlinesAreTheHoles(t *testing.T) {
	for _, tt := range []struct {
		name   string
		change func(*machine.Profile)
	}{
		{"as built in", nil},
		{"in inches along Y", func(m *machine.Profile) { m.Inches, m.AlongY = true, true }},
		{"wide kerf", func(m *machine.Profile) { m.Head.KerfMM = 0.6 }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := someRoll(t, nil)
			m := rollcases.Machine(t, "laser", tt.change)
			p := plan(t, r, m, bed.Options{})
			var want []spot
			d := r.Instrument.Die.DiameterMM
			for i := range r.Slots {
				s := &r.Slots[i]
				for o := range r.Openings(s) {
					across := r.Instrument.Bar.Ports[s.Port].AcrossMM
					want = append(want, spot{o.FirstMM - d/2, across - d/2}, spot{o.LastMM + d/2, across + d/2})
				}
			}
			half := m.Head.KerfMM / 2
			var low, high []spot
			low = assemble(t, p, func(s *stroke) spot { x, y, _, _ := s.bounds(); return spot{x - half, y - half} })
			high = assemble(t, p, func(s *stroke) spot { _, _, x, y := s.bounds(); return spot{x + half, y + half} })
			// y runs the other way: the lower edge of an opening is its treble side.
			for i := range low {
				low[i].y, high[i].y = high[i].y, low[i].y
			}
			compare(t, m, r, append(low, high...), want, len(p.Beds))
		})
	}
}

// TestStrokesAreTheHoles: a beam as wide as the die, led along the middle of each
// opening, leaves the openings of the roll.
func TestStrokesAreTheHoles(t *testing.T) {
	r := someRoll(t, nil)
	d := r.Instrument.Die.DiameterMM
	m := rollcases.Machine(t, "laser", func(m *machine.Profile) { m.Cut, m.Head.KerfMM = machine.Strokes, d })
	p := plan(t, r, m, bed.Options{})
	var want []spot
	for i := range r.Slots {
		s := &r.Slots[i]
		for o := range r.Openings(s) {
			across := r.Instrument.Bar.Ports[s.Port].AcrossMM
			want = append(want, spot{o.FirstMM, across}, spot{o.LastMM, across})
		}
	}
	low := assemble(t, p, func(s *stroke) spot { x, y, _, _ := s.bounds(); return spot{x, y} })
	high := assemble(t, p, func(s *stroke) spot { _, _, x, y := s.bounds(); return spot{x, y} })
	compare(t, m, r, append(low, high...), want, len(p.Beds))
}

// TestSlotOverTwoBeds: an opening longer than the overlap is cut in pieces that
// reach into each other by one round end.
func TestSlotOverTwoBeds(t *testing.T) {
	r := someRoll(t, func(in *instrument.Instrument) { in.Chain.Bridged = false })
	for _, name := range []string{"laser", "punch-table"} {
		m := rollcases.Machine(t, name, func(m *machine.Profile) { m.Tabs = machine.Tabs{} })
		p := plan(t, r, m, bed.Options{})
		var long []spot // from and to
		for _, s := range assemble(t, p, func(s *stroke) spot { x0, _, x1, _ := s.bounds(); return spot{x0, x1 - x0} }) {
			if s.y > 200 {
				long = append(long, s)
			}
		}
		if name == "punch-table" {
			if got := punchTable(t, r); len(got) != len(assemble(t, p, func(s *stroke) spot { return s.points[0] })) {
				t.Error("a punch is lost between two beds")
			}
			continue
		}
		if len(long) < 3 {
			t.Fatalf("%d long pieces", len(long))
		}
		for i := 1; i < len(long); i++ {
			into := long[i-1].x + long[i-1].y - long[i].x
			if math.Abs(into-2*p.RadiusMM) > 0.0003 {
				t.Errorf("piece %d reaches %v mm into the one before, want %v", i, into, 2*p.RadiusMM)
			}
		}
	}
}

// TestTabs: with tabs the long opening's sides are left off for the tab's width,
// kerf taken into account, in equal numbers on both sides.
func TestTabs(t *testing.T) {
	r := someRoll(t, func(in *instrument.Instrument) { in.Chain.Bridged = false })
	m := rollcases.Machine(t, "laser", nil)
	whole := rollcases.Machine(t, "laser", func(m *machine.Profile) { m.Tabs = machine.Tabs{} })
	with, without := plan(t, r, m, bed.Options{}), plan(t, r, whole, bed.Options{})
	a, _ := with.Total()
	b, _ := without.Total()
	tabs := a.Strokes - b.Strokes
	if tabs <= 0 || tabs%2 != 0 {
		t.Fatalf("%d tabs", tabs)
	}
	if got, want := b.CutMM-a.CutMM, float64(tabs)*(m.Tabs.WidthMM+m.Head.KerfMM); math.Abs(got-want) > 1e-6 {
		t.Errorf("the tabs leave %v mm uncut, want %v", got, want)
	}
}

// TestMeasures: travel and cut by the interpreter are those that the plan says.
func TestMeasures(t *testing.T) {
	r := someRoll(t, nil)
	for _, name := range machine.Names() {
		p := plan(t, r, rollcases.Machine(t, name, nil), bed.Options{})
		for i := range p.Beds {
			in, _, _ := cut(t, p, &p.Beds[i])
			b := &p.Beds[i]
			if math.Abs(in.travelMM-b.Path.TravelMM) > 0.05 || math.Abs(in.cutMM-b.Path.CutMM) > 0.05 || len(in.strokes) != b.Path.Strokes {
				t.Errorf("%s bed %d: travel %.2f cut %.2f strokes %d, want %.2f %.2f %d", name, b.Number,
					in.travelMM, in.cutMM, len(in.strokes), b.Path.TravelMM, b.Path.CutMM, b.Path.Strokes)
			}
		}
	}
}

// TestHead: what stands at the head of a program.
func TestHead(t *testing.T) {
	r := someRoll(t, nil)
	p := plan(t, r, rollcases.Machine(t, "laser", nil), bed.Options{Copies: 3})
	text := program(t, p, &p.Beds[1])
	for _, want := range []string{"unattended", "extinguisher", "fume extraction", "manual", "local codes", "Test [?]: bed 2 of", "Copies: 3", "G21"} {
		if !strings.Contains(text, want) {
			t.Errorf("the head does not say %q", want)
		}
	}
	p = plan(t, r, rollcases.Machine(t, "punch-table", nil), bed.Options{})
	for _, want := range []string{"eye protection", "pinch", "mains"} {
		if !strings.Contains(program(t, p, &p.Beds[0]), want) {
			t.Errorf("the head does not say %q", want)
		}
	}
}

// TestReferenceInterpreter runs a program of every built-in machine through the
// rs274 of Debian's linuxcnc-uspace, an interpreter of the same language by
// others, and compares its moves with those of ours.
func TestReferenceInterpreter(t *testing.T) {
	rs274 := judge.Program(t, "rs274")
	r := someRoll(t, nil)
	straight := regexp.MustCompile(`(STRAIGHT_TRAVERSE|STRAIGHT_FEED)\((-?[\d.]+), (-?[\d.]+),`)
	arc := regexp.MustCompile(`ARC_FEED\((-?[\d.]+), (-?[\d.]+), (-?[\d.]+), (-?[\d.]+), (-?\d+)`)
	for _, name := range machine.Names() {
		m := rollcases.Machine(t, name, func(m *machine.Profile) { m.Inches = name == "punch-table" })
		p := plan(t, r, m, bed.Options{})
		dir := t.TempDir()
		file, tools := filepath.Join(dir, "bed.ngc"), filepath.Join(dir, "tools.tbl")
		text := program(t, p, &p.Beds[0])
		if os.WriteFile(file, []byte(text), 0o644) != nil || os.WriteFile(tools, nil, 0o644) != nil {
			t.Fatal("cannot write")
		}
		out, err := exec.Command(rs274, "-g", "-t", tools, file).CombinedOutput()
		if err != nil || !strings.Contains(string(out), "PROGRAM_END()") {
			t.Fatalf("%s: %v\n%s", name, err, out[max(0, len(out)-500):])
		}
		in, err := interpret(text)
		if err != nil {
			t.Fatal(err)
		}
		travel, cutting, strokes := 0.0, 0.0, 0
		x, y := 0.0, 0.0
		unit := 1.0
		if m.Inches {
			unit = 25.4
		}
		number := func(s string) float64 { v, _ := strconv.ParseFloat(s, 64); return v * unit }
		for _, line := range strings.Split(string(out), "\n") {
			if f := straight.FindStringSubmatch(line); f != nil {
				nx, ny := number(f[2]), number(f[3])
				if f[1] == "STRAIGHT_FEED" {
					cutting += math.Hypot(nx-x, ny-y)
				} else {
					travel += math.Hypot(nx-x, ny-y)
				}
				x, y = nx, ny
			} else if f := arc.FindStringSubmatch(line); f != nil {
				cx, cy := number(f[3]), number(f[4])
				if f[5] != "1" {
					t.Fatalf("an arc that is not one turn counter-clockwise: %s", line)
				}
				cutting += math.Pi * math.Hypot(x-cx, y-cy) // ours are half circles
				x, y = number(f[1]), number(f[2])
			}
			strokes += strings.Count(line, "START_SPINDLE_CLOCKWISE")
		}
		// rs274 prints four decimals.
		limit := 0.0002 * unit * float64(in.lines)
		if math.Abs(travel-in.travelMM) > limit || math.Abs(cutting-in.cutMM) > limit || strokes != len(in.strokes) {
			t.Errorf("%s: travel %.3f cut %.3f strokes %d, ours %.3f %.3f %d", name, travel, cutting, strokes, in.travelMM, in.cutMM, len(in.strokes))
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
	events := slices.Values([]perform.Event{{StartSec: 0, EndSec: 0, Note: 1, Key: 60, Level: 80, Single: true}})
	rolls, err := roll.Lay(p, events, []*instrument.Instrument{in}, roll.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	laser, err := machine.Load("laser", "")
	if err != nil {
		fmt.Println(err)
		return
	}
	beds, err := bed.New(rolls[0], laser, bed.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	var b bytes.Buffer
	if err := nc.Encode(&b, beds, &beds.Beds[0], nc.Options{Title: "One hole"}); err != nil {
		fmt.Println(err)
		return
	}
	_, moves, _ := strings.Cut(b.String(), "G21\n")
	fmt.Print(moves)
	// Output:
	// M5
	// G0 X10.8636 Y194.7864
	// M3 S300
	// G3 X10.8636 Y196.3636 I0.0 J0.7886 F900.0
	// G3 X10.8636 Y194.7864 I0.0 J-0.7886
	// M5
	// M5
	// G0 X0.0 Y0.0
	// M2
	// %
}

// BenchmarkEncode plans and writes 200,000 punches: as slots of nine, and as
// single notes, each a stroke of its own to find a way to.
func BenchmarkEncode(b *testing.B) {
	in, err := instrument.Load("88-note", "")
	if err != nil {
		b.Fatal(err)
	}
	p := &piece.Piece{Pianos: []piece.Piano{{}}, Voices: []piece.Voice{{Name: "a"}}}
	for _, notes := range []struct {
		name             string
		count            int
		everySec, forSec float64
	}{{"slots", 23_000, 0.012, 0.3}, {"single", 200_000, 0.003, 0}} {
		events := func(yield func(perform.Event) bool) {
			for i := range notes.count {
				at := float64(i) * notes.everySec
				if !yield(perform.Event{StartSec: at, EndSec: at + notes.forSec, Note: int32(i + 1), Part: 1, Key: int16(21 + i*37%88), Level: 80, Single: notes.forSec == 0}) {
					return
				}
			}
		}
		rolls, err := roll.Lay(p, events, []*instrument.Instrument{in}, roll.Options{})
		if err != nil {
			b.Fatal(err)
		}
		for _, name := range machine.Names() {
			m := rollcases.Machine(b, name, nil)
			b.Run(notes.name+"/"+name, func(b *testing.B) {
				strokes := 0
				for b.Loop() {
					p := plan(b, rolls[0], m, bed.Options{})
					for i := range p.Beds {
						if err := nc.Encode(io.Discard, p, &p.Beds[i], nc.Options{}); err != nil {
							b.Fatal(err)
						}
					}
					path, _ := p.Total()
					strokes = path.Strokes
				}
				b.ReportMetric(float64(strokes), "strokes")
			})
		}
	}
}
