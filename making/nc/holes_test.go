package nc_test

import (
	"bytes"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rollwright/internal/rollcases"
	"rollwright/making/bed"
	"rollwright/making/machine"
	"rollwright/paper/roll"
	"rollwright/paper/table"
)

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
	// the test measures each bed's pair of holes, as written, and adds up; and the table is rounded
	limit := float64(1+beds)*tolerance(m) + 0.00005
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
